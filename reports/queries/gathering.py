"""The content of a certificate gathered from the records of an order's lines as they stand."""

from collections.abc import Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from calibration.models import Rig
from labsite.ledger.models import Laboratory, Place, User
from labsite.ledger.queries import the_laboratory
from reports.domain.content import (
    NO_MEASURE,
    NO_SAMPLING,
    OWN_WORK,
    RELATES,
    SCHEMA,
    TITLE,
    WHOLE_ONLY,
    AgreementContent,
    CertificateContent,
    ClientContent,
    LaboratoryContent,
    LevelContent,
    LineContent,
    PersonActContent,
)
from reports.domain.content_trials import TrialContent
from reports.queries.item_content import items_content, local
from reports.queries.stay_content import stays_content
from reports.queries.trial_content import contact_at, shares, trial_content, trial_rows
from specimens.models import ContractReview, Order, OrderLine
from specimens.queries.methods import agreed_words
from trials.domain.criteria import digits
from trials.domain.line_result import LevelResult
from trials.queries.authorisations import SIGN, authorisation_for
from trials.queries.methods import EditionConfirmed, known_edition, ordered_words, severity_words
from trials.queries.results import LineStanding, line_standings
from trials.queries.sheets import line_confirmations


def certificate_number(order: Order, count: int) -> str:
    """The number of an order's n-th certificate: “26-0414-C1”."""
    return f"{order.number[:2]}-{order.number[2:6]}-C{count}"


def gathered_content(
    order: Order, lines: Sequence[OrderLine], *, number: str, by: User, at: datetime
) -> CertificateContent:
    """What a certificate of these lines says when `by` signs it at `at`; reads only."""
    laboratory = the_laboratory()
    zone = laboratory.zone_info
    standings = list(line_standings(sorted(lines, key=lambda line: line.position)).values())
    signed = [one for standing in standings for one in standing.trials if one.signed is not None]
    rows = trial_rows(signed)
    contacts = {one.trial.pk: (one.trial.specimen_id, contact_at(one, rows)) for one in signed}
    stays = stays_content(contacts, zone)
    rigs = Rig.objects.filter(pk__in={one.trial.rig_id for one in signed}).select_related("place")
    places = {rig.pk: _place(rig.place, laboratory) for rig in rigs}
    reviews = list(order.reviews.select_related("signed_by").order_by("signed_at", "pk"))
    confirmed = line_confirmations((one.line, [own.trial for own in one.trials]) for one in standings)
    contents = []
    for standing in standings:
        trials = [one for one in standing.trials if one.signed is not None]
        printed = tuple(
            trial_content(one, share, rows, stays.get(one.trial.pk), places[one.trial.rig_id], zone)
            for one, share in zip(trials, shares(trials, standing.result), strict=True)
        )
        contents.append(_line(standing, printed, reviews, confirmed.get(standing.line.pk), by, at, zone))
    tested = {one.trial.specimen.number for one in signed}
    return CertificateContent(
        schema=SCHEMA,
        title=TITLE,
        number=number,
        language="en",
        laboratory=LaboratoryContent(laboratory.name, laboratory.address, laboratory.zone),
        client=ClientContent(order.client.name, _address(order), order.contact.name),
        order=order.number,
        purchase_order=order.purchase_order,
        items=items_content([line.pk for line in lines], tested, zone),
        lines=tuple(contents),
        issued_at=local(at, zone),
        sampling=NO_SAMPLING,
        external=OWN_WORK,
        statements=(RELATES, NO_MEASURE, WHOLE_ONLY),
        amendment=None,
    )


def _address(order: Order) -> str:
    return "\n".join(part for part in (order.client.address.strip(), order.client.country.strip()) if part)


def _place(place: Place | None, laboratory: Laboratory) -> str:
    """Where the work was done: the rig's room and the laboratory's site."""
    if place is None:
        return ""
    site = ", ".join(line.strip() for line in laboratory.address.splitlines() if line.strip())
    return f"{place.name}, {laboratory.name}, {site}"


def _line(
    standing: LineStanding,
    trials: tuple[TrialContent, ...],
    reviews: Sequence[ContractReview],
    confirmed: EditionConfirmed | None,
    by: User,
    at: datetime,
    zone: ZoneInfo,
) -> LineContent:
    line, edition = standing.line, known_edition(standing.line.method_key)
    result = standing.result
    check = standing.check if standing.state == "checked" else None
    authorisation = authorisation_for(by, line.method_key, SIGN, at)
    opened_at = min((one.trial.opened_at for one in standing.trials), default=at)
    review = next((row for row in reversed(reviews) if row.signed_at <= opened_at), None)
    standard = "" if edition is None else edition.standard
    state, sentence, reasons = _result(standing)
    revisions = sorted({one.trial.parameter_revision for one in standing.trials})
    return LineContent(
        position=line.position,
        subject=line.subject,
        method_key=line.method_key,
        method="" if edition is None else edition.title,
        standard=standard,
        apparatus="" if edition is None else edition.apparatus,
        severity=ordered_words(line),
        product_standard=line.product_standard,
        ordered=line.specimens_ordered,
        state=state,
        sentence=sentence,
        reasons=reasons,
        flags=result.flags,
        conditioning_asked=edition is not None and all(need.enforced for need in edition.conditionings),
        agreement=AgreementContent(
            rule=line.get_decision_rule_display(),
            note=line.decision_rule_note,
            agreed_with="" if review is None else review.agreed_with,
            agreed_on=None if review is None else review.agreed_on,
            reviewed_by="" if review is None else str(review.signed_by),
        ),
        confirmation=_confirmation(standard, confirmed, zone),
        confirmed=confirmed is not None and confirmed.current,
        trials=trials,
        checked=None if check is None else _checked(standing, zone),
        signed=PersonActContent(str(by), local(at, zone), authorisation.from_on if authorisation else None),
        result=result.result,
        levels=tuple(map(_level, result.levels)),
        search=edition is not None and edition.open_start and line.severity is None,
        severity_title="Severity" if edition is None else edition.severity_title,
        agreed=tuple(agreed_words(line.method_key, line.agreed_parameters)),
        figures=_figures(revisions),
    )


def _level(level: LevelResult) -> LevelContent:
    return LevelContent(
        title=level.text,
        value="" if level.severity is None else digits(level.severity),
        state=level.state,
        specimens=level.specimens,
        note=level.note,
    )


def _figures(revisions: Sequence[int]) -> str:
    """Which revisions of the laboratory's own figures hold, in words; empty for the edition as delivered."""
    own = [str(one) for one in revisions if one]
    if not own:
        return ""
    words = f"revision {own[0]}" if len(own) == 1 else f"revisions {', '.join(own[:-1])} and {own[-1]}"
    return f"{words} of the laboratory’s parameter sheet for this edition"


def _checked(standing: LineStanding, zone: ZoneInfo) -> PersonActContent | None:
    check = standing.check
    if check is None:
        return None
    granted = None if check.authorisation is None else check.authorisation.from_on
    return PersonActContent(str(check.by), local(check.at, zone), granted)


def _result(standing: LineStanding) -> tuple[str, str, tuple[str, ...]]:
    """State, sentence and reasons. A hold that a lead decided: the specimens asked for passed, the rest is said."""
    result, check, line = standing.result, standing.check, standing.line
    if result.state != "hold" or standing.state != "checked" or check is None:
        return result.state, result.sentence, result.reasons
    beyond = f"tested beyond those asked for: {', '.join(result.extra)}"
    decided = (*result.reasons, f"Decided by {check.by}: {check.remarks}")
    if line.severity is None:
        return "determined", f"{result.result}: by the specimens asked for; {beyond}.", decided
    severity = severity_words(line.method_key, line.severity)
    return "passed", f"Passed at {severity}: every specimen asked for passed; {beyond}.", decided


def _confirmation(standard: str, confirmed: EditionConfirmed | None, zone: ZoneInfo) -> str:
    if confirmed is None:
        return (
            f"The figures of {standard} used here are not yet confirmed against the laboratory’s own copy of the "
            "standard; they come from public excerpts and general knowledge."
        )
    on = confirmed.row.confirmed_at.astimezone(zone)
    day = f"{on.day} {on:%B %Y} ({confirmed.row.confirmed_by})"
    if not confirmed.current:
        return f"The figures of {standard} were changed after they were confirmed on {day}; not confirmed since."
    return f"The laboratory confirmed the figures of {standard} used here against its own copy on {day}."

"""Trials as a certificate prints them: verdict, figures, criteria, instruments, corrections and photos."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from reports.domain.content_trials import (
    ConditioningContent,
    CorrectionContent,
    CriterionContent,
    EventContent,
    InstrumentContent,
    QuantityContent,
    Share,
    TrialContent,
)
from reports.queries.item_content import local, photo_content, specimen_content
from trials.domain.criteria import Criterion
from trials.domain.line_result import LineResult
from trials.domain.methods.base import MethodEdition
from trials.domain.observations import standing
from trials.domain.records import Observation
from trials.models import InstrumentUse, SignedVerdict, TrialPhoto
from trials.models import Observation as ObservationRow
from trials.queries.budgets import BudgetVersions, slug_of, uncertain_figures
from trials.queries.methods import known_edition, severity_words
from trials.queries.results import TrialStanding


@dataclass(frozen=True, slots=True)
class TrialRows:
    """The rows of some trials, read once: records, instruments, photos, observations."""

    records: Mapping[int, dict[str, Any]]
    uses: Sequence[InstrumentUse]
    photos: Sequence[TrialPhoto]
    observations: Mapping[str, ObservationRow]
    budgets: BudgetVersions


def trial_rows(trials: Sequence[TrialStanding]) -> TrialRows:
    """Read what these trials need; five queries."""
    ids = [one.trial.pk for one in trials]
    signed = [one.signed.pk for one in trials if one.signed is not None]
    uses = (
        InstrumentUse.objects.filter(trial__in=ids).select_related("instrument", "calibration").order_by("role", "pk")
    )
    photos = (
        TrialPhoto.objects.filter(trial__in=ids).select_related("shown").defer("shown__content").order_by("at", "pk")
    )
    rows = ObservationRow.objects.filter(trial__in=ids).select_related("by")
    return TrialRows(
        records=dict(SignedVerdict.objects.filter(pk__in=signed).values_list("trial_id", "record")),
        uses=list(uses),
        photos=list(photos),
        observations={str(row.pk): row for row in rows},
        budgets=BudgetVersions(slug_of(one.trial) for one in trials),
    )


def contact_at(one: TrialStanding, rows: TrialRows) -> datetime:
    """The moment of contact by the device's clock of the day; the opening of the trial where there was none."""
    kept = [row for row in rows.observations.values() if row.trial_id == one.trial.pk]
    replaced = {row.replaces_id for row in kept}
    contacts = [row for row in kept if row.kind == "contact" and row.pk not in replaced]
    return (contacts[0].device_at or contacts[0].received_at) if contacts else one.trial.opened_at


def shares(trials: Sequence[TrialStanding], result: LineResult) -> list[Share]:
    """Which part each trial plays in the result.

    A second valid trial of a specimen is beyond those asked for, unless it was made at another place of it.
    """
    found: list[Share] = []
    seen: set[str] = set()
    for one in trials:
        name = one.specimen_text
        if one.verdict is None or one.verdict.outcome not in ("pass", "fail"):
            found.append("does not count")
            continue
        first = name not in seen or bool(one.trial.again_reason)
        seen.add(name)
        if first and name in result.counted:
            found.append("counts")
        elif first and name in result.further:
            found.append("further")
        else:
            found.append("beyond")
    return found


def trial_content(
    one: TrialStanding,
    share: Share,
    rows: TrialRows,
    stay: ConditioningContent | None,
    place: str,
    zone: ZoneInfo,
) -> TrialContent:
    """One signed trial. Raises ValueError for one that is not signed: there is nothing to certify."""
    if one.signed is None or one.verdict is None:
        raise ValueError(f"trial {one.trial.pk} is not signed")
    trial, verdict = one.trial, one.verdict
    record = tuple(_observation(plain) for plain in rows.records[trial.pk]["observations"])
    edition = known_edition(trial.method_key)
    uncertain = {u.key: u for u in uncertain_figures(trial, verdict, rows.budgets.at(slug_of(trial), trial.opened_at))}
    titles, columns = _titles(edition), _columns(edition)
    setup = rows.records[trial.pk].get("setup", {})
    doubt = getattr(trial, "doubt", None)
    return TrialContent(
        specimen=specimen_content(trial.specimen),
        share=share,
        tested_at=local(contact_at(one, rows), zone),
        signed_at=local(one.signed.signed_at, zone),
        performed_by=str(trial.opened_by),
        rig=trial.rig.code,
        place=place,
        outcome=verdict.outcome,
        sentence=verdict.sentence,
        reasons=verdict.reasons,
        rule_version=one.signed.rule_version,
        quantities=tuple(
            QuantityContent(
                key=q.key,
                title=q.title,
                symbol=q.symbol,
                unit=q.unit,
                text=q.text,
                table=q.key in columns,
                uncertain="" if (known := uncertain.get(q.key)) is None else known.value,
                coverage="" if known is None else known.coverage,
            )
            for q in verdict.quantities
        ),
        criteria=tuple(map(_criterion, verdict.criteria)),
        setup=tuple(map(_criterion, verdict.setup_criteria)),
        warnings=verdict.warnings,
        doubt="" if doubt is None else doubt.reason,
        conditioning=stay,
        instruments=tuple(_instrument(use) for use in rows.uses if use.trial_id == trial.pk),
        events=tuple(_event(row, titles) for row in standing(record)),
        corrections=tuple(_corrections(record, rows.observations, titles, zone)),
        photos=tuple(
            photo_content(trial.specimen.number, photo.caption, photo.at, photo.shown.sha256, zone)
            for photo in rows.photos
            if photo.trial_id == trial.pk
        ),
        severity=severity_words(trial.method_key, trial.severity),
        departure=trial.departure,
        again=trial.again_reason,
        point="" if edition is None else str(setup.get(edition.point_field) or ""),
        parameter_revision=trial.parameter_revision,
    )


def _columns(edition: MethodEdition | None) -> set[str]:
    """The figures that stand in the table of results."""
    return set() if edition is None else {kind.key for kind in edition.quantities if kind.table}


def _titles(edition: MethodEdition | None) -> dict[str, tuple[str, str]]:
    kinds = () if edition is None else edition.observation_kinds
    return {kind.key: (kind.title, kind.unit) for kind in kinds}


def _observation(plain: Mapping[str, Any]) -> Observation:
    t_s = plain["t_s"]
    return Observation(**{**plain, "t_s": None if t_s is None else Decimal(t_s)})


def _criterion(one: Criterion) -> CriterionContent:
    return CriterionContent(
        key=one.key,
        title=one.title,
        found=one.found,
        limit=one.limit,
        holds=one.holds,
        reason=one.reason,
        decides=one.decides,
        enforced=one.enforced,
        statement=one.statement,
        risk=one.risk,
    )


def _instrument(use: InstrumentUse) -> InstrumentContent:
    instrument, calibration = use.instrument, use.calibration
    return InstrumentContent(
        role=use.role,
        code=instrument.code,
        number=instrument.number,
        description=instrument.description,
        calibrated_on=calibration.calibrated_on,
        due_on=use.due_on,
        calibrated_by=calibration.calibrated_by,
        accreditation=calibration.accreditation_number,
        certificate=calibration.certificate_number,
    )


def _event(row: Observation, titles: Mapping[str, tuple[str, str]]) -> EventContent:
    title, _ = titles.get(row.kind, (row.kind, ""))
    t_s = "" if row.t_s is None else f"{row.t_s:f}"
    return EventContent(row.row, row.kind, title, t_s, _value(row))


def _value(row: Observation) -> str:
    if isinstance(row.value, bool):
        return "yes" if row.value else "no"
    return "" if row.value is None else str(row.value)


def _corrections(
    record: Sequence[Observation],
    rows: Mapping[str, ObservationRow],
    titles: Mapping[str, tuple[str, str]],
    zone: ZoneInfo,
) -> list[CorrectionContent]:
    by_name = {row.row: row for row in record}
    found = []
    for row in record:
        old = by_name.get(row.replaces or row.takes_back or "")
        kept = rows.get(row.row)
        if old is None or kept is None:
            continue
        title, unit = titles.get(old.kind, (old.kind, ""))
        now = "taken back" if row.takes_back else _words(row, unit)
        found.append(
            CorrectionContent(title, _words(old, unit), now, row.reason, str(kept.by), local(kept.received_at, zone))
        )
    return found


def _words(row: Observation, unit: str) -> str:
    when = "" if row.t_s is None else f"{row.t_s:f} s"
    value = f"{_value(row)} {unit}".strip()
    return ", ".join(part for part in (when, value) if part) or "recorded"

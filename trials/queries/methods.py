"""The method editions of the registry: as offered at the counter, on their pages, and whether they are confirmed."""

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Any, Literal

from django.db.models import OuterRef, Subquery

from calibration.domain.decisions import CLIENTS_OWN
from labsite.ledger.refusals import Refused
from specimens.domain.atmospheres import ATMOSPHERES
from specimens.domain.offers import MethodOffer, OwnLimit, PlanOffer, SeverityOffer
from specimens.models import OrderLine
from trials.domain.criteria import digits
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import EDITIONS, UnknownMethodError, method_edition
from trials.domain.parameter_changes import ParameterChangeError, changed_edition, changes_from_json, changes_text
from trials.domain.search_bound import most_specimens
from trials.domain.statements import ConditioningNeed
from trials.models import EditionConfirmation, ParameterSheet, Trial

type StoredChanges = Mapping[str, Mapping[str, Any]]
"""Figures in place of an edition's as they are stored: {"force_n": {"tolerance": "0.05"}}."""


@dataclass(frozen=True, slots=True)
class EditionConfirmed:
    """The last confirmation of an edition; `current` is False when a figure changed since."""

    row: EditionConfirmation
    current: bool

    @property
    def note(self) -> str:
        """The lead's note, to stand inside a sentence."""
        return self.row.note.strip().rstrip(".")


@dataclass(frozen=True, slots=True)
class ListedEdition:
    """One edition in the list of methods."""

    edition: MethodEdition
    confirmed: EditionConfirmed | None
    to_confirm: int


def method_catalogue() -> dict[str, MethodOffer]:
    """All editions on offer, by key, as the counter needs them."""
    return {key: _offer(edition) for key, edition in EDITIONS.items()}


def edition_by_key(key: str) -> MethodEdition:
    """One edition; refused with a sentence when the program does not know it."""
    try:
        return method_edition(key)
    except UnknownMethodError as unknown:
        raise Refused(str(unknown)) from unknown


def edition_of(key: str, changes: StoredChanges) -> MethodEdition:
    """One edition with stored figures in place of its own; refused when it is not known or cannot take them."""
    if not changes:
        return edition_by_key(key)
    try:
        return _edition_of(key, changes_text(changes))
    except ParameterChangeError as wrong:
        standard = edition_by_key(key).short_standard
        raise Refused(f"The figures kept for {standard} do not fit this edition. {wrong}") from wrong


@lru_cache(maxsize=256)
def _edition_of(key: str, changes: str) -> MethodEdition:
    edition = edition_by_key(key)
    return changed_edition(edition, changes_from_json(edition, json.loads(changes)))


def trial_edition(trial: Trial) -> MethodEdition:
    """The edition of a trial with the figures frozen when it was opened: by these it is judged and shown."""
    return edition_of(trial.method_key, trial.parameter_changes)


def known_edition(key: str) -> MethodEdition | None:
    """One edition, or None when the program does not know the key."""
    return EDITIONS.get(key)


def method_words(key: str) -> tuple[str, str]:
    """Short title and short standard of an edition; the key itself where the program does not know it."""
    edition = EDITIONS.get(key)
    return (key, "") if edition is None else (edition.short_title, edition.short_standard)


def ordered_words(line: OrderLine) -> str:
    """What a line asks for: “850 °C”, “Index search, from 650 °C”."""
    asked = severity_words(line.method_key, line.severity)
    return f"{asked}, from {severity_words(line.method_key, line.start_severity)}" if line.start_severity else asked


def severity_words(key: str, severity: Decimal | None) -> str:
    """A severity with the unit of its edition, for instance “850 °C”, or what an order without one asks for."""
    edition = EDITIONS.get(key)
    if edition is not None:
        return edition.severity_text(severity)
    return "" if severity is None else digits(severity)


def parameters_sha256(edition: MethodEdition) -> str:
    """Fingerprint of all figures of an edition, so that a confirmation covers exactly the figures confirmed."""
    rows = [asdict(parameter) for parameter in sorted(edition.parameters, key=lambda parameter: parameter.key)]
    text = json.dumps(rows, default=_plain, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def edition_confirmation(key: str) -> EditionConfirmed | None:
    """The last confirmation of one edition, or None."""
    return edition_confirmations([key]).get(key)


def edition_confirmations(keys: Iterable[str]) -> dict[str, EditionConfirmed]:
    """The last confirmation of each edition that has one, set against its newest figures; one query."""
    newest = ParameterSheet.objects.filter(method_key=OuterRef("method_key")).order_by("-revision").values("changes")
    rows = EditionConfirmation.objects.filter(method_key__in=list(keys)).select_related("confirmed_by")
    found: dict[str, EditionConfirmed] = {}
    for row in rows.annotate(newest=Subquery(newest[:1])).order_by("confirmed_at", "pk"):
        found[row.method_key] = EditionConfirmed(row, row.parameters_sha256 == _sha256(row.method_key, row.newest))
    return found


def _sha256(key: str, changes: StoredChanges | None) -> str | None:
    """Fingerprint of an edition's figures with changes; None where the program no longer knows it or them."""
    if key not in EDITIONS:
        return None
    try:
        return parameters_sha256(edition_of(key, changes) if changes else EDITIONS[key])
    except Refused:
        return None


def listed_editions() -> list[ListedEdition]:
    """All editions by standard, newest edition first."""
    confirmed = edition_confirmations(EDITIONS)
    newest_first = sorted(EDITIONS.values(), key=lambda edition: edition.edition, reverse=True)
    ordered = sorted(newest_first, key=lambda edition: edition.slug)
    return [ListedEdition(edition, confirmed.get(edition.key), _to_confirm(edition)) for edition in ordered]


def _to_confirm(edition: MethodEdition) -> int:
    return sum(parameter.certainty != "published" for parameter in edition.parameters)


def _offer(edition: MethodEdition) -> MethodOffer:
    return MethodOffer(
        key=edition.key,
        title=edition.title,
        short_title=edition.short_title,
        standard=edition.standard,
        short_standard=edition.short_standard,
        severity_title=edition.severity_title,
        severity_unit=edition.severity_unit,
        severities=tuple(
            SeverityOffer(level.value, level.offered_as == "standard", level.label) for level in edition.severities
        ),
        open_severity=edition.open_severity,
        open_start=edition.open_start,
        specimens_needed=edition.specimens_needed,
        decision_rules=tuple(rule.key for rule in edition.decision_rules),
        plans=tuple(_plan(edition, need) for need in edition.conditionings),
        rig_kind=edition.rig_kind,
        own_limit=_own_limit(edition),
        most_specimens=most_specimens(edition),
    )


def _plan(edition: MethodEdition, need: ConditioningNeed) -> PlanOffer:
    earlier = edition.parameter(need.earlier_hours).bounds[1] if need.earlier_hours else None
    return PlanOffer(
        key=need.key,
        title=need.title,
        atmosphere_key=_known_atmosphere(need.atmosphere),
        hours=_least(edition, need.hours),
        use_within_hours=edition.number(need.use_within_hours) if need.use_within_hours else None,
        use_within_enforced=need.use_within_enforced,
        earlier_atmosphere_key=_known_atmosphere(need.earlier_atmosphere),
        earlier_hours=_least(edition, need.earlier_hours) if need.earlier_hours else Decimal(0),
        earlier_most_hours=earlier,
    )


def _least(edition: MethodEdition, key: str) -> Decimal:
    """The lowest figure that a limit allows, else the figure itself."""
    low = edition.parameter(key).bounds[0]
    return edition.number(key) if low is None else low


def _own_limit(edition: MethodEdition) -> OwnLimit | None:
    """The first figure that a decision rule judges, where the client may set a limit for it."""
    if not edition.decided_limits or CLIENTS_OWN not in {rule.key for rule in edition.decision_rules}:
        return None
    parameter = edition.parameter(edition.decided_limits[0].parameter)
    side: Literal["low", "high"] = "low" if parameter.bounds[1] is None else "high"
    return OwnLimit(parameter.key, parameter.title, parameter.unit, side, parameter.limit_text)


def _known_atmosphere(key: str) -> str | None:
    """An atmosphere by the name the conditioning pages know, or None."""
    return key if key in ATMOSPHERES else None


def _plain(value: object) -> str:
    if isinstance(value, Decimal):
        return format(value, "f")
    raise TypeError(f"{value!r} does not belong in a parameter.")

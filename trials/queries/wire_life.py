"""What the wire of a rig did and how it stands, read from the trials made while it was fitted."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal, InvalidOperation

from django.db.models import QuerySet

from calibration.models import GlowWire, Rig, WireCare
from calibration.queries.rigs import all_rigs
from calibration.queries.wires import care_of, wire_on
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import EDITIONS
from trials.domain.stability import TemperatureReading
from trials.domain.wire_life import (
    RECENT_DAYS,
    CurrentReading,
    TipMeasure,
    TypicalCurrent,
    Wear,
    WearLimit,
    WireTrial,
    WireUse,
    current_sentence,
    heating_s,
    typical_currents,
    wear,
    wire_use,
)
from trials.models import Observation, SetupValue, SignedVerdict, Trial
from trials.queries.methods import edition_of, trial_edition
from trials.queries.records import READING_KIND, TAKEN_BACK_KIND, seconds_from_contact
from trials.queries.sheets import newest_sheets

CURRENT_KEY, WEAR_KEY, ROOM_KEY = "heating_current_a", "tip_wear_percent", "room_temperature_c"
_KINDS = ("contact", "withdrawn", "watch_ends", READING_KIND)


@dataclass(frozen=True, slots=True)
class WireLife:
    """A wire at a moment; `currents` by level, `counts` how many readings each level has."""

    wire: GlowWire
    at: datetime
    use: WireUse
    measures: tuple[TipMeasure, ...]
    limits: tuple[WearLimit, ...]
    wear: Wear
    care: tuple[WireCare, ...]
    currents: tuple[TypicalCurrent, ...]

    @property
    def cleaned(self) -> tuple[datetime, ...]:
        """When it was cleaned."""
        return tuple(one.at for one in self.care if one.kind == WireCare.Kind.CLEANED)


def rigs_with_wires() -> QuerySet[Rig]:
    """The rigs, for the part of their page."""
    return all_rigs()


def wire_life(rig: Rig, at: datetime) -> WireLife | None:
    """The life of the wire on a rig at `at`, None where none is fitted; eight queries however many its trials."""
    wire = wire_on(rig.pk, at)
    if wire is None:
        return None
    trials = _trials_with(wire, at)
    care = care_of(wire, at)
    measures = _measures(wire, care, trials, at)
    limits = _limits(rig, trials, at)
    return WireLife(
        wire=wire,
        at=at,
        use=wire_use(_wire_trials(trials, at)),
        measures=measures,
        limits=limits,
        wear=wear(measures, limits),
        care=tuple(care),
        currents=tuple(sorted(typical_currents(_currents(trials, at)).values(), key=lambda one: one.level_c)),
    )


def bench_wire_words(trial: Trial, at: datetime) -> list[str]:
    """What the set-up page of a trial says about the wire: a starting current for its level, and how the tip stands.

    Empty for a method that asks for no heating current.
    """
    edition = trial_edition(trial)
    if trial.severity is None or CURRENT_KEY not in edition.fields_by_key:
        return []
    wire = wire_on(trial.rig_id, at)
    if wire is None:
        unknown = f"No wire is recorded on {trial.rig.code}: its wear and usual heating current are not known."
        return [f"{unknown} Approach slowly from below."]
    trials = [one for one in _trials_with(wire, at) if one.pk != trial.pk]
    readings = [one for one in _currents(trials, at) if one.level_c == trial.severity]
    typical = typical_currents(readings).get(trial.severity)
    told = wear(_measures(wire, care_of(wire, at), trials, at), _limits_of([edition]))
    return [
        current_sentence(trial.severity, len(readings), typical, rig=trial.rig.code, wire=wire.code),
        f"Wire {wire.code}: {told.sentence}",
    ]


def _trials_with(wire: GlowWire, at: datetime) -> list[Trial]:
    """The trials opened on the rig while the wire was on it, up to `at`."""
    until = at if wire.removed_at is None else min(at, wire.removed_at)
    rows = Trial.objects.filter(rig=wire.rig_id, opened_at__gte=wire.fitted_at, opened_at__lte=until)
    return list(rows.order_by("opened_at", "pk"))


def _wire_trials(trials: Sequence[Trial], at: datetime) -> list[WireTrial]:
    rows: dict[int, list[Observation]] = defaultdict(list)
    found = Observation.objects.filter(trial__in=[one.pk for one in trials], received_at__lte=at)
    for row in found.order_by("pk"):
        rows[row.trial_id].append(row)
    return [_wire_trial(trial, rows[trial.pk]) for trial in trials]


def _wire_trial(trial: Trial, rows: Sequence[Observation]) -> WireTrial:
    replaced = {row.replaces_id for row in rows}
    standing = [r for r in rows if r.pk not in replaced and r.kind != TAKEN_BACK_KIND and r.kind in _KINDS]
    contact = next((row for row in standing if row.kind == "contact"), None)
    zero_at = trial.opened_at if contact is None else contact.device_at or contact.received_at
    seconds = {row.pk: seconds_from_contact(row, contact, zero_at) for row in standing}
    at_s = {row.kind: seconds[row.pk] for row in standing if row.kind != READING_KIND}
    edition = trial_edition(trial)
    if edition.steady is None or trial.severity is None:
        return WireTrial(int(contact is not None), None)
    tolerance_k = edition.number(edition.steady.tolerance_key(edition, trial.severity))
    readings = (_reading(row, seconds[row.pk]) for row in standing if row.kind == READING_KIND)
    hot = heating_s(
        [one for one in readings if one is not None],
        trial.severity,
        tolerance_k,
        withdrawn_s=at_s.get("withdrawn"),
        ended_s=at_s.get("watch_ends"),
    )
    return WireTrial(int(contact is not None), hot)


def _reading(row: Observation, at_s: Decimal | None) -> TemperatureReading | None:
    """A reading, or None where it has no figure or no moment: then it counts for nothing here."""
    figure = _number(row.value)
    return None if figure is None or at_s is None else TemperatureReading(at_s, figure)


def _measures(
    wire: GlowWire, care: Sequence[WireCare], trials: Sequence[Trial], at: datetime
) -> tuple[TipMeasure, ...]:
    """Tips measured in mm and shares entered at set-up, in order of time."""
    found = [
        TipMeasure(one.at, None, one.tip_mm, wire.first_tip_mm)
        for one in care
        if one.tip_mm is not None and wire.first_tip_mm is not None
    ]
    for rows in _last_values(trials, (WEAR_KEY,), at).values():
        row = rows[WEAR_KEY]
        percent = _number(row.value)
        if percent is not None:
            found.append(TipMeasure(row.at, percent))
    return tuple(sorted(found, key=lambda one: one.at))


def _currents(trials: Sequence[Trial], at: datetime) -> list[CurrentReading]:
    """The heating currents of recent valid trials, one for each that has one."""
    recent = [one for one in trials if one.severity is not None and one.opened_at > at - timedelta(days=RECENT_DAYS)]
    verdicts = SignedVerdict.objects.filter(trial__in=[one.pk for one in recent], signed_at__lte=at)
    outcomes = dict(verdicts.order_by("signed_at", "pk").values_list("trial_id", "outcome"))
    values = _last_values(recent, (CURRENT_KEY, ROOM_KEY), at)
    found = []
    for trial in recent:
        if outcomes.get(trial.pk) not in ("pass", "fail") or CURRENT_KEY not in values[trial.pk]:
            continue
        current_a = _number(values[trial.pk][CURRENT_KEY].value)
        room = values[trial.pk].get(ROOM_KEY)
        if current_a is not None and trial.severity is not None:
            found.append(CurrentReading(trial.severity, current_a, None if room is None else _number(room.value)))
    return found


def _last_values(trials: Sequence[Trial], keys: tuple[str, ...], at: datetime) -> dict[int, dict[str, SetupValue]]:
    """By trial and key, the set-up value as last entered up to `at`."""
    found: dict[int, dict[str, SetupValue]] = defaultdict(dict)
    rows = SetupValue.objects.filter(trial__in=[one.pk for one in trials], key__in=keys, at__lte=at)
    for row in rows.order_by("pk"):
        found[row.trial_id][row.key] = row
    return found


def _limits(rig: Rig, trials: Sequence[Trial], at: datetime) -> tuple[WearLimit, ...]:
    """The limits of the editions it was used for, as those trials were opened; without any, of all for the rig."""
    if trials:
        return _limits_of([trial_edition(trial) for trial in trials])
    keys = [key for key, edition in EDITIONS.items() if edition.rig_kind == rig.kind]
    sheets = newest_sheets(keys, at)
    return _limits_of([edition_of(key, sheets[key].changes if key in sheets else {}) for key in keys])


def _limits_of(editions: Sequence[MethodEdition]) -> tuple[WearLimit, ...]:
    by_percent: dict[Decimal, dict[str, None]] = defaultdict(dict)
    for edition in editions:
        low = edition.parameter(WEAR_KEY).bounds[0] if edition.has_parameter(WEAR_KEY) else None
        if low is not None:
            by_percent[low][edition.short_standard] = None
    return tuple(WearLimit(percent, tuple(names)) for percent, names in sorted(by_percent.items(), reverse=True))


def _number(text: str) -> Decimal | None:
    try:
        number = Decimal(text)
    except InvalidOperation:
        return None
    return number if number.is_finite() else None

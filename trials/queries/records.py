"""The record of one trial as a judge reads it, built from the rows that were kept."""

from collections.abc import Sequence
from datetime import datetime
from decimal import ROUND_UP, Decimal, InvalidOperation
from zoneinfo import ZoneInfo

from labsite.ledger.queries import laboratory_zone
from specimens.queries.conditioning import specimen_conditioning
from trials.domain.applied_corrections import with_corrections
from trials.domain.criteria import Value
from trials.domain.methods.base import MethodEdition
from trials.domain.records import Conditioning, InstrumentUse, Observation, RecordError, TrialRecord
from trials.domain.stability import TemperatureReading
from trials.models import InstrumentUse as InstrumentUseRow
from trials.models import Observation as ObservationRow
from trials.models import SetupValue, Trial
from trials.queries.corrections import calibrated_uses
from trials.queries.methods import trial_edition

READING_KIND = "temperature"
"""Kind of an observation row that holds a reading of the tip, in °C; it is no event of the method."""
TAKEN_BACK_KIND = "taken_back"
"""Kind of an observation row that takes back the row it replaces, as after any undo."""

_CLOCKS_AGREE_S = Decimal(2)
_MILLISECOND = Decimal("0.001")


def trial_record(trial: Trial, at: datetime | None = None) -> TrialRecord:
    """Everything the judge looks at for one trial; nine queries and those of the conditioning.

    Times are in s from contact. Before contact they count from `at` (the device's moment), so that readings are
    negative. Raises RecordError for a stored text that is not what its kind says.
    """
    edition = trial_edition(trial)
    rows = list(ObservationRow.objects.filter(trial=trial).select_related("replaces").order_by("pk"))
    contact = _contact(rows)
    zero_at = (contact.device_at or contact.received_at) if contact else (at or trial.opened_at)
    readings = [row for row in _unreplaced(rows) if row.kind == READING_KIND]
    record = TrialRecord(
        method_key=trial.method_key,
        severity=trial.severity,
        setup=setup_values(edition, trial),
        temperature_readings=tuple(_reading(row, contact, zero_at) for row in readings),
        observations=tuple(_observation(edition, row, contact, zero_at) for row in rows if _is_event(row)),
        conditioning=_conditioning(trial, edition, zero_at),
        instruments=instrument_uses(trial),
    )
    return with_corrections(edition, record, calibrated_uses(trial))


def setup_values(edition: MethodEdition, trial: Trial) -> dict[str, Value]:
    """The set-up as last entered, by field; what was emptied again is None."""
    fields = {field.key: field for field in edition.setup_fields}
    last = {row.key: row.value for row in SetupValue.objects.filter(trial=trial).order_by("pk")}
    return {
        key: typed_value(text, fields[key].kind, f"setup, {key}") if key in fields else text
        for key, text in last.items()
    }


def instrument_uses(trial: Trial) -> tuple[InstrumentUse, ...]:
    """The instruments used, each usable when its due day had not ended at the moment of use."""
    zone = laboratory_zone()
    rows = (
        InstrumentUseRow.objects.filter(trial=trial).select_related("instrument", "permit__given_by").order_by("role")
    )
    return tuple(_use(row, zone) for row in rows)


def typed_value(text: str, kind: str, place: str) -> Value:
    """A stored text as the value it stands for; empty is unknown. Raises RecordError naming the place."""
    if text == "":
        return None
    if kind == "yes-no":
        if text not in ("yes", "no"):
            raise RecordError(f"{place}: yes or no is needed, not {text!r}.")
        return text == "yes"
    if kind == "number":
        try:
            return Decimal(text)
        except InvalidOperation:
            raise RecordError(f"{place}: {text!r} is not a number.") from None
    return text


def seconds_from_contact(row: ObservationRow, contact: ObservationRow | None, zero_at: datetime) -> Decimal | None:
    """When a row happened, in s from contact; None when no clock tells.

    The row's own figure holds. Without one the device's steady clock decides where it can be compared with that of
    contact (its zero is the opening of the page, so both clocks must agree), else the device's clock of the day.
    """
    if row.t_s is not None:
        return Decimal(row.t_s)
    if row.device_at is None:
        return None
    elapsed = row.device_at - zero_at
    wall_s = Decimal(elapsed.days * 86400 + elapsed.seconds) + Decimal(elapsed.microseconds // 1000).scaleb(-3)
    if contact is not None and contact.steady_s is not None and row.steady_s is not None:
        steady_s = Decimal(row.steady_s) - Decimal(contact.steady_s)
        if abs(steady_s - wall_s) <= _CLOCKS_AGREE_S:
            return steady_s
    return wall_s


def _contact(rows: Sequence[ObservationRow]) -> ObservationRow | None:
    return next((row for row in _unreplaced(rows) if row.kind == "contact"), None)


def _unreplaced(rows: Sequence[ObservationRow]) -> list[ObservationRow]:
    replaced = {row.replaces_id for row in rows}
    return [row for row in rows if row.pk not in replaced and row.kind != TAKEN_BACK_KIND]


def _is_event(row: ObservationRow) -> bool:
    taken_back = row.kind == TAKEN_BACK_KIND and row.replaces is not None and row.replaces.kind != READING_KIND
    return taken_back or row.kind not in (READING_KIND, TAKEN_BACK_KIND)


def _observation(
    edition: MethodEdition, row: ObservationRow, contact: ObservationRow | None, zero_at: datetime
) -> Observation:
    kinds = {kind.key: kind for kind in edition.observation_kinds}
    if row.kind == TAKEN_BACK_KIND and row.replaces is not None:
        return Observation(str(row.pk), row.replaces.kind, takes_back=str(row.replaces_id), reason=row.reason)
    kind = kinds.get(row.kind)
    value = row.value if kind is None else typed_value(row.value, kind.value_kind, f"observation {kind.title}")
    return Observation(
        row=str(row.pk),
        kind=row.kind,
        t_s=seconds_from_contact(row, contact, zero_at) if kind is None or kind.timed or row.t_s is not None else None,
        value=value or None if isinstance(value, str) else value,
        replaces=None if row.replaces_id is None else str(row.replaces_id),
        reason=row.reason,
    )


def _reading(row: ObservationRow, contact: ObservationRow | None, zero_at: datetime) -> TemperatureReading:
    value = typed_value(row.value, "number", "temperature reading")
    seconds = seconds_from_contact(row, contact, zero_at)
    if not isinstance(value, Decimal) or seconds is None:
        raise RecordError(f"A temperature reading recorded at {row.received_at:%H:%M:%S} has no figure or no moment.")
    return TemperatureReading(seconds, value)


def _conditioning(trial: Trial, edition: MethodEdition, at: datetime) -> Conditioning:
    """What counts at `at`; a specimen that was never in a chamber has no record, which is unknown and no zero.

    Where the edition knows several ways and the specimen follows none of them, the first is the one it lacks.
    """
    state = specimen_conditioning([trial.specimen_id], at)[trial.specimen_id]
    plan = edition.conditioning_called(state.plan or trial.conditioning_plan).key
    if state.in_at is None:
        return Conditioning(plan=plan)
    out = state.taken_out_at
    minutes = None if out is None else Decimal(str((at - out).total_seconds())) / 60
    return Conditioning(
        counted_s=Decimal(int(state.counted_s)),
        minutes_since_out=None if minutes is None else minutes.quantize(_MILLISECOND, ROUND_UP),
        plan=plan,
        earlier_s=Decimal(int(state.earlier_s)) if edition.conditioning_called(plan).earlier_hours else None,
    )


def _use(row: InstrumentUseRow, zone: ZoneInfo) -> InstrumentUse:
    usable = row.at.astimezone(zone).date() <= row.due_on
    reason = "" if usable else f"its calibration was due on {row.due_on.isoformat()}"
    permit = "" if row.permit is None else f"permitted by {row.permit.given_by}: {row.permit.reason}"
    return InstrumentUse(row.role, row.instrument.code, usable, reason, override_reason="" if usable else permit)

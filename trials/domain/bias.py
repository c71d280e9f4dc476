"""A stored trial with the as-found error of one instrument put right at the point of use: as a step and as a drift."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import ROUND_HALF_EVEN, Decimal

from calibration.domain.corrections import CorrectionTable, OutsideRangeError
from calibration.domain.status import shown
from trials.domain.applied_corrections import CHAIN, CalibratedUse, with_corrections
from trials.domain.criteria import mid_sentence
from trials.domain.methods.base import MethodEdition
from trials.domain.observations import standing
from trials.domain.records import TIP, AppliedCorrection, Observation, TrialRecord

TIMER, SECONDS = "timer", "s"

NOTHING = Decimal(0)
_FOUR_PLACES = Decimal("0.0001")


@dataclass(frozen=True, slots=True)
class WrongInstrument:
    """An instrument and how it was found: the corrections by unit that its as-found points state.

    `tables` are empty where no calibration says how far it was off; `chain_with` as in CalibratedUse.
    """

    code: str
    calibration_id: int
    calibrated_on: date
    tables: Mapping[str, CorrectionTable]
    chain_with: str = ""

    @property
    def words(self) -> str:
        """The instrument and the figures it is put right with, in words."""
        return f"{self.code} as found on {shown(self.calibrated_on)}"


@dataclass(frozen=True, slots=True)
class Corrected:
    """A record put right under both assumptions, and what could not be put right, one clause each.

    `assumed` are numbers the edition does not say are read on the instrument although their unit is one of its own:
    `step_if_read` is the step with these put right as well, None where there are none.
    """

    step: TrialRecord
    drift: TrialRecord
    lacks: tuple[str, ...]
    assumed: tuple[str, ...] = ()
    step_if_read: TrialRecord | None = None


def drift_share(at: datetime, from_at: datetime, found_at: datetime) -> Decimal:
    """Return how much of the error there was at `at`, from 0 at `from_at` to 1 at `found_at`, growing evenly.

    Source: common practice; four decimal places, held between 0 and 1. Without time between the two all of it.
    """
    whole_s = (found_at - from_at).total_seconds()
    if whole_s <= 0:
        return Decimal(1)
    share = Decimal(str((at - from_at).total_seconds())) / Decimal(str(whole_s))
    return min(max(share, NOTHING), Decimal(1)).quantize(_FOUR_PLACES, ROUND_HALF_EVEN)


def corrected_record(
    edition: MethodEdition,
    record: TrialRecord,
    uses: Sequence[CalibratedUse],
    wrong: WrongInstrument,
    share: Decimal,
) -> Corrected:
    """Return the record with the error of `wrong` taken off every figure that was read on it.

    Correction = minus the as-found error, interpolated at the reading. A correction the record already carries is
    replaced: the step has the as-found one, the drift goes from the old one (none is zero) to it by `share`. Other
    instruments keep the corrections of the calibrations the record was signed with. `uses` are the trial's
    instruments with the corrections of the calibrations that held then.
    """
    roles = {one.role for one in uses if one.code == wrong.code}
    signed_with = {pk for one in record.corrections for pk in one.calibrations}
    found = with_corrections(edition, _bare(record), [_as_found(one, wrong, signed_with) for one in uses])
    touched = {one.key: one for one in found.corrections if wrong.calibration_id in one.calibrations}
    step, drift = _put_right(record, found, touched, Decimal(1)), _put_right(record, found, touched, share)
    lacks = [f"{one.refusal}" for one in touched.values() if one.refusal]
    lacks += _not_stated(edition, record, roles, wrong, touched)
    timed = TIMER in roles and any(row.t_s for row in record.observations)
    if timed:
        lacks += _time_lacks(record, wrong)
        step, drift = _timed(step, wrong, Decimal(1)), _timed(drift, wrong, share)
    assumed, if_read = _if_read(edition, step, wrong)
    if not touched and not timed and not assumed and not lacks:
        lacks.append(f"the record holds no figure that was read on {wrong.code}")
    return Corrected(step, drift, tuple(dict.fromkeys(lacks)), assumed, if_read)


def relaxed(edition: MethodEdition) -> MethodEdition:
    """Return the edition without its limits on decimal places: a corrected figure has more than were read."""
    keys = {kind.decimals for kind in edition.observation_kinds if kind.decimals}
    return edition.revised(*(replace(edition.parameter(key), value=Decimal(15)) for key in sorted(keys)))


def _bare(record: TrialRecord) -> TrialRecord:
    """The record as read, without any correction."""
    readings = tuple(replace(one, correction_k=None) for one in record.temperature_readings)
    return replace(record, temperature_readings=readings, corrections=())


def _as_found(use: CalibratedUse, wrong: WrongInstrument, signed_with: Iterable[int]) -> CalibratedUse:
    if use.code == wrong.code:
        return replace(
            use,
            calibration_id=wrong.calibration_id,
            calibrated_on=wrong.calibrated_on,
            tables=wrong.tables,
            chain_with=wrong.chain_with,
        )
    return use if use.calibration_id in signed_with else replace(use, tables={})


def _put_right(
    record: TrialRecord, found: TrialRecord, touched: Mapping[str, AppliedCorrection], share: Decimal
) -> TrialRecord:
    before = record.corrections_by_key
    kept = tuple(one for one in record.corrections if one.key not in touched)
    put = tuple(
        replace(one, correction=_between(before[key].correction if key in before else None, one.correction, share))
        for key, one in touched.items()
    )
    readings = record.temperature_readings
    if TIP in touched:
        readings = tuple(
            replace(old, correction_k=_between(old.correction_k, new.correction_k, share))
            for old, new in zip(readings, found.temperature_readings, strict=True)
        )
    return replace(record, corrections=(*put, *kept), temperature_readings=readings)


def _between(old: Decimal | None, new: Decimal | None, share: Decimal) -> Decimal | None:
    """From the old correction to the new one by the share, with as many places as the new one (half even)."""
    if new is None or share == 1:
        return new
    held = old or NOTHING
    exponent = new.as_tuple().exponent
    places = -exponent if isinstance(exponent, int) else 0
    return (held + share * (new - held)).quantize(Decimal(1).scaleb(-places), ROUND_HALF_EVEN)


def _not_stated(
    edition: MethodEdition,
    record: TrialRecord,
    roles: set[str],
    wrong: WrongInstrument,
    touched: Mapping[str, AppliedCorrection],
) -> Iterator[str]:
    """Figures read on the instrument for which no as-found point is stated in their unit."""
    named = [
        (field.key, field.title, field.unit)
        for field in edition.setup_fields
        if field.instrument_role in roles and isinstance(record.setup.get(field.key), Decimal)
    ]
    kinds = {row.kind for row in standing(record.observations) if isinstance(row.value, Decimal)}
    named += [
        (kind.key, kind.title, kind.unit)
        for kind in edition.observation_kinds
        if kind.instrument_role in roles and kind.key in kinds
    ]
    if roles.intersection(CHAIN) and record.temperature_readings:
        named.append((TIP, "Temperature", "°C"))
    missing = [(title, unit) for key, title, unit in named if key not in touched]
    if not missing:
        return
    titles = ", ".join(mid_sentence(title) for title, _ in missing)
    units = ", ".join(dict.fromkeys(unit for _, unit in missing))
    if any(unit in wrong.tables for _, unit in missing):
        yield f"the error of {wrong.code} alone cannot be told apart in a chain calibrated as one ({titles})"
    else:
        yield f"no as-found point of {wrong.code} is stated in {units} ({titles})"


def _time_lacks(record: TrialRecord, wrong: WrongInstrument) -> Iterator[str]:
    table = wrong.tables.get(SECONDS)
    if table is None:
        yield f"no as-found point of {wrong.code} is stated in s (times of the observations)"
        return
    for row in record.observations:
        try:
            _time_correction(row, table)
        except OutsideRangeError as outside:
            yield f"{wrong.code}: {outside}"
            return


def _timed(record: TrialRecord, wrong: WrongInstrument, share: Decimal) -> TrialRecord:
    """Times from contact with the timer's error taken off; those beyond what was calibrated stay as they are."""
    table = wrong.tables.get(SECONDS)
    if table is None:
        return record
    rows = []
    for row in record.observations:
        try:
            added = _between(None, _time_correction(row, table), share) or NOTHING
        except OutsideRangeError:
            added = NOTHING
        rows.append(row if row.t_s is None or not added else replace(row, t_s=row.t_s + added))
    return replace(record, observations=tuple(rows))


def _time_correction(row: Observation, table: CorrectionTable) -> Decimal:
    """What is added to the moment of a row; contact is where the timer starts, so nothing to it or before it."""
    return NOTHING if row.t_s is None or row.t_s <= 0 else table.at(row.t_s).correction


def _if_read(
    edition: MethodEdition, step: TrialRecord, wrong: WrongInstrument
) -> tuple[tuple[str, ...], TrialRecord | None]:
    """Numbers observed of which the edition does not say what they are read on, put right as if on this instrument."""
    rows, titles = [], []
    for row in step.observations:
        kind = edition.kinds_by_key.get(row.kind)
        value = row.value
        if kind is not None and not kind.instrument_role and kind.unit in wrong.tables and isinstance(value, Decimal):
            try:
                value += wrong.tables[kind.unit].at(value).correction
                titles.append(kind.title)
            except OutsideRangeError:
                value = row.value
        rows.append(row if value is row.value else replace(row, value=value))
    if not titles:
        return (), None
    return tuple(dict.fromkeys(titles)), replace(step, observations=tuple(rows))

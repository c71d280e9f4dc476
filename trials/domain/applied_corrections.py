"""Which correction a figure of a trial gets from the calibrations of the instruments it was read on."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from calibration.domain.corrections import Correction, CorrectionTable, OutsideRangeError
from calibration.domain.status import shown
from trials.domain.criteria import Value
from trials.domain.methods.base import MethodEdition
from trials.domain.observations import standing
from trials.domain.records import TIP, AppliedCorrection, TrialRecord

CHAIN = ("indicator", "thermocouple")
"""What a temperature is read on, from the display to the tip: the corrections are added in this order."""
CELSIUS = "°C"
_STEPS = 4
"""A correction changes so little over its own size that a few steps find the reading to 0.1 K."""


@dataclass(frozen=True, slots=True)
class CalibratedUse:
    """An instrument of the trial with the corrections of the calibration that held when it was chosen, by unit.

    `chain_with` is the code of the indicator it was calibrated with as one chain; empty where it was alone.
    """

    role: str
    code: str
    calibration_id: int
    calibrated_on: date
    tables: Mapping[str, CorrectionTable]
    chain_with: str = ""

    @property
    def words(self) -> str:
        """The instrument with the day of its calibration, in words."""
        return f"{self.code}, calibrated {shown(self.calibrated_on)}"


def with_corrections(edition: MethodEdition, record: TrialRecord, uses: Sequence[CalibratedUse]) -> TrialRecord:
    """Return the record with the correction of each reading and number that the calibrations state one for.

    A figure is corrected by what it was read on, in its own unit; nothing is converted and nothing guessed.
    """
    if not any(one.tables for one in uses):
        return record
    tip = _chain(uses)
    found = [*_set_up(edition, record, uses), *_read_once(edition, record, uses)]
    if not record.temperature_readings or not _stated(tip, CELSIUS):
        return replace(record, corrections=tuple(found))
    readings, applied = [], []
    for reading in record.temperature_readings:
        one = applied_correction(TIP, tip, CELSIUS, reading.read_c)
        applied.append(one)
        readings.append(replace(reading, correction_k=one.correction if one is not None else None))
    known = [one for one in applied if one is not None]
    refusal = next((one.refusal for one in reversed(known) if one.refusal), "")
    tip_words = replace(known[-1], correction=None, standard_uncertainty=_largest(known), refusal=refusal)
    return replace(record, temperature_readings=tuple(readings), corrections=(tip_words, *found))


def applied_correction(key: str, uses: Sequence[CalibratedUse], unit: str, read: Decimal) -> AppliedCorrection | None:
    """Return the correction of a number read on these instruments, or None where none of them states any in `unit`.

    Each correction is looked up at the value corrected so far; standard uncertainties are added in squares and unknown
    where one is, that of an instrument without points in `unit` among them unless it was calibrated within a chain.
    Outside a calibrated range, and for a chain calibrated with another indicator, there is a refusal.
    """
    stated = [one for one in uses if unit in one.tables]
    if not stated:
        return None
    source = "; ".join(one.words for one in stated)
    numbers = tuple(one.calibration_id for one in stated)
    value, squares = read, Decimal(0)
    within = {one.chain_with for one in stated}
    known = all(unit in one.tables or one.code in within for one in uses)
    for use in stated:
        try:
            correction = _of(use, uses, unit, value)
        except OutsideRangeError as outside:
            return AppliedCorrection(key, None, source, numbers, refusal=f"{use.code}: {outside}")
        value += correction.correction
        known = known and correction.standard_uncertainty is not None
        squares += (correction.standard_uncertainty or Decimal(0)) ** 2
    return AppliedCorrection(key, value - read, source, numbers, _kept(squares.sqrt()) if known else None)


def tip_reading_for(uses: Sequence[CalibratedUse], true_c: Decimal) -> Decimal | None:
    """Return what the display shows, to 0.1 °C, when the temperature in truth is `true_c`; None without a correction.

    For the person who sets it: a guide, never judged. Outside the calibrated range there is none either.
    """
    chain = _chain(uses)
    reading = true_c
    for _ in range(_STEPS):
        applied = applied_correction(TIP, chain, CELSIUS, reading)
        if applied is None or applied.correction is None:
            return None
        reading = true_c - applied.correction
    return reading.quantize(Decimal("0.1"))


def _of(use: CalibratedUse, uses: Sequence[CalibratedUse], unit: str, value: Decimal) -> Correction:
    indicators = [one.code for one in uses if one.role == "indicator"]
    if use.chain_with and use.chain_with not in indicators:
        with_other = f", not with {indicators[0]}" if indicators else ""
        raise OutsideRangeError(f"calibrated together with {use.chain_with}{with_other}")
    return use.tables[unit].at(value)


def _chain(uses: Sequence[CalibratedUse]) -> list[CalibratedUse]:
    """Indicator and thermocouple; of a chain calibrated as one, the indicator's own corrections are inside already."""
    parts = sorted((one for one in uses if one.role in CHAIN), key=lambda one: CHAIN.index(one.role))
    chained = {one.chain_with for one in parts if one.chain_with}
    return [replace(one, tables={}) if one.role == "indicator" and one.code in chained else one for one in parts]


def _read_on(role: str, unit: str, uses: Sequence[CalibratedUse]) -> list[CalibratedUse]:
    if role in CHAIN and unit == CELSIUS:
        return _chain(uses)
    return [one for one in uses if one.role == role]


def _set_up(edition: MethodEdition, record: TrialRecord, uses: Sequence[CalibratedUse]) -> Iterator[AppliedCorrection]:
    for key, value in record.setup.items():
        field = edition.fields_by_key.get(key)
        if field is not None and field.instrument_role:
            yield from _at(key, field.instrument_role, field.unit, value, uses)


def _read_once(
    edition: MethodEdition, record: TrialRecord, uses: Sequence[CalibratedUse]
) -> Iterator[AppliedCorrection]:
    """Numbers that are observed once and read on an instrument; only where one stands, which the judge asks anyway."""
    for row in standing(record.observations):
        kind = edition.kinds_by_key.get(row.kind)
        if kind is not None and kind.instrument_role and not kind.repeats:
            yield from _at(row.kind, kind.instrument_role, kind.unit, row.value, uses)


def _at(key: str, role: str, unit: str, value: Value, uses: Sequence[CalibratedUse]) -> Iterator[AppliedCorrection]:
    if isinstance(value, Decimal):
        found = applied_correction(key, _read_on(role, unit, uses), unit, value)
        if found is not None:
            yield found


def _stated(uses: Sequence[CalibratedUse], unit: str) -> bool:
    return any(unit in one.tables for one in uses)


def _largest(applied: Sequence[AppliedCorrection]) -> Decimal | None:
    """The largest uncertainty among the readings that have a correction; None where one of them has none stated."""
    known = [one.standard_uncertainty for one in applied if not one.refusal]
    stated = [one for one in known if one is not None]
    return max(stated, default=None) if len(stated) == len(known) else None


def _kept(number: Decimal) -> Decimal:
    """An uncertainty with as many digits as a record keeps; it is printed with two."""
    return +number.quantize(Decimal("0.000001"))

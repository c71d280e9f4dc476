"""What is known about one trial: set-up, readings, raw observation rows, conditioning, instruments."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property

from calibration.domain.figures import MOST_DIGITS, number_fault
from trials.domain.criteria import Value
from trials.domain.stability import TemperatureReading

TIP = "temperature"
"""Under this name the correction of the temperature readings stands beside those of the set-up values."""


class RecordError(ValueError):
    """A record that cannot be judged as it stands; the message is one sentence fit for the screen."""


@dataclass(frozen=True)
class Observation:
    """One raw row: a timed event or a finding, as recorded; rows are never edited.

    `row` names the row. A correction is a new row with `replaces`, an undo is a new row with `takes_back`; both name
    an earlier row. `t_s` is seconds on the bench clock, None where the kind is not timed.
    """

    row: str
    kind: str
    t_s: Decimal | None = None
    value: Value = None
    replaces: str | None = None
    takes_back: str | None = None
    reason: str = ""


@dataclass(frozen=True)
class InstrumentUse:
    """One instrument of the trial; `usable` at the moment of the act, None where nobody knows.

    An `override_reason` is the reason a named role gave for going on with an instrument that is not usable.
    """

    role: str
    code: str
    usable: bool | None
    reason: str = ""
    override_reason: str = ""


@dataclass(frozen=True)
class Conditioning:
    """Seconds that count as conditioned and minutes from taking out to the start; None where unknown.

    `plan` names the way of conditioning where the edition knows several, `earlier_s` are the seconds that count of
    its earlier stage.
    """

    counted_s: Decimal | None = None
    minutes_since_out: Decimal | None = None
    plan: str = ""
    earlier_s: Decimal | None = None


@dataclass(frozen=True)
class AppliedCorrection:
    """What the calibrations in force say about one figure of the record: `key` is its set-up field,
    its kind of observation where that is read once only, or TIP.

    `correction` is added to the figure as read, in its unit; None for the readings of the tip, which each carry their
    own, and where the calibrations have none to give: `refusal` then says why, as a clause. `source` names instruments
    and days, `calibrations` their numbers: the version of the correction.
    """

    key: str
    correction: Decimal | None
    source: str
    calibrations: tuple[int, ...]
    standard_uncertainty: Decimal | None = None
    refusal: str = ""


@dataclass(frozen=True)
class TrialRecord:
    """Everything a judge looks at for one specimen.

    `severity` is in the unit of the edition's severities; None where the order is open and the trial has no level.
    `setup` and the readings are as read; `corrections` are there where a calibration states points for a figure.
    """

    method_key: str
    severity: Decimal | None
    setup: Mapping[str, Value] = field(default_factory=dict)
    temperature_readings: tuple[TemperatureReading, ...] = ()
    observations: tuple[Observation, ...] = ()
    conditioning: Conditioning = Conditioning()
    instruments: tuple[InstrumentUse, ...] = ()
    corrections: tuple[AppliedCorrection, ...] = ()

    @cached_property
    def corrections_by_key(self) -> Mapping[str, AppliedCorrection]:
        """The corrections by the figure they belong to."""
        return {one.key: one for one in self.corrections}

    def figure(self, key: str) -> Value:
        """A set-up value as it counts: a number with the correction of what measured it, where one is known."""
        value = self.setup.get(key)
        return self.corrected(key, value) if isinstance(value, Decimal) else value

    def corrected(self, key: str, read: Decimal) -> Decimal:
        """A number read for `key`, a set-up field or a kind of observation, with its correction where one is known."""
        found = self.corrections_by_key.get(key)
        return read if found is None or found.correction is None else read + found.correction


def plain_number(number: object) -> bool:
    """Return whether `number` is surely one that `checked_number` lets through; False where it must look closer."""
    return (
        isinstance(number, Decimal)
        and number.is_finite()
        and len(text := str(number)) <= MOST_DIGITS
        and "E" not in text
    )


def checked_number(number: object, place: str) -> Decimal:
    """Return `number` if it is a finite Decimal of at most 15 digits, so that sums stay exact; else RecordError."""
    fault = number_fault(number)
    if fault is not None or not isinstance(number, Decimal):
        raise RecordError(f"{place}: {fault}.")
    return number

"""What is known about one trial: set-up, readings, raw observation rows, conditioning, instruments."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from trials.domain.criteria import Value
from trials.domain.stability import TemperatureReading

MOST_DIGITS = 15


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
class TrialRecord:
    """Everything a judge looks at for one specimen.

    `severity` is in the unit of the edition's severities; None where the order is open and the trial has no level.
    """

    method_key: str
    severity: Decimal | None
    setup: Mapping[str, Value] = field(default_factory=dict)
    temperature_readings: tuple[TemperatureReading, ...] = ()
    observations: tuple[Observation, ...] = ()
    conditioning: Conditioning = Conditioning()
    instruments: tuple[InstrumentUse, ...] = ()


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
    if not isinstance(number, Decimal):
        raise RecordError(f"{place}: a number is needed, not {number!r}.")
    if not number.is_finite():
        raise RecordError(f"{place}: {number} is not a number that can be judged.")
    _, figures, exponent = number.as_tuple()
    if not isinstance(exponent, int) or max(len(figures), -exponent, len(figures) + exponent) > MOST_DIGITS:
        raise RecordError(f"{place}: {str(number)[:20]} has more than {MOST_DIGITS} digits.")
    return number

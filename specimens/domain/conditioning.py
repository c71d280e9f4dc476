"""Hours in band: which time of a climate record counts towards conditioning, and why the rest does not."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Literal

import numpy as np

from specimens.domain.atmospheres import Atmosphere
from specimens.domain.climate_arrays import BoolArray, FloatArray, IntArray, TimeArray, instant_us, moment

StretchKind = Literal[
    "gap", "temperature low", "temperature high", "humidity low", "humidity high", "fault", "no record"
]
_KINDS: tuple[StretchKind, ...] = (
    "gap",
    "temperature low",
    "temperature high",
    "humidity low",
    "humidity high",
    "fault",
    "no record",
)
_GAP, _T_LOW, _T_HIGH, _H_LOW, _H_HIGH, _FAULT = range(6)
_IN_BAND = -1

RULE = (
    "Readings in band, neighbours close (default, to be confirmed by the laboratory): the time between two consecutive "
    "readings counts when both are inside the band, limits included, and no further apart than the longest gap; "
    "nothing is interpolated, and time before a gap counts while the gap does not."
)


@dataclass(frozen=True, slots=True)
class Span:
    """A piece of time, both ends as instants (UTC)."""

    from_at: datetime
    until_at: datetime

    @property
    def duration_s(self) -> float:
        return (self.until_at - self.from_at).total_seconds()


@dataclass(frozen=True, slots=True)
class Stretch:
    """Time that did not count: from the last reading that counted to the next one that does, and why.

    `furthest` is the reading furthest outside the band (degC or % RH by kind) and `furthest_at` its moment;
    both None for a gap, a fault and missing record.
    """

    from_at: datetime
    until_at: datetime
    kind: StretchKind
    furthest: float | None
    furthest_at: datetime | None

    @property
    def duration_s(self) -> float:
        return (self.until_at - self.from_at).total_seconds()


@dataclass(frozen=True, slots=True)
class InBand:
    """How a window of time divides: `counted` and `not_counted` together are exactly the window, in order."""

    from_at: datetime
    until_at: datetime
    counted: tuple[Span, ...]
    not_counted: tuple[Stretch, ...]

    @property
    def counted_s(self) -> float:
        return self._total(self.counted).total_seconds()

    @property
    def not_counted_s(self) -> float:
        return self._total(self.not_counted).total_seconds()

    @staticmethod
    def _total(pieces: tuple[Span, ...] | tuple[Stretch, ...]) -> timedelta:
        return sum((piece.until_at - piece.from_at for piece in pieces), timedelta())

    def ready_at(self, needed_h: Decimal | int) -> datetime | None:
        """The moment at which the counted time reaches `needed_h` hours; None when it has not yet."""
        left = timedelta(microseconds=int(Decimal(needed_h) * 3_600_000_000))
        if left <= timedelta():
            return self.from_at
        for span in self.counted:
            length = span.until_at - span.from_at
            if length >= left:
                return span.from_at + left
            left -= length
        return None


def longest_gap(interval: timedelta) -> timedelta:
    """Default, to be confirmed by the laboratory: five minutes or three sampling intervals, whichever is longer."""
    return max(timedelta(minutes=5), 3 * interval)


def use_by(taken_out_at: datetime, limit_hours: Decimal | int) -> datetime:
    """The last moment at which a specimen taken out then may still go to test (instants, whatever the clocks do)."""
    if taken_out_at.tzinfo is None:
        raise ValueError("A moment needs its zone.")
    return taken_out_at.astimezone(UTC) + timedelta(microseconds=int(Decimal(limit_hours) * 3_600_000_000))


def hours_in_band(
    times_utc: TimeArray,
    temperature_c: FloatArray,
    humidity_percent: FloatArray,
    *,
    atmosphere: Atmosphere,
    from_at: datetime,
    until_at: datetime,
    longest_gap: timedelta,
) -> InBand:
    """Divide from_at..until_at into time that counts and time that does not.

    Shapes: three arrays of equal length n >= 0; times datetime64[us], UTC, strictly rising; temperature in degC and
    humidity in % RH as float64, NaN where there is no reading. Values are compared with the limits at nine decimals,
    because decimal figures converted or corrected in binary can miss the limit by a hair (71.6 degF is 22 degC).

    The rule is `RULE`. It is the laboratory's own default; published methods give the hours and the
    band, not how a record is judged (common practice differs: hold-forward and linear interpolation count more time
    around an excursion than this rule does, which is the strict reading of "shown to have been in band").

    Raises ValueError for naive moments, a window that ends before it begins, or arrays that do not fit together.
    """
    start, end = instant_us(from_at), instant_us(until_at)
    stamps = _checked_stamps(times_utc, temperature_c, humidity_percent)
    if end < start:
        raise ValueError("The window ends before it begins.")
    if start == end:
        return InBand(moment(start), moment(end), (), ())
    if stamps.size == 0:
        whole = Stretch(moment(start), moment(end), "no record", None, None)
        return InBand(moment(start), moment(end), (), (whole,))
    # one reading on either side of the window is enough to judge the pairs that reach into it
    low = max(int(np.searchsorted(stamps, start, side="right")) - 1, 0)
    high = min(int(np.searchsorted(stamps, end, side="left")) + 1, stamps.size)
    stamps, temperature_c, humidity_percent = stamps[low:high], temperature_c[low:high], humidity_percent[low:high]
    state = _states(temperature_c, humidity_percent, atmosphere)
    counted: list[Span] = []
    missed: list[Stretch] = []
    if start < stamps[0]:
        missed.append(Stretch(moment(start), moment(min(end, int(stamps[0]))), "no record", None, None))
    for first, last, kind in _runs(_pair_kinds(stamps, state, longest_gap)):
        run_from, run_until = max(int(stamps[first]), start), min(int(stamps[last]), end)
        if run_until <= run_from:
            continue
        if kind == _IN_BAND:
            counted.append(Span(moment(run_from), moment(run_until)))
            continue
        values = temperature_c if kind in (_T_LOW, _T_HIGH) else humidity_percent
        extreme = _furthest(slice(first, last + 1), kind, state, values)
        furthest = None if extreme is None else float(values[extreme])
        furthest_at = None if extreme is None else moment(int(stamps[extreme]))
        missed.append(Stretch(moment(run_from), moment(run_until), _KINDS[kind], furthest, furthest_at))
    if end > stamps[-1]:
        missed.append(Stretch(moment(max(start, int(stamps[-1]))), moment(end), "no record", None, None))
    return InBand(moment(start), moment(end), tuple(counted), tuple(missed))


def _checked_stamps(times_utc: TimeArray, temperature_c: FloatArray, humidity_percent: FloatArray) -> IntArray:
    if not times_utc.shape == temperature_c.shape == humidity_percent.shape:
        raise ValueError("Times, temperatures and humidities differ in number.")
    stamps = times_utc.astype("datetime64[us]").astype(np.int64)
    if not bool((np.diff(stamps) > 0).all()):
        raise ValueError("Times must rise from reading to reading.")
    return stamps


def _states(temperature_c: FloatArray, humidity_percent: FloatArray, atmosphere: Atmosphere) -> IntArray:
    """What is the matter with each reading; a fault outranks temperature, temperature outranks humidity."""
    state = np.full(temperature_c.shape, _IN_BAND, dtype=np.int64)
    bands = [(temperature_c, atmosphere.temperature_c, _T_LOW, _T_HIGH)]
    if atmosphere.humidity_percent is not None:
        bands.insert(0, (humidity_percent, atmosphere.humidity_percent, _H_LOW, _H_HIGH))
    for values, *_ in bands:
        state[np.isnan(values)] = _FAULT
    for values, band, low_kind, high_kind in bands:
        rounded = np.round(values, 9)
        state[(state != _FAULT) & (rounded < float(band.low))] = low_kind
        state[(state != _FAULT) & (rounded > float(band.high))] = high_kind
    return state


def in_band(temperature_c: FloatArray, humidity_percent: FloatArray, atmosphere: Atmosphere) -> BoolArray:
    """Return for each reading (degC, % RH; arrays of equal length) whether it lies in the band, limits included."""
    inside: BoolArray = _states(temperature_c, humidity_percent, atmosphere) == _IN_BAND
    return inside


def _pair_kinds(stamps: IntArray, state: IntArray, longest: timedelta) -> IntArray:
    """For each pair of neighbours: in band, or why not (the earlier reading's trouble names a mixed pair)."""
    kinds = np.where(state[:-1] != _IN_BAND, state[:-1], state[1:])
    too_far: BoolArray = np.diff(stamps) > longest // timedelta(microseconds=1)
    kinds[too_far] = _GAP
    return kinds


def _runs(kinds: IntArray) -> Iterator[tuple[int, int, int]]:
    """Runs of equal kind over pairs, as (first reading, last reading, kind); every gap stands alone."""
    if kinds.size == 0:
        return
    breaks = np.flatnonzero((np.diff(kinds) != 0) | (kinds[1:] == _GAP)) + 1
    starts = np.concatenate(([0], breaks))
    ends = np.concatenate((breaks, [kinds.size]))
    for first, last in zip(starts.tolist(), ends.tolist(), strict=True):
        yield first, last, int(kinds[first])


def _furthest(part: slice, kind: int, state: IntArray, values: FloatArray) -> int | None:
    """Position of the reading furthest outside within the stretch; None where the kind has no such value."""
    if kind in (_GAP, _FAULT):
        return None
    inside = np.flatnonzero(state[part] == kind) + part.start
    chosen = values[inside]
    return int(inside[np.argmin(chosen) if kind in (_T_LOW, _H_LOW) else np.argmax(chosen)])

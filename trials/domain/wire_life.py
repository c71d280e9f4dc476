"""How much a glow-wire has done, how far its tip is worn, and with which current it reached a temperature."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import ROUND_FLOOR, Decimal
from statistics import median
from typing import Literal

from trials.domain.criteria import digits
from trials.domain.stability import TemperatureReading

LEAST_TRIALS = 3
"""Fewer trials at a level say nothing typical; common practice."""
RECENT_DAYS = 90
"""Older trials are not learned from: supply, leads and wire age; common practice."""
HUNDRED = Decimal(100)
COUNTED = (
    "Heating time is counted from the first recorded reading within the tolerance of the level to withdrawal, or to "
    "the end of watching where no withdrawal is recorded. Warming up, time between trials and heating without a trial "
    "are not recorded and not in it."
)


@dataclass(frozen=True, slots=True)
class WireTrial:
    """One trial made with the wire. `heating_s` None where it cannot be said from what is recorded."""

    contacts: int
    heating_s: Decimal | None


@dataclass(frozen=True, slots=True)
class WireUse:
    """What the wire did: applications, and heating in s as far as recorded; `unknown` trials are not in it."""

    trials: int
    applications: int
    heating_s: Decimal
    unknown: int


@dataclass(frozen=True, slots=True)
class TipMeasure:
    """One measure of the tip against its first one: `percent` unrounded where it was typed so, else from mm over mm."""

    at: datetime
    percent: Decimal | None
    tip_mm: Decimal | None = None
    first_mm: Decimal | None = None

    def at_least(self, limit_percent: Decimal) -> bool:
        """Whether the tip still has the share of its first measure, judged without rounding."""
        if self.tip_mm is not None and self.first_mm is not None:
            return self.tip_mm * HUNDRED >= limit_percent * self.first_mm
        if self.percent is None:
            raise ValueError("a measure of the tip has a percentage, or mm and the first mm")
        return self.percent >= limit_percent

    @property
    def shown_percent(self) -> Decimal:
        """The share in percent for screen and drawing, never judged; what was measured in mm rounded down to 0.01.

        Rounded down, what is below its limit never looks as if it were at it.
        """
        if self.tip_mm is not None and self.first_mm is not None:
            return (self.tip_mm * HUNDRED / self.first_mm).quantize(Decimal("0.01"), ROUND_FLOOR)
        return self.percent or Decimal(0)


@dataclass(frozen=True, slots=True)
class WearLimit:
    """The least share of its first measure that editions allow a tip, in percent, and those editions' names."""

    percent: Decimal
    editions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Wear:
    """What the last measure of a tip says: unknown, in limit, or replace before the next trial."""

    state: Literal["not measured", "in limit", "replace"]
    sentence: str


@dataclass(frozen=True, slots=True)
class CurrentReading:
    """The heating current of one valid trial, in A, at its level in °C, and the room's temperature where entered."""

    level_c: Decimal
    current_a: Decimal
    ambient_c: Decimal | None


@dataclass(frozen=True, slots=True)
class TypicalCurrent:
    """A starting value for a level, in A, with its spread over the trials it was learned from."""

    level_c: Decimal
    count: int
    median_a: Decimal
    low_a: Decimal
    high_a: Decimal
    ambient_low_c: Decimal | None
    ambient_high_c: Decimal | None


def heating_s(
    readings: Iterable[TemperatureReading],
    level_c: Decimal,
    tolerance_k: Decimal,
    *,
    withdrawn_s: Decimal | None,
    ended_s: Decimal | None,
) -> Decimal | None:
    """Return the seconds from the first reading at the level to withdrawal, else to the end; None where not recorded.

    Times are on one clock. The reading counts as it was read: this is a length of use and no verdict.
    """
    hot = [one.t_s for one in readings if abs(one.read_c - level_c) <= tolerance_k]
    end_s = ended_s if withdrawn_s is None else withdrawn_s
    if not hot or end_s is None or end_s < min(hot):
        return None
    return end_s - min(hot)


def wire_use(trials: Iterable[WireTrial]) -> WireUse:
    """Return applications and heating time of all trials made with a wire."""
    rows = list(trials)
    known = [one.heating_s for one in rows if one.heating_s is not None]
    return WireUse(len(rows), sum(one.contacts for one in rows), sum(known, Decimal(0)), len(rows) - len(known))


def wear(measures: Sequence[TipMeasure], limits: Sequence[WearLimit]) -> Wear:
    """Return what the last measure says against each limit, the strictest first; `measures` in order of time."""
    if not measures:
        return Wear("not measured", "The tip of this wire is not measured yet; measure it against the new one.")
    last = measures[-1]
    found = f"The tip stands at {digits(last.shown_percent)} % of its first measure"
    strictest_first = sorted(limits, key=lambda one: one.percent, reverse=True)
    broken = [one for one in strictest_first if not last.at_least(one.percent)]
    if broken:
        names = ", ".join(name for one in broken for name in one.editions)
        least = f"{digits(broken[0].percent)} %"
        return Wear("replace", f"{found}, below {least}: replace the wire before the next trial by {names}.")
    if not strictest_first:
        return Wear("in limit", f"{found}; the editions here state no limit.")
    first = strictest_first[0]
    return Wear("in limit", f"{found}, in limit: at least {digits(first.percent)} % is asked.")


def typical_currents(readings: Iterable[CurrentReading]) -> dict[Decimal, TypicalCurrent]:
    """Return the typical current of each level that has at least three readings; nothing is drawn between levels."""
    by_level: dict[Decimal, list[CurrentReading]] = {}
    for one in readings:
        by_level.setdefault(one.level_c, []).append(one)
    return {level: _typical(level, rows) for level, rows in by_level.items() if len(rows) >= LEAST_TRIALS}


def current_sentence(level_c: Decimal, count: int, typical: TypicalCurrent | None, *, rig: str, wire: str) -> str:
    """Return what is offered beside a level: the starting value with its spread, or that there are not enough trials.

    `count` is the number of readings at this very level.
    """
    if typical is None:
        return (
            f"Heating current at {digits(level_c)} °C: not enough trials on this rig yet ({count} of {LEAST_TRIALS} "
            f"with wire {wire} in {RECENT_DAYS} days). Approach slowly from below."
        )
    room = "room temperature not entered"
    if typical.ambient_low_c is not None and typical.ambient_high_c is not None:
        low, high = digits(typical.ambient_low_c), digits(typical.ambient_high_c)
        room = f"room {low} °C" if low == high else f"room {low} to {high} °C"
    return (
        f"Start at {digits(typical.median_a)} A for {digits(level_c)} °C: median of {typical.count} trials on {rig} "
        f"with wire {wire} in the last {RECENT_DAYS} days, {digits(typical.low_a)} to {digits(typical.high_a)} A, "
        f"{room}. Set less at first and approach slowly from below; the reading of the tip decides."
    )


def _typical(level_c: Decimal, rows: Sequence[CurrentReading]) -> TypicalCurrent:
    currents = [one.current_a for one in rows]
    rooms = [one.ambient_c for one in rows if one.ambient_c is not None]
    return TypicalCurrent(
        level_c=level_c,
        count=len(rows),
        median_a=median(currents),
        low_a=min(currents),
        high_a=max(currents),
        ambient_low_c=min(rooms, default=None),
        ambient_high_c=max(rooms, default=None),
    )

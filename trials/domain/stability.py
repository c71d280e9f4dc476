"""Steadiness of a temperature before the wire touches: how long it has held, and what is still missing."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from trials.domain.criteria import digits

type Lack = Literal["nothing", "no reading", "old reading", "gap", "moved", "too short"]


@dataclass(frozen=True)
class TemperatureReading:
    """One reading of the tip: seconds relative to contact (negative before), °C as read, K to be added if known."""

    t_s: Decimal
    read_c: Decimal
    correction_k: Decimal | None = None

    @property
    def temperature_c(self) -> Decimal:
        """The temperature in °C with the correction of the measuring chain, where one is stated."""
        return self.read_c if self.correction_k is None else self.read_c + self.correction_k


@dataclass(frozen=True)
class Steadiness:
    """How long the tip has been steady up to a moment.

    `steady_s` is the length of the unbroken steady stretch, `spread_k` the spread of the readings looked at (None
    without a reading), `lack` what is missing and `sentence` the same in words.
    """

    steady: bool
    steady_s: Decimal
    spread_k: Decimal | None
    lack: Lack
    sentence: str


def steadiness(
    readings: Iterable[TemperatureReading],
    at_s: Decimal,
    *,
    window_s: Decimal,
    spread_limit_k: Decimal,
    longest_gap_s: Decimal,
) -> Steadiness:
    """Return whether the tip was steady for `window_s` seconds up to `at_s`.

    Walking back from the moment, a stretch goes on while all its readings lie within `spread_limit_k` (inclusive)
    and no two neighbours, nor the last one and the moment, are further apart than `longest_gap_s` (inclusive).
    It is steady when the stretch reaches back `window_s` or more. Readings after the moment are not looked at.
    Source: apparatus standard of the glow-wire tests (60 s, 5 K); the longest gap is common practice.
    """
    before = sorted(((r.t_s, r.temperature_c) for r in readings if r.t_s <= at_s), reverse=True)
    if not before:
        return Steadiness(False, Decimal(0), None, "no reading", "no temperature is recorded before contact")
    low = high = before[0][1]
    reached_s, why = at_s, ""
    lack: Lack = "too short"
    for place, (t_s, temperature_c) in enumerate(before):
        gap_s = reached_s - t_s
        if gap_s > longest_gap_s:
            lack = "gap" if place else "old reading"
            why = f"{digits(gap_s)} s without a reading, {digits(longest_gap_s)} s allowed"
            break
        lowest, highest = min(low, temperature_c), max(high, temperature_c)
        if highest - lowest > spread_limit_k:
            lack = "moved"
            spread_k, within_s = highest - lowest, at_s - t_s
            why = f"{digits(spread_k)} K within {digits(within_s)} s, {digits(spread_limit_k)} K allowed"
            break
        low, high, reached_s = lowest, highest, t_s
        if at_s - reached_s >= window_s:
            held = f"{digits(high - low)} K in {digits(at_s - reached_s)} s"
            return Steadiness(True, at_s - reached_s, high - low, "nothing", held)
    steady_s = at_s - reached_s
    short = f"steady for {digits(steady_s)} s of {digits(window_s)} s, {digits(window_s - steady_s)} s more"
    spread = None if lack == "old reading" else high - low
    return Steadiness(False, steady_s, spread, lack, f"{short}; {why}" if why else short)


def reading_at(
    readings: Iterable[TemperatureReading], at_s: Decimal, *, oldest_s: Decimal
) -> TemperatureReading | None:
    """Return the last reading at or before `at_s` that is not older than `oldest_s` seconds, or None."""
    from_s = at_s - oldest_s
    near = [reading for reading in readings if from_s <= reading.t_s <= at_s]
    return max(near, key=lambda r: (r.t_s, r.temperature_c)) if near else None

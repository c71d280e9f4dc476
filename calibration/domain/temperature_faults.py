"""Which samples of a temperature trace are a broken circuit and no temperature: they are marked, never dropped.

Common practice: a thermocouple that opens reads zero, the end of the scale or the room; a tip does not get there and
back in one sample.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

FASTEST_K_PER_S = 100.0
"""Faster than this no tip in a test rig warms or cools (common practice)."""
LOWEST_C = 5.0
"""No tip is colder where people work (common practice); an open input that reads zero shows here."""


@dataclass(frozen=True, slots=True)
class Sample:
    """One sample as recorded: seconds from the start, degrees Celsius (NaN where none), the logger's flag."""

    time_s: float
    temperature_c: float
    flag: str = ""


@dataclass(frozen=True, slots=True)
class Suspicion:
    """A sample that may not be taken silently: its place, counted from 1, and why, a clause fit to follow a colon."""

    row: int
    reason: str


def suspicious_samples(
    samples: Sequence[Sample],
    *,
    full_scale_c: float,
    fastest_k_per_s: float = FASTEST_K_PER_S,
    lowest_c: float = LOWEST_C,
) -> tuple[Suspicion, ...]:
    """Return the samples a person must look at, in order of time; the values themselves stay as they are.

    A sample is marked when the logger flagged it, when it is no number, at or above the end of the scale, below what a
    room can be, or further from the last unmarked sample than a tip can go in the time between. A real step is thus
    marked only until it could have happened.
    """
    found: list[Suspicion] = []
    last: Sample | None = None
    for row, sample in enumerate(samples, 1):
        reason = _reason(sample, last, full_scale_c, fastest_k_per_s, lowest_c)
        if reason:
            found.append(Suspicion(row, reason))
        else:
            last = sample
    return tuple(found)


def far_from_last(
    reading_c: float, last_c: float, seconds_between: float, *, fastest_k_per_s: float = FASTEST_K_PER_S
) -> bool:
    """Return whether a tip cannot have gone from the last reading to this one in the time between."""
    return abs(reading_c - last_c) > fastest_k_per_s * max(seconds_between, 0.0)


def _reason(sample: Sample, last: Sample | None, full_scale_c: float, fastest: float, lowest_c: float) -> str:
    value = sample.temperature_c
    if sample.flag.strip():
        return f"the logger marked it {sample.flag.strip()}"
    if not isfinite(value):
        return "it is no number"
    if value >= full_scale_c:
        return f"it is the end of the scale, {full_scale_c:g} °C: an open circuit reads so"
    if value < lowest_c:
        return f"{value:g} °C is colder than any room: an open circuit reads so"
    if last is None:
        return ""
    between_s = sample.time_s - last.time_s
    if far_from_last(value, last.temperature_c, between_s, fastest_k_per_s=fastest):
        apart_k = abs(value - last.temperature_c)
        return f"it is {apart_k:.1f} K from {last.temperature_c:g} °C, {between_s:g} s before"
    return ""

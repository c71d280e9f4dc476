"""Readings of one recorder in true order: exact repeats dropped, contradictions refused, gaps named."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from specimens.domain.climate_arrays import BoolArray, FloatArray, IntArray, TimeArray, moment


@dataclass(frozen=True, slots=True)
class Series:
    """Readings of one recorder: times datetime64[us] UTC strictly rising, degC and % RH with NaN for missing."""

    times_utc: TimeArray
    temperature_c: FloatArray
    humidity_percent: FloatArray


@dataclass(frozen=True, slots=True)
class Gap:
    """Two consecutive readings further apart than the longest gap that still counts."""

    from_at: datetime
    until_at: datetime

    @property
    def minutes(self) -> float:
        return (self.until_at - self.from_at).total_seconds() / 60


@dataclass(frozen=True, slots=True)
class Sorted:
    """Positions of the readings to keep in rising time, how many exact repeats fell out, and pairs that contradict."""

    keep: IntArray
    repeats: IntArray
    conflicts: tuple[tuple[int, int], ...]


class ConflictingRecords(Exception):
    """Two records of one recorder give different values for the same instant."""

    def __init__(self, at: datetime, first: tuple[float, float], second: tuple[float, float]) -> None:
        super().__init__(
            f"Two records differ for {at:%Y-%m-%d %H:%M:%S} UTC: {_pair_text(first)} in one, "
            f"{_pair_text(second)} in the other."
        )
        self.at = at


def _pair_text(values: tuple[float, float]) -> str:
    parts = [f"{value:g} {unit}" for value, unit in zip(values, ("°C", "% RH"), strict=True) if not np.isnan(value)]
    return " and ".join(parts) or "no value"


def same_values(
    temperature_c: FloatArray, humidity_percent: FloatArray, first: IntArray, second: IntArray
) -> BoolArray:
    """Whether the readings at two sets of positions are equal; missing equals missing."""
    equal: BoolArray = np.ones(first.shape, dtype=np.bool_)
    for values in (temperature_c, humidity_percent):
        one, other = values[first], values[second]
        equal &= (one == other) | (np.isnan(one) & np.isnan(other))
    return equal


def sorted_readings(times_utc: TimeArray, temperature_c: FloatArray, humidity_percent: FloatArray) -> Sorted:
    """Put readings into rising time. A later reading for an instant already present is a repeat or a conflict."""
    if bool((np.diff(times_utc) > np.timedelta64(0, "us")).all()):  # the usual case needs no sorting
        return Sorted(np.arange(times_utc.size), np.empty(0, dtype=np.int64), ())
    order = np.argsort(times_utc, kind="stable").astype(np.int64)
    ranked = times_utc[order]
    is_new: BoolArray = np.ones(order.shape, dtype=np.bool_)
    is_new[1:] = ranked[1:] != ranked[:-1]
    owner = order[np.flatnonzero(is_new)][np.cumsum(is_new) - 1]
    later = ~is_new
    equal = same_values(temperature_c, humidity_percent, owner[later], order[later])
    pairs = zip(owner[later][~equal].tolist(), order[later][~equal].tolist(), strict=True)
    return Sorted(order[is_new], order[later][equal], tuple(pairs))


def merged(*records: Series) -> Series:
    """One series out of overlapping records of one recorder, whatever their order.

    Exact repeats are dropped. Raises ConflictingRecords when two records give different values for one instant
    (missing against a value is a contradiction too: one of the two files was damaged).
    """
    if not records:
        raise ValueError("There is nothing to merge.")
    times = np.concatenate([record.times_utc for record in records])
    temperature = np.concatenate([record.temperature_c for record in records])
    humidity = np.concatenate([record.humidity_percent for record in records])
    result = sorted_readings(times, temperature, humidity)
    if result.conflicts:
        first, second = result.conflicts[0]
        at = moment(int(times[first].astype("datetime64[us]").astype(np.int64)))
        raise ConflictingRecords(
            at,
            (float(temperature[first]), float(humidity[first])),
            (float(temperature[second]), float(humidity[second])),
        )
    return Series(times[result.keep], temperature[result.keep], humidity[result.keep])


def sampling_interval(times_utc: TimeArray) -> timedelta | None:
    """The median step between consecutive readings; None with fewer than two."""
    if times_utc.size < 2:
        return None
    steps = np.diff(times_utc.astype("datetime64[us]").astype(np.int64))
    return timedelta(microseconds=int(np.median(steps)))


def gaps(times_utc: TimeArray, longest: timedelta) -> tuple[Gap, ...]:
    """Every pair of consecutive readings further apart than `longest`."""
    stamps = times_utc.astype("datetime64[us]").astype(np.int64)
    wide = np.flatnonzero(np.diff(stamps) > longest // timedelta(microseconds=1))
    return tuple(Gap(moment(int(stamps[i])), moment(int(stamps[i + 1]))) for i in wide.tolist())

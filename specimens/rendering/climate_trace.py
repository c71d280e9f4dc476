"""A measured line cut at its gaps and thinned to what can be seen, its extremes kept."""

from collections.abc import Iterator
from datetime import timedelta
from itertools import pairwise

import numpy as np

from specimens.domain.climate_arrays import FloatArray, IntArray

MOST_POINTS = 1500
"""Up to this many readings are drawn one by one."""
_COLUMNS = 700
"""Beyond, the lowest and the highest of each of so many columns of equal time."""

Reading = tuple[int, float]
"""Microseconds since 1970 and a value."""


def thinned_runs(stamps: IntArray, values: FloatArray, longest: timedelta) -> list[list[Reading]]:
    """Unbroken runs of readings: never across a gap or a missing value, straight between recorded heights.

    `stamps` are rising microseconds, `values` has NaN where there is none; both have length n >= 0.
    """
    spread = stamps.size > MOST_POINTS
    columns = _columns(stamps) if spread else stamps
    return [
        _extremes(stamps, values, columns, first, last) if spread else _all(stamps, values, first, last)
        for first, last in _runs(stamps, values, longest)
    ]


def _runs(stamps: IntArray, values: FloatArray, longest: timedelta) -> Iterator[tuple[int, int]]:
    known = np.flatnonzero(np.isfinite(values))
    if not known.size:
        return
    apart = np.diff(stamps[known]) > longest // timedelta(microseconds=1)
    # a missing value between two readings breaks the line too: nothing is filled in
    breaks = np.flatnonzero(apart | (np.diff(known) > 1)) + 1
    edges = [0, *breaks.tolist(), known.size]
    for begin, end in pairwise(edges):
        yield int(known[begin]), int(known[end - 1]) + 1


def _columns(stamps: IntArray) -> IntArray:
    whole = max(int(stamps[-1] - stamps[0]), 1)
    columns: IntArray = np.minimum((stamps - stamps[0]) * _COLUMNS // whole, _COLUMNS - 1)
    return columns


def _all(stamps: IntArray, values: FloatArray, first: int, last: int) -> list[Reading]:
    return list(zip(stamps[first:last].tolist(), values[first:last].tolist(), strict=True))


def _extremes(stamps: IntArray, values: FloatArray, columns: IntArray, first: int, last: int) -> list[Reading]:
    """First, lowest, highest and last reading of each column, in time."""
    part = columns[first:last]
    starts = np.concatenate(([0], np.flatnonzero(np.diff(part)) + 1)) + first
    ends = np.concatenate((starts[1:], [last]))
    kept: set[int] = set()
    for begin, end in zip(starts.tolist(), ends.tolist(), strict=True):
        piece = values[begin:end]
        kept.update((begin + int(np.argmin(piece)), begin + int(np.argmax(piece))))
    kept.update((first, last - 1))
    return [(int(stamps[index]), float(values[index])) for index in sorted(kept)]

"""Records of one recorder become one series, whatever their order."""

from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from specimens.domain.climate_series import ConflictingRecords, Series, gaps, merged, sampling_interval


def series(minutes: list[int], temperature: list[float] | None = None) -> Series:
    values = np.array([20 + minute / 100 for minute in minutes] if temperature is None else temperature, dtype=float)
    times = np.datetime64("2026-11-17T08:00", "us") + np.array(minutes, dtype="timedelta64[m]")
    return Series(times, values, np.full(values.shape, 50.0))


def minutes_of(record: Series) -> list[int]:
    since = record.times_utc - np.datetime64("2026-11-17T08:00", "us")
    return [int(step) for step in since // np.timedelta64(60_000_000, "us")]


def test_overlapping_records_are_joined_once() -> None:
    assert minutes_of(merged(series([0, 1, 2, 3]), series([2, 3, 4, 5]))) == [0, 1, 2, 3, 4, 5]


def test_missing_equals_missing() -> None:
    nan = float("nan")
    assert minutes_of(merged(series([0, 1], [23.0, nan]), series([1, 2], [nan, 23.0]))) == [0, 1, 2]


def test_a_contradiction_is_refused_with_both_values() -> None:
    with pytest.raises(ConflictingRecords) as caught:
        merged(series([0, 1], [23.0, 23.1]), series([1, 2], [29.9, 23.0]))
    assert str(caught.value) == (
        "Two records differ for 2026-11-17 08:01:00 UTC: 23.1 °C and 50 % RH in one, 29.9 °C and 50 % RH in the other."
    )


@given(st.lists(st.lists(st.integers(0, 60), unique=True).map(sorted), min_size=1, max_size=5))
def test_the_order_of_merging_does_not_matter(parts: list[list[int]]) -> None:
    records = [series(part) for part in parts]
    expected = sorted({minute for part in parts for minute in part})
    turned = merged(*reversed(records))
    assert minutes_of(merged(*records)) == expected == minutes_of(turned)
    assert turned.temperature_c.tolist() == [20 + minute / 100 for minute in expected]


def test_interval_and_gaps() -> None:
    times = series([0, 5, 10, 45, 50]).times_utc
    assert sampling_interval(times) == timedelta(minutes=5)
    assert [gap.minutes for gap in gaps(times, timedelta(minutes=15))] == [35.0]
    assert gaps(times, timedelta(minutes=35)) == ()
    assert sampling_interval(times[:1]) is None

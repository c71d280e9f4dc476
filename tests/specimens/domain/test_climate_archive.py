"""A series goes into its archive and comes out the same."""

import numpy as np
import pytest

from specimens.domain.climate_archive import archived, unarchived
from specimens.domain.climate_series import Series


def test_nothing_is_lost():
    times = np.array(["2026-03-28T23:59:59.5", "2026-03-29T00:01", "2026-03-29T05:00"], dtype="datetime64[us]")
    series = Series(times, np.array([22.5, np.nan, 23.0625]), np.array([np.nan, 50.1, 104.0]))
    back = unarchived(archived(series))
    assert back.times_utc.dtype == np.dtype("datetime64[us]")
    np.testing.assert_array_equal(back.times_utc, series.times_utc)
    np.testing.assert_array_equal(back.temperature_c, series.temperature_c)
    np.testing.assert_array_equal(back.humidity_percent, series.humidity_percent)


def test_an_empty_series_comes_back_empty():
    nothing = np.empty(0)
    back = unarchived(archived(Series(np.empty(0, dtype="datetime64[us]"), nothing, nothing)))
    assert (back.times_utc.size, back.temperature_c.size) == (0, 0)


def test_two_million_regular_readings_take_little_room():
    count = 2_000_000
    times = np.datetime64("2026-01-01", "us") + np.arange(count) * np.timedelta64(20_000_000, "us")
    waves = np.round(23 + np.sin(np.arange(count) / 500), 2)
    assert len(archived(Series(times, waves, waves))) < 6_000_000


def test_other_bytes_are_refused():
    with pytest.raises(ValueError, match="pickle"):
        unarchived(b"not an archive")

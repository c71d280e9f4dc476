"""A recorder's corrections on its readings: the same as one by one, what lies beyond, records joined."""

from decimal import Decimal

import numpy as np
import pytest

from calibration.domain.corrections import CorrectionTable, StatedPoint, correction_table
from calibration.domain.drift import Point
from specimens.domain.climate_corrections import corrected_series, joined
from specimens.domain.climate_series import Series

D = Decimal


def table(unit: str, *points: tuple[str, str]) -> CorrectionTable:
    found = correction_table([StatedPoint(Point(False, D(a), D(b), unit)) for a, b in points], unit)
    assert found is not None
    return found


def series(temperature, humidity, start=0):
    times = np.datetime64("2026-03-02T08:00:00", "us") + (start + np.arange(len(temperature))) * np.timedelta64(60, "s")
    return Series(times, np.array(temperature, float), np.array(humidity, float))


AIR = table("°C", ("18.0", "18.4"), ("23.0", "23.2"), ("28.0", "27.6"))
WET = table("% RH", ("40.0", "41.5"), ("60.0", "60.5"))


def test_each_reading_gets_the_correction_the_table_gives_for_it():
    read = ["18.4", "20.0", "23.2", "25.37", "27.6", "28.0"]
    found, beyond = corrected_series(series([float(one) for one in read], [50.0] * 6), AIR, None)
    expected = [float(D(one) + AIR.at(D(one)).correction) for one in read]
    assert found.temperature_c == pytest.approx(expected, abs=1e-9)
    assert not beyond.any()
    assert list(found.humidity_percent) == [50.0] * 6


def test_half_way_between_two_last_places_goes_where_the_table_goes():
    """A steep table hits an exact half of the last place at many readings, which binary numbers miss to either side."""
    steep = table("°C", ("0.0", "0.0"), ("24.0", "20.0"), ("30.5", "30.0"))
    read = [f"{tenths / 20:.2f}" for tenths in range(601)]
    found, beyond = corrected_series(series([float(one) for one in read], [50.0] * len(read)), steep, None)
    expected = [f"{D(one) + steep.at(D(one)).correction:.2f}" for one in read]
    assert [f"{one:.2f}" for one in found.temperature_c] == expected
    assert not beyond.any()


def test_beyond_the_range_is_marked_and_missing_stays_missing():
    found, beyond = corrected_series(series([17.9, 18.0, float("nan"), 28.1], [39.9, 40.0, 50.0, 60.6]), AIR, WET)
    assert list(beyond) == [True, False, False, True]
    assert np.isnan(found.temperature_c[2])
    assert found.humidity_percent[3] == pytest.approx(60.1)


def test_without_points_the_readings_are_as_recorded():
    read = series([23.0], [50.0])
    found, beyond = corrected_series(read, None, None)
    assert (found.temperature_c is read.temperature_c, list(beyond)) == (True, [False])


def test_records_under_two_calibrations_are_joined_in_time_and_the_first_holds_where_they_overlap():
    late, early = series([21.0, 22.0], [50.0, 50.0], start=1), series([20.0, 20.9], [50.0, 50.0])
    whole, beyond = joined([late, early], [np.array([True, False]), np.array([False, False])])
    assert list(whole.temperature_c) == [20.0, 21.0, 22.0]
    assert list(beyond) == [False, True, False]
    assert joined([late], [np.array([True, False])])[0] is late

"""What a climate record means as moist air."""

import numpy as np
import pytest

from specimens.domain.climate_series import Series
from specimens.rendering.climate_moisture import moisture_sentence

NOTHING = float("nan")


def series(temperature, humidity):
    times = np.datetime64("2026-03-02T08:00:00", "us") + np.arange(len(temperature)) * np.timedelta64(60, "s")
    return Series(times, np.array(temperature, float), np.array(humidity, float))


def test_the_medians_of_readings_with_both_figures_are_told():
    # 23 °C and 50 %: dew point 12.0 °C (PsychroLib), 10.28 g/m³ and 47.07 % at 24 °C (computed separately)
    assert moisture_sentence(series([22, 23, 24, 40], [49, 50, 51, NOTHING])) == (
        "At its medians, 23.0 °C and 50.0 % RH as recorded, the dew point is 12.0 °C and the air holds 10.3 g/m³ of "
        "water. One kelvin more alone makes that 47.1 % RH."
    )


def test_a_dew_point_below_zero_is_called_so():
    assert "the dew point is below 0 °C" in moisture_sentence(series([20], [20]))


@pytest.mark.parametrize(
    ("temperature", "humidity"),
    [([], []), ([23], [NOTHING]), ([NOTHING], [50]), ([-5], [50]), ([23], [104]), ([23], [0]), ([99.5], [50])],
)
def test_where_there_is_no_such_air_nothing_is_said(temperature, humidity):
    assert moisture_sentence(series(temperature, humidity)) == ""

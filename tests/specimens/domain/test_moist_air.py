"""Moist air against published equations and the figures of a reference library."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from specimens.domain.moist_air import (
    MoistAirError,
    dew_point_c,
    humidity_percent_at,
    saturation_pressure_pa,
    vapour_pressure_pa,
    water_g_per_m3,
)

# Pa: Sonntag 1990, and Wagner and Pruss (IAPWS) for the last column.
PRESSURES = [
    (0.01, 611.66, 611.66),
    (15, 1705.71, 1705.68),
    (20, 2339.25, 2339.19),
    (23, 2811.02, 2810.96),
    (25, 3169.90, 3169.82),
    (27, 3568.12, 3568.02),
    (40, 7385.30, 7385.11),
]


@pytest.mark.parametrize(("temperature_c", "sonntag_pa", "iapws_pa"), PRESSURES)
def test_saturated_vapour_is_that_of_the_published_equations(temperature_c, sonntag_pa, iapws_pa):
    found = saturation_pressure_pa(temperature_c)
    assert found == pytest.approx(sonntag_pa, abs=0.006)
    assert found == pytest.approx(iapws_pa, abs=0.21)


# Dew point in °C (PsychroLib 2.5.0, ASHRAE's equations) and water in g/m³ at 101 325 Pa, computed separately.
AIR = [
    (23, 50, 12.03, 10.28),
    (20, 65, 13.23, 11.24),
    (27, 65, 19.86, 16.74),
    (23, 45, 10.44, 9.25),
    (23, 55, 13.48, 11.31),
    (25, 60, 16.70, 13.82),
    (15, 45, 3.17, 5.77),
    (35, 75, 29.90, 29.68),
]


@pytest.mark.parametrize(("temperature_c", "humidity", "dew_c", "g_per_m3"), AIR)
def test_dew_point_and_water_of_usual_rooms(temperature_c, humidity, dew_c, g_per_m3):
    assert dew_point_c(temperature_c, humidity) == pytest.approx(dew_c, abs=0.02)
    assert water_g_per_m3(temperature_c, humidity) == pytest.approx(g_per_m3, abs=0.008)


# Common tables of saturated air print 20.6 and 23.0 g/m³.
@pytest.mark.parametrize(("temperature_c", "g_per_m3"), [(23, 20.6), (25, 23.0)])
def test_saturated_air_holds_what_tables_print(temperature_c, g_per_m3):
    assert round(water_g_per_m3(temperature_c, 100), 1) == g_per_m3
    assert dew_point_c(temperature_c, 100) == pytest.approx(temperature_c, abs=1e-6)


# Computed separately: the air of 23 °C and 50 % at other temperatures, about 3 % less for each kelvin.
@pytest.mark.parametrize(("other_c", "humidity"), [(21, 56.49), (22, 53.13), (24, 47.07), (25, 44.34)])
def test_two_kelvin_alone_use_up_a_band_of_five_percent(other_c, humidity):
    assert humidity_percent_at(23, 50, other_c) == pytest.approx(humidity, abs=0.03)


@given(st.floats(min_value=5, max_value=60), st.floats(min_value=40, max_value=100))
def test_at_its_dew_point_the_air_is_saturated(temperature_c, humidity):
    dew_c = dew_point_c(temperature_c, humidity)
    if dew_c is None:
        assert vapour_pressure_pa(temperature_c, humidity) < saturation_pressure_pa(0)
    else:
        assert dew_c <= temperature_c
        assert saturation_pressure_pa(dew_c) == pytest.approx(vapour_pressure_pa(temperature_c, humidity), rel=1e-9)


def test_a_dew_point_below_zero_is_not_told():
    assert dew_point_c(20, 20) is None


@pytest.mark.parametrize(
    ("temperature_c", "humidity"), [(-0.1, 50), (100.1, 50), (23, 0), (23, 100.1), (23, float("nan"))]
)
def test_what_is_no_such_air_is_refused(temperature_c, humidity):
    with pytest.raises(MoistAirError):
        water_g_per_m3(temperature_c, humidity)

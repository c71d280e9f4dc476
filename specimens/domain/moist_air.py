"""Moist air: vapour pressure, dew point and water content from what a recorder of temperature and humidity reads."""

from math import exp, log

ZERO_C_K = 273.15
LOW_C, HIGH_C = 0.0, 100.0
"""Over water, and as far as the formula is stated; below 0 °C a recorder's relative humidity needs ice to be named."""
WATER_KG_PER_MOL, GAS_J_PER_MOL_K = 0.018015268, 8.314462618
_CLOSE_K = 1e-9


class MoistAirError(ValueError):
    """The air cannot be computed; the message is a sentence."""


def saturation_pressure_pa(temperature_c: float) -> float:
    """Return the pressure in Pa of water vapour above water at a temperature in °C, 0 to 100.

    Raises MoistAirError outside, for NaN too. Source: D. Sonntag, 1990 (ITS-90); within 0.4 Pa of the equation of
    Wagner and Pruss that IAPWS recommends, from 0 to 27 °C.
    """
    if not LOW_C <= temperature_c <= HIGH_C:
        raise MoistAirError(f"{temperature_c:g} °C is outside {LOW_C:g} to {HIGH_C:g} °C; nothing is extrapolated.")
    return exp(_log_pressure(temperature_c + ZERO_C_K))


def vapour_pressure_pa(temperature_c: float, humidity_percent: float) -> float:
    """Return the pressure in Pa of the vapour in air of this relative humidity, above 0 to 100 %."""
    if not 0 < humidity_percent <= 100:
        raise MoistAirError(f"{humidity_percent:g} % is no relative humidity of air; above 0 to 100 % is.")
    return humidity_percent / 100 * saturation_pressure_pa(temperature_c)


def dew_point_c(temperature_c: float, humidity_percent: float) -> float | None:
    """Return the temperature in °C at which the same air is saturated; None where that is below 0 °C."""
    wanted = log(vapour_pressure_pa(temperature_c, humidity_percent))
    low, high = LOW_C, temperature_c
    if wanted < _log_pressure(low + ZERO_C_K):
        return None
    while high - low > _CLOSE_K:
        middle = (low + high) / 2
        low, high = (middle, high) if _log_pressure(middle + ZERO_C_K) < wanted else (low, middle)
    return (low + high) / 2


def water_g_per_m3(temperature_c: float, humidity_percent: float) -> float:
    """Return how much water the air holds, in g/m³, its vapour taken as an ideal gas."""
    pressure = vapour_pressure_pa(temperature_c, humidity_percent)
    return 1000 * pressure * WATER_KG_PER_MOL / (GAS_J_PER_MOL_K * (temperature_c + ZERO_C_K))


def humidity_percent_at(temperature_c: float, humidity_percent: float, other_c: float) -> float:
    """Return the relative humidity the same air has at another temperature, its vapour pressure unchanged, in %."""
    return 100 * vapour_pressure_pa(temperature_c, humidity_percent) / saturation_pressure_pa(other_c)


def _log_pressure(temperature_k: float) -> float:
    return (
        -6096.9385 / temperature_k
        + 21.2409642
        - 2.711193e-2 * temperature_k
        + 1.673952e-5 * temperature_k**2
        + 2.433502 * log(temperature_k)
    )

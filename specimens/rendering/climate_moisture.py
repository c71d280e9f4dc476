"""What the middle of a climate record means as moist air, as a sentence: dew point, water, and what one kelvin does."""

import numpy as np

from specimens.domain.climate_series import Series
from specimens.domain.moist_air import MoistAirError, dew_point_c, humidity_percent_at, water_g_per_m3


def moisture_sentence(series: Series) -> str:
    """Return the sentence for the medians of the readings that have both figures; empty where there is no such air."""
    whole = ~(np.isnan(series.temperature_c) | np.isnan(series.humidity_percent))
    if not whole.any():
        return ""
    middle_c = float(np.median(series.temperature_c[whole]))
    humidity = float(np.median(series.humidity_percent[whole]))
    try:
        dew_c, water = dew_point_c(middle_c, humidity), water_g_per_m3(middle_c, humidity)
        warmer = humidity_percent_at(middle_c, humidity, middle_c + 1)
    except MoistAirError:
        return ""
    dew = "below 0 °C" if dew_c is None else f"{dew_c:.1f} °C"
    return (
        f"At its medians, {middle_c:.1f} °C and {humidity:.1f} % RH as recorded, the dew point is {dew} and the air "
        f"holds {water:.1f} g/m³ of water. One kelvin more alone makes that {warmer:.1f} % RH."
    )

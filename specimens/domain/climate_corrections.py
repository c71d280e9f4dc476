"""A recorder's readings with the corrections its calibration states, and which of them lie outside what it covers."""

from collections.abc import Sequence
from decimal import Decimal
from math import isnan

import numpy as np

from calibration.domain.corrections import CorrectionTable
from specimens.domain.climate_arrays import BoolArray, FloatArray
from specimens.domain.climate_series import Series, sorted_readings

_PLACES = 9
"""What was read in °F or in binary may miss its own decimals, and an end of the range, by a hair."""


def corrected_series(
    series: Series, temperature: CorrectionTable | None, humidity: CorrectionTable | None
) -> tuple[Series, BoolArray]:
    """Return the readings with what a calibration adds, and for each whether it lies outside the calibrated range.

    `temperature` is in °C, `humidity` in % RH; without a table readings stay as recorded and none is outside. The
    correction is the one `CorrectionTable.at` gives; outside, the end point's is added so that the reading can be
    shown, and it is for the caller not to count it.
    """
    temperature_c, t_beyond = _corrected(series.temperature_c, temperature)
    humidity_percent, h_beyond = _corrected(series.humidity_percent, humidity)
    return Series(series.times_utc, temperature_c, humidity_percent), t_beyond | h_beyond


def joined(parts: Sequence[Series], beyond: Sequence[BoolArray]) -> tuple[Series, BoolArray]:
    """Return corrected records of one recorder as one series in rising time, with their marks; of equal instants the
    first record's reading stays. That they agree as recorded is settled before anything is corrected.
    """
    if len(parts) == 1:
        return parts[0], beyond[0]
    whole = Series(
        np.concatenate([part.times_utc for part in parts]),
        np.concatenate([part.temperature_c for part in parts]),
        np.concatenate([part.humidity_percent for part in parts]),
    )
    keep = sorted_readings(whole.times_utc, whole.temperature_c, whole.humidity_percent).keep
    marks: BoolArray = np.concatenate(beyond)[keep]
    return Series(whole.times_utc[keep], whole.temperature_c[keep], whole.humidity_percent[keep]), marks


def _corrected(values: FloatArray, table: CorrectionTable | None) -> tuple[FloatArray, BoolArray]:
    if table is None:
        return values, np.zeros(values.shape, dtype=np.bool_)
    rounded = np.round(values, _PLACES)
    beyond: BoolArray = (rounded < float(table.low)) | (rounded > float(table.high))
    # a recorder has few different readings: each is looked up once, in decimals as the table is
    different, place = np.unique(rounded, return_inverse=True)
    added = np.array([_correction(table, float(one)) for one in different], dtype=np.float64)
    return values + added[place], beyond


def _correction(table: CorrectionTable, value: float) -> float:
    """The correction of a reading, the end point's outside the calibrated range; NaN of a missing one."""
    if isnan(value):
        return value
    inside = min(max(Decimal(repr(value)), table.low), table.high)
    return float(table.at(inside).correction)

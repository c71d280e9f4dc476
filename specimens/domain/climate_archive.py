"""A series of readings as compressed bytes, and back without loss."""

import io

import numpy as np

from specimens.domain.climate_series import Series


def archived(series: Series) -> bytes:
    """The series as an npz archive: steps between instants in microseconds, degC and % RH as read.

    Steps instead of instants, because equal steps compress to almost nothing.
    """
    stamps = series.times_utc.astype("datetime64[us]").astype(np.int64)
    target = io.BytesIO()
    np.savez_compressed(
        target,
        steps=np.diff(stamps, prepend=np.int64(0)),
        temperature_c=series.temperature_c,
        humidity_percent=series.humidity_percent,
    )
    return target.getvalue()


def unarchived(content: bytes) -> Series:
    """The series that `archived` wrote. Raises ValueError or KeyError for other bytes."""
    with np.load(io.BytesIO(content), allow_pickle=False) as arrays:
        times = np.cumsum(arrays["steps"]).astype("datetime64[us]")
        return Series(times, arrays["temperature_c"], arrays["humidity_percent"])

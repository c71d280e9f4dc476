"""The array types of a climate record and the way between numpy instants and Python moments."""

from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import numpy.typing as npt

TimeArray = npt.NDArray[np.datetime64]
FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.signedinteger[Any]]
BoolArray = npt.NDArray[np.bool_]

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def instant_us(at: datetime) -> int:
    """Microseconds since 1970-01-01 UTC. Raises ValueError when the moment has no zone."""
    if at.tzinfo is None:
        raise ValueError("A moment needs its zone.")
    return (at - _EPOCH) // timedelta(microseconds=1)


def moment(microseconds: int) -> datetime:
    """The instant that many microseconds after 1970-01-01 UTC."""
    return _EPOCH + timedelta(microseconds=microseconds)

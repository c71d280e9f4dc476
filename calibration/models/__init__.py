"""Tables of the calibration app."""

from calibration.models.calibrations import Calibration, CalibrationPoint
from calibration.models.instruments import Instrument, InstrumentKind, ServiceChange
from calibration.models.rigs import Mounting, Rig, RigKind

__all__ = [
    "Calibration",
    "CalibrationPoint",
    "Instrument",
    "InstrumentKind",
    "Mounting",
    "Rig",
    "RigKind",
    "ServiceChange",
]

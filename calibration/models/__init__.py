"""Tables of the calibration app."""

from calibration.models.calibrations import Calibration, CalibrationPoint
from calibration.models.checks import CheckKind, CheckPlan, IntermediateCheck
from calibration.models.commissioning import Commissioning, CommissioningFinding, CommissioningLine, GlowWire, WireCare
from calibration.models.events import InstrumentEvent
from calibration.models.instruments import Instrument, InstrumentKind, ServiceChange, ThermocoupleType
from calibration.models.limits import InstrumentLimit, IntervalDecision
from calibration.models.notices import CalendarAddress, Reminder
from calibration.models.permits import UsePermit
from calibration.models.rigs import Mounting, Rig, RigKind

__all__ = [
    "CalendarAddress",
    "Calibration",
    "CalibrationPoint",
    "CheckKind",
    "CheckPlan",
    "Commissioning",
    "CommissioningFinding",
    "CommissioningLine",
    "GlowWire",
    "Instrument",
    "InstrumentEvent",
    "InstrumentKind",
    "InstrumentLimit",
    "IntermediateCheck",
    "IntervalDecision",
    "Mounting",
    "Reminder",
    "Rig",
    "RigKind",
    "ServiceChange",
    "ThermocoupleType",
    "UsePermit",
    "WireCare",
]

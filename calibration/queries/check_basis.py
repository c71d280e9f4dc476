"""What the certificate of an instrument says of a reading, as it held at a moment."""

from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal

from calibration.domain.corrections import OutsideRangeError
from calibration.models import Instrument
from calibration.queries.corrections import calibration_corrections
from calibration.queries.usability import usability


@dataclass(frozen=True, slots=True)
class Certified:
    """What the accepted calibration says at a reading; `standard_uncertainty` None where it states no U or no k."""

    calibrated_on: date
    correction: Decimal
    standard_uncertainty: Decimal | None


@dataclass(frozen=True, slots=True)
class NotCertified:
    """There is no correction at a reading, and why, as a clause."""

    clause: str


def certified_at(
    instrument: Instrument, unit: str, reading: Decimal, at: datetime, *, with_drift: bool
) -> Certified | NotCertified:
    """What the calibration accepted at `at` says of a reading; `with_drift` adds its drift allowance."""
    accepted = usability(instrument, at).calibration_id
    if accepted is None:
        return NotCertified(f"no accepted calibration of {instrument.code} speaks for it then")
    found = calibration_corrections([accepted], at)[accepted]
    table = found.tables.get(unit)
    if table is None:
        return NotCertified(f"the certificate of {instrument.code} has no point in {unit}")
    if not with_drift:
        table = replace(table, drift_allowance=None)
    try:
        there = table.at(reading)
    except OutsideRangeError as outside:
        return NotCertified(f"{instrument.code} is {outside}")
    return Certified(found.calibrated_on, there.correction, there.standard_uncertainty)

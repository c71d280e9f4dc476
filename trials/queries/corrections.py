"""The corrections of the instruments of a trial, from the calibrations that held when they were chosen."""

from calibration.queries.corrections import calibration_corrections
from trials.domain.applied_corrections import CalibratedUse
from trials.models import InstrumentUse, Trial


def calibrated_uses(trial: Trial) -> list[CalibratedUse]:
    """The instruments of a trial with what their calibrations add to readings; four reads."""
    rows = list(InstrumentUse.objects.filter(trial=trial).order_by("role", "pk"))
    found = calibration_corrections([row.calibration_id for row in rows], trial.opened_at)
    return [
        CalibratedUse(
            role=row.role,
            code=known.code,
            calibration_id=known.calibration_id,
            calibrated_on=known.calibrated_on,
            tables=known.tables,
            chain_with=known.chain_with,
        )
        for row in rows
        if (known := found.get(row.calibration_id)) is not None
    ]

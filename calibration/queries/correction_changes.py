"""What a calibration that awaits verification would change in the corrections of its instrument."""

from datetime import datetime

from calibration.domain.correction_changes import CorrectionChange, correction_changes
from calibration.models import Calibration
from calibration.queries.corrections import calibration_corrections


def changed_corrections(calibration: Calibration, at: datetime) -> tuple[CorrectionChange, ...]:
    """Against the newest calibration accepted by `at` that is older than this one; nothing without one."""
    accepted = Calibration.objects.filter(
        instrument=calibration.instrument_id, decision=Calibration.Decision.ACCEPTED, decided_at__lte=at
    ).exclude(pk=calibration.pk)
    before = accepted.filter(calibrated_on__lte=calibration.calibrated_on).order_by("calibrated_on", "pk").last()
    if before is None:
        return ()
    stated = calibration_corrections([before.pk, calibration.pk], at)
    return correction_changes(stated[before.pk].tables, stated[calibration.pk].tables)

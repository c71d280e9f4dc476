"""An instrument's calibrations as the drift needs them."""

from collections.abc import Iterable

from calibration.domain.drift import Drift, Point, drift
from calibration.models import Calibration, CalibrationPoint


def drift_of(calibrations: Iterable[Calibration]) -> Drift | None:
    """The drift shown by a history with its points, entries by mistake left out; None without two calibrations."""
    return drift(
        [
            (calibration.calibrated_on, [point_of(row) for row in calibration.points.all()])
            for calibration in calibrations
            if calibration.decision != Calibration.Decision.MISTAKEN
        ]
    )


def point_of(row: CalibrationPoint) -> Point:
    """A stored point as the computing takes it."""
    return Point(
        as_left=row.kind == CalibrationPoint.Kind.AS_LEFT,
        reference=row.reference,
        indication=row.indication,
        unit=row.unit,
        uncertainty=row.expanded_uncertainty,
    )

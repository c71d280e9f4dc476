"""The digital certificate kept with a calibration, beside what was entered of it."""

from dataclasses import dataclass

from calibration.domain.certificate_agreement import EnteredPoint, differences_from_file
from calibration.domain.certificate_xml import CertificateError
from calibration.domain.digital_certificate import read_digital_certificate
from calibration.models import Calibration, CalibrationPoint


@dataclass(frozen=True, slots=True)
class BesideFile:
    """Where entry and file differ, in sentences; none where they agree."""

    differences: tuple[str, ...]


def beside_data_file(calibration: Calibration) -> BesideFile | None:
    """Return how the entry of a calibration stands beside its digital certificate; None where none is kept."""
    file = calibration.data_file
    if file is None:
        return None
    try:
        certificate = read_digital_certificate(bytes(file.content))
    except CertificateError as wrong:
        return BesideFile((f"The kept file cannot be read any more: {wrong}",))
    points = tuple(_entered(point) for point in calibration.points.order_by("pk"))
    return BesideFile(
        differences_from_file(
            certificate,
            kind=calibration.instrument.kind,
            calibrated_on=calibration.calibrated_on,
            certificate_number=calibration.certificate_number,
            points=points,
        )
    )


def _entered(point: CalibrationPoint) -> EnteredPoint:
    figures = (point.reference, point.indication, point.unit, point.expanded_uncertainty, point.coverage_factor)
    return EnteredPoint(figures, point.kind == CalibrationPoint.Kind.AS_LEFT)

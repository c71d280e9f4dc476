"""The columns every export of instruments shares: what it is, and how it is calibrated."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal

from django.utils import timezone

from calibration.domain.units import difference_unit
from calibration.models import Calibration, CalibrationPoint
from calibration.queries.exported import ExportedInstrument
from labsite.ledger.workbooks import Cell

IDENTITY = ("Code", "Number", "Kind", "Description", "Maker", "Type or model", "Serial number", "Software", "Firmware")
CALIBRATION = (
    "Calibrated on", "Due on", "Status", "Reason", "Uncertainty U", "Unit of U", "k", "Calibrated range",
    "Range of the instrument", "Resolution", "Certificate", "Calibrated by", "Accreditation number", "Route",
    "Accepted by", "Accepted at",
)  # fmt: skip


def identity_cells(row: ExportedInstrument) -> tuple[Cell, ...]:
    """What the instrument is, in the order of IDENTITY."""
    one = row.instrument
    return (
        one.code, one.number, one.get_kind_display(), one.description, one.maker, one.model_name, one.serial_number,
        one.software_version, one.firmware_version,
    )  # fmt: skip


def calibration_cells(row: ExportedInstrument) -> tuple[Cell, ...]:
    """How it stands and what its last accepted calibration says, in the order of CALIBRATION; empty where unknown.

    U is the largest of its points, with the k of that point; where points are in several units, one for each in words.
    """
    one, answer, calibration = row.instrument, row.usability, row.calibration
    if calibration is None:
        return (None, None, answer.status.value, answer.reason, *[None] * 4, one.range_text, one.resolution_text,
                *[None] * 6)  # fmt: skip
    points = last_points(calibration)
    return (
        calibration.calibrated_on, calibration.due_on, answer.status.value, answer.reason, *_largest(points),
        calibrated_range(points), one.range_text, one.resolution_text, calibration.certificate_number,
        calibration.calibrated_by, calibration.accreditation_number, calibration.get_route_display(),
        str(calibration.decided_by), local(calibration.decided_at),
    )  # fmt: skip


def last_points(calibration: Calibration) -> list[CalibrationPoint]:
    """The points that describe it from then on: as left where some are, else as found; by unit and reference."""
    points = sorted(calibration.points.all(), key=lambda point: (point.unit, point.reference))
    left = [point for point in points if point.kind == CalibrationPoint.Kind.AS_LEFT]
    return left or points


def calibrated_range(points: Iterable[CalibrationPoint]) -> str:
    """From the lowest to the highest reference of each unit: “650.0 to 850.0 °C”."""
    by_unit: defaultdict[str, list[Decimal]] = defaultdict(list)
    for point in points:
        by_unit[point.unit].append(point.reference)
    return "; ".join(
        f"{min(values):f} {unit}" if min(values) == max(values) else f"{min(values):f} to {max(values):f} {unit}"
        for unit, values in by_unit.items()
    )


def local(moment: datetime | None) -> datetime | None:
    """A moment in the laboratory's zone; None stays None."""
    return None if moment is None else timezone.localtime(moment)


def _largest(points: Iterable[CalibrationPoint]) -> tuple[Cell, Cell, Cell]:
    """The largest U with its unit and its k."""
    largest: dict[str, CalibrationPoint] = {}
    for point in points:
        best = largest.get(point.unit)
        if point.expanded_uncertainty is not None and (
            best is None or point.expanded_uncertainty > (best.expanded_uncertainty or 0)
        ):
            largest[point.unit] = point
    found = [(point.expanded_uncertainty, difference_unit(unit), point.coverage_factor)
             for unit, point in largest.items()]  # fmt: skip
    if not found:
        return None, None, None
    if len(found) == 1:
        return found[0]
    words = "; ".join(f"{u:f} {unit}" for u, unit, _ in found)
    factors = {k for *_, k in found}
    if len(factors) == 1:
        return words, None, factors.pop()
    return words, None, "; ".join("not said" if k is None else f"{k:f}" for *_, k in found)

"""The register as tables: every instrument as of a day, and the points of their last accepted calibrations."""

from collections.abc import Sequence

from calibration.domain.units import difference_unit
from calibration.exports.columns import CALIBRATION, IDENTITY, calibration_cells, identity_cells
from calibration.models import Calibration, CalibrationPoint
from calibration.queries.exported import ExportedInstrument
from labsite.ledger.workbooks import Cell, Table

POINT = (
    "Point",
    "Reference",
    "Indication",
    "Unit",
    "Error",
    "Uncertainty U",
    "k",
    "Coverage probability",
    "Unit of error",
)


def register_tables(rows: Sequence[ExportedInstrument]) -> tuple[Table, Table]:
    """Instruments, and the points of the calibrations their rows rest on."""
    instruments = Table(
        "Instruments",
        (*IDENTITY, "Belongs to", "Place", "Rig", *CALIBRATION, "Facts of"),
        tuple(_instrument(row) for row in rows),
    )
    points = Table(
        "Points",
        ("Code", "Calibrated on", *POINT),
        tuple(
            (row.instrument.code, row.calibration.calibrated_on, *point_cells(point))
            for row in rows
            if row.calibration is not None
            for point in ordered_points(row.calibration)
        ),
    )
    return instruments, points


def ordered_points(calibration: Calibration) -> list[CalibrationPoint]:
    """As found before as left, by unit and reference."""
    return sorted(calibration.points.all(), key=lambda point: (point.kind, point.unit, point.reference, point.pk))


def point_cells(point: CalibrationPoint) -> tuple[Cell, ...]:
    """One compared point, in the order of POINT."""
    return (
        point.get_kind_display(), point.reference, point.indication, point.unit, point.error,
        point.expanded_uncertainty, point.coverage_factor, point.coverage_probability, difference_unit(point.unit),
    )  # fmt: skip


def place_words(row: ExportedInstrument) -> str:
    """The place by code and name, or nothing."""
    place = row.instrument.place
    return f"{place.code}, {place.name}" if place else ""


def _instrument(row: ExportedInstrument) -> tuple[Cell, ...]:
    facts = "that day" if row.sure else "now; its book says nothing of that day"
    place = place_words(row)
    return (*identity_cells(row), row.instrument.owner, place, row.rig, *calibration_cells(row), facts)

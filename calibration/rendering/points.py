"""Compared points as a page shows them, with their digits: reference, indication, error; as found and as left apart."""

from collections.abc import Iterable
from dataclasses import dataclass

from calibration.domain.figures import signed
from calibration.domain.units import difference_unit
from calibration.models import CalibrationPoint


@dataclass(frozen=True, slots=True)
class PointLine:
    """One point: “850.0 → 846.1 °C”, “−3.9 K”, “1.1 K”, “2.00”; what is not known is empty."""

    reads: str
    error: str
    uncertainty: str
    coverage: str

    @property
    def doubt(self) -> str:
        """Uncertainty and coverage factor in one."""
        known = [f"U {self.uncertainty}"] if self.uncertainty else []
        return ", ".join([*known, f"k {self.coverage}"] if self.coverage else known)


@dataclass(frozen=True, slots=True)
class PointGroup:
    """The points as found or as left, lowest reference first; `doubt` is set where all share it."""

    words: str
    lines: tuple[PointLine, ...]
    doubt: str


def point_groups(points: Iterable[CalibrationPoint]) -> tuple[PointGroup, ...]:
    """The points of one calibration, as found before as left."""
    rows = sorted(points, key=lambda row: (row.unit, row.reference))
    groups = []
    for kind in CalibrationPoint.Kind:
        lines = tuple(_line(row) for row in rows if row.kind == kind)
        doubts = {line.doubt for line in lines}
        if lines:
            groups.append(PointGroup(str(kind.value), lines, doubts.pop() if len(doubts) == 1 else ""))
    return tuple(groups)


def _line(row: CalibrationPoint) -> PointLine:
    unit = difference_unit(row.unit)
    return PointLine(
        reads=f"{row.reference:f} → {row.indication:f} {row.unit}",
        error=f"{signed(row.error)} {unit}",
        uncertainty="" if row.expanded_uncertainty is None else f"{row.expanded_uncertainty:f} {unit}",
        coverage="" if row.coverage_factor is None else f"{row.coverage_factor:f}",
    )

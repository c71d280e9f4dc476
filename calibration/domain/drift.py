"""How far an instrument reads from the reference, calibration after calibration, at one place of its range."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

SAME_PLACE = Decimal("0.01")
"""Two reference values belong to the same place of the range when they differ by no more than this share of the larger.
Ours: certificates seldom hit a nominal value exactly."""


@dataclass(frozen=True, slots=True)
class Point:
    """One compared point; `uncertainty` is the expanded one, in the unit of the point."""

    as_left: bool
    reference: Decimal
    indication: Decimal
    unit: str
    uncertainty: Decimal | None = None

    @property
    def error(self) -> Decimal:
        """Indication minus reference."""
        return self.indication - self.reference


@dataclass(frozen=True, slots=True)
class Visit:
    """One calibration at the place looked at: as found, as left, or both."""

    calibrated_on: date
    found: Point | None
    left: Point | None


@dataclass(frozen=True, slots=True)
class Drift:
    """The visits at one place of the range, oldest first; at least two."""

    reference: Decimal
    unit: str
    visits: tuple[Visit, ...]


def drift(calibrations: Sequence[tuple[date, Sequence[Point]]]) -> Drift | None:
    """The drift at the place most calibrations share (of equals, the highest), or None without two of them."""
    places = {(point.unit, point.reference) for _, points in calibrations for point in points}
    candidates = [_at_place(calibrations, unit, reference) for unit, reference in places]
    fit = [found for found in candidates if len(found.visits) > 1]
    return max(fit, key=lambda found: (len(found.visits), found.reference, found.unit), default=None)


def _at_place(calibrations: Sequence[tuple[date, Sequence[Point]]], unit: str, reference: Decimal) -> Drift:
    visits = []
    for day, points in sorted(calibrations, key=lambda pair: pair[0]):
        near = [point for point in points if point.unit == unit and _same(point.reference, reference)]
        near.sort(key=lambda point: abs(point.reference - reference))
        found = next((point for point in near if not point.as_left), None)
        left = next((point for point in near if point.as_left), None)
        if found or left:
            visits.append(Visit(day, found, left))
    return Drift(reference, unit, tuple(visits))


def _same(one: Decimal, other: Decimal) -> bool:
    return abs(one - other) <= SAME_PLACE * max(abs(one), abs(other))

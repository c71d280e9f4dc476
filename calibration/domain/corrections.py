"""What is added to a reading: interpolated between the points of a calibration, with its uncertainty, never beyond."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from math import inf

from calibration.domain.drift import Point

ROOT_THREE = Decimal(3).sqrt()


class OutsideRangeError(ValueError):
    """The reading lies outside what was calibrated; the message is a clause fit to follow a colon."""


@dataclass(frozen=True, slots=True)
class Correction:
    """What is added to a reading, in the unit of the points.

    `standard_uncertainty` is that of the correction with the drift allowance, None where the calibration does not
    state uncertainty and coverage factor at both neighbours.
    """

    correction: Decimal
    standard_uncertainty: Decimal | None


@dataclass(frozen=True, slots=True)
class Station:
    """One place of the range: what was indicated, what is added there, and the standard uncertainty stated for it."""

    indication: Decimal
    correction: Decimal
    standard_uncertainty: Decimal | None


@dataclass(frozen=True, slots=True)
class CorrectionTable:
    """The corrections of one calibration in one unit; `low` to `high` is what was calibrated, `places` its decimals."""

    unit: str
    stations: tuple[Station, ...]
    low: Decimal
    high: Decimal
    places: int
    drift_allowance: Decimal | None = None

    def at(self, reading: Decimal) -> Correction:
        """Return the correction at a reading.

        Linear between the indications of the two neighbouring points, and to one decimal place more than the
        certificate states (half even), which is the definition of the correction and no rounding of a result. Up to
        the end of the calibrated range (its reference and its indication differ by the error) the end point's
        correction holds. Its uncertainty is the larger of the neighbours', with the drift allowance as a rectangular
        distribution. Raises OutsideRangeError beyond. Source: common practice; JCGM 100:2008 4.3.7 for the rectangle.
        """
        if not self.low <= reading <= self.high:
            raise OutsideRangeError(
                f"calibrated from {_shown(self.low)} to {_shown(self.high)} {self.unit}, and {_shown(reading)} "
                f"{self.unit} is outside"
            )
        below, above = self._neighbours(reading)
        raw = below.correction
        if above.indication != below.indication:
            share = (reading - below.indication) / (above.indication - below.indication)
            raw += (above.correction - below.correction) * min(max(share, Decimal(0)), Decimal(1))
        return Correction(
            raw.quantize(Decimal(1).scaleb(-self.places - 1), ROUND_HALF_EVEN), self._uncertainty(below, above)
        )

    def _neighbours(self, reading: Decimal) -> tuple[Station, Station]:
        below = [one for one in self.stations if one.indication <= reading] or [self.stations[0]]
        above = [one for one in self.stations if one.indication >= reading] or [self.stations[-1]]
        return below[-1], above[0]

    def _uncertainty(self, *neighbours: Station) -> Decimal | None:
        stated = [one.standard_uncertainty for one in neighbours if one.standard_uncertainty is not None]
        if len(stated) < len(neighbours):
            return None
        drift = (self.drift_allowance or Decimal(0)) / ROOT_THREE
        return (max(stated) ** 2 + drift**2).sqrt()


@dataclass(frozen=True, slots=True)
class StatedPoint:
    """A point with what the certificate says of its uncertainty: expanded, with its coverage factor, None if unsaid."""

    point: Point
    coverage_factor: Decimal | None = None

    @property
    def standard_uncertainty(self) -> Decimal | None:
        """U / k; None where either is not stated or not above zero: k is never assumed, and a U of 0 is none."""
        expanded, factor = self.point.uncertainty, self.coverage_factor
        if expanded is None or factor is None or expanded <= 0 or factor <= 0:
            return None
        return expanded / factor


def correction_table(
    points: Iterable[StatedPoint], unit: str, *, as_found: bool = False, drift_allowance: Decimal | None = None
) -> CorrectionTable | None:
    """Return the corrections a calibration states in `unit`, or None where it has no point in it.

    Of an adjusted instrument the as-left points hold; `as_found` asks for how it came in instead, which as-left points
    do not tell. Points with the same indication (a run up and a run down) are one station with their mean correction
    and the largest uncertainty; where one of them states none, the station states none.
    """
    in_unit = [one for one in points if one.point.unit == unit]
    left = [one for one in in_unit if one.point.as_left]
    found = [one for one in in_unit if not one.point.as_left]
    held = found if as_found else (left or found)
    if not held:
        return None
    ends = [value for one in held for value in (one.point.reference, one.point.indication)]
    return CorrectionTable(
        unit=unit,
        stations=tuple(_station(held, indication) for indication in sorted({one.point.indication for one in held})),
        low=min(ends),
        high=max(ends),
        places=max(_places(value) for value in ends),
        drift_allowance=drift_allowance,
    )


def _station(points: Sequence[StatedPoint], indication: Decimal) -> Station:
    here = [one for one in points if one.point.indication == indication]
    mean = sum((-one.point.error for one in here), Decimal(0)) / len(here)
    stated = [one.standard_uncertainty for one in here]
    largest = None if None in stated else max(stated, key=lambda one: inf if one is None else one)
    return Station(indication, mean, largest)


def _places(value: Decimal) -> int:
    exponent = value.as_tuple().exponent
    return max(-exponent, 0) if isinstance(exponent, int) else 0


def _shown(value: Decimal) -> str:
    return format(value, "f")

"""The straight line through points by least squares, with the uncertainty of what is read off it."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Context, Decimal, localcontext
from typing import Final

from calibration.domain.student_t import two_sided_factor

FEWEST: Final = 3
"""So many points scatter about a line; two only lie on it."""
_WIDE: Final = Context(prec=50)


@dataclass(frozen=True, slots=True)
class Line:
    """y = intercept + slope (x - origin), of equally weighted points.

    The uncertainties are standard ones, from the points' own scatter `scatter` (s) with `degrees` n - 2; they are None
    for two points, which scatter about nothing. `correlation` is that of intercept and slope.
    """

    origin: Decimal
    intercept: Decimal
    slope: Decimal
    points: int
    mean_x: Decimal
    spread_x: Decimal
    scatter: Decimal | None

    @property
    def degrees(self) -> int:
        """Degrees of freedom of the scatter."""
        return self.points - 2

    @property
    def intercept_uncertainty(self) -> Decimal | None:
        """u of the intercept, which is the line's value at the origin."""
        return self.uncertainty_at(self.origin)

    @property
    def slope_uncertainty(self) -> Decimal | None:
        """u of the slope."""
        return None if self.scatter is None else _WIDE.divide(self.scatter, _WIDE.sqrt(self.spread_x))

    @property
    def correlation(self) -> Decimal:
        """The correlation coefficient of intercept and slope, -1 to 1."""
        with localcontext(_WIDE):
            away = self.mean_x - self.origin
            return -away / (self.spread_x / self.points + away**2).sqrt()

    def at(self, x: Decimal) -> Decimal:
        """Return the line's value at x, unrounded."""
        return _WIDE.fma(self.slope, x - self.origin, self.intercept)

    def uncertainty_at(self, x: Decimal) -> Decimal | None:
        """Return the standard uncertainty of the line's own value at x."""
        return self._scattered(Decimal(0), x)

    def next_uncertainty_at(self, x: Decimal) -> Decimal | None:
        """Return the standard uncertainty with which one more point at x is foretold: line and scatter together."""
        return self._scattered(Decimal(1), x)

    def half_width(self, x: Decimal, probability: float) -> Decimal:
        """Return how far from the line one more point at x is found with a probability, by Student's t.

        Raises ValueError for a line of fewer than three points, which says nothing of that.
        """
        uncertainty = self.next_uncertainty_at(x)
        if uncertainty is None:
            raise ValueError(f"{FEWEST} points at least scatter about a line; there are {self.points}.")
        return _WIDE.multiply(Decimal(two_sided_factor(probability, self.degrees)), uncertainty)

    def _scattered(self, own: Decimal, x: Decimal) -> Decimal | None:
        if self.scatter is None:
            return None
        with localcontext(_WIDE):
            return self.scatter * (own + 1 / Decimal(self.points) + (x - self.mean_x) ** 2 / self.spread_x).sqrt()


def fitted(points: Sequence[tuple[Decimal, Decimal]], *, origin: Decimal = Decimal(0)) -> Line:
    """Return the line through (x, y) points that keeps the sum of squared distances in y smallest.

    Raises ValueError, with a sentence, for fewer than two points and for points that all stand at one x.
    Source: JCGM 100:2008 H.3.2.
    """
    if len(points) < 2:
        raise ValueError(f"A line needs at least two points; there {'is 1' if len(points) == 1 else 'are none'}.")
    with localcontext(_WIDE):
        count = len(points)
        mean_x, mean_y = (
            sum((x for x, _ in points), Decimal(0)) / count,
            sum((y for _, y in points), Decimal(0)) / count,
        )
        spread = sum(((x - mean_x) ** 2 for x, _ in points), Decimal(0))
        if not spread:
            raise ValueError("All points stand at the same place; no line can be drawn through them.")
        slope = sum(((x - mean_x) * (y - mean_y) for x, y in points), Decimal(0)) / spread
        left = sum(((y - mean_y - slope * (x - mean_x)) ** 2 for x, y in points), Decimal(0))
        scatter = (left / (count - 2)).sqrt() if count > 2 else None
        return Line(origin, mean_y + slope * (origin - mean_x), slope, count, mean_x, spread, scatter)

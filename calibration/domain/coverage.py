"""Coverage factors: by level and degrees of freedom, and for a combination that a rectangle or two govern."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Context, Decimal
from math import erf, sqrt
from statistics import NormalDist
from types import MappingProxyType
from typing import Final

from calibration.domain.student_t import two_sided_factor

FIGURES: Final = Context(prec=9)
"""How many digits a factor is kept with: more than any that is printed, fewer than a float is sure of."""


@dataclass(frozen=True, slots=True)
class Level:
    """A coverage probability by its usual name, and its factor where degrees of freedom are without end."""

    name: str
    probability: float
    normal_factor: Decimal


USUAL: Final = "95.45 %"
LEVELS: Mapping[str, Level] = MappingProxyType(
    {
        # The level called 95.45 % is that of two standard deviations of a normal distribution, so that k is 2 exactly.
        USUAL: Level(USUAL, erf(sqrt(2)), Decimal(2)),
        "95 %": Level("95 %", 0.95, FIGURES.create_decimal_from_float(NormalDist().inv_cdf(0.975))),
        "99 %": Level("99 %", 0.99, FIGURES.create_decimal_from_float(NormalDist().inv_cdf(0.995))),
    }
)


def level_factor(level: Level, degrees: int | None) -> Decimal:
    """Return k for a level: from the t distribution with so many degrees of freedom, None standing for without end.

    Source: JCGM 100:2008 G.3 and table G.2.
    """
    if degrees is None:
        return level.normal_factor
    return FIGURES.create_decimal_from_float(two_sided_factor(level.probability, degrees))


def rectangle_factor(level: Level) -> Decimal:
    """Return k = p sqrt 3 for a combination that one rectangular contribution governs (EA-4/02 S9)."""
    return FIGURES.create_decimal_from_float(level.probability * sqrt(3))


def trapezoid_factor(level: Level, edge: Decimal) -> Decimal:
    """Return k for a combination that two rectangular contributions govern, which is a trapezoid (EA-4/02 S10).

    `edge` is b = |a1 - a2| / (a1 + a2) of their half-widths, 0 (a triangle) to 1 (a rectangle); ValueError otherwise.
    k = (1 - sqrt((1 - p)(1 - b^2))) / sqrt((1 + b^2) / 6); where p ends on the flat top, k = p (1 + b) / 2 over the
    same root.
    """
    b, p = float(edge), level.probability
    if not 0 <= b <= 1:
        raise ValueError("the edge of a trapezoid lies between 0 and 1")
    spread = sqrt((1 + b * b) / 6)
    held = p * (1 + b) / 2 if p / (2 - p) < b else 1 - sqrt((1 - p) * (1 - b * b))
    return FIGURES.create_decimal_from_float(held / spread)

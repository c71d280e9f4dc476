"""An uncertainty budget: rows combined, effective degrees of freedom, coverage factor, expanded uncertainty."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Context, Decimal, localcontext
from typing import Final, Literal, get_args

from calibration.domain.contributions import WIDE, BudgetError, Contribution
from calibration.domain.coverage import LEVELS, USUAL, Level, level_factor, rectangle_factor, trapezoid_factor

Shape = Literal["t", "rectangle", "trapezoid"]
"""What the combination is taken for: normal or t; one rectangle that governs it; two rectangles that do."""

SHAPES: Final[tuple[Shape, ...]] = get_args(Shape)
FORMULAS: Final[dict[Shape, str]] = {
    "t": "k = t(p, ν), ν by Welch-Satterthwaite truncated down",
    "rectangle": "k = p √3, one rectangular contribution governs",
    "trapezoid": "k = (1 − √((1 − p)(1 − b²))) / √((1 + b²)/6), b = |a₁ − a₂| / (a₁ + a₂)",
}
_SURE: Final = Context(prec=20)
"""Degrees of freedom are truncated from so many digits, so that 8 reckoned as 7.999… with 50 stays 8."""
_MOST_DEGREES: Final = 10**6
"""With more degrees of freedom k does not differ from that of a normal distribution in any digit that is printed."""


@dataclass(frozen=True, slots=True)
class Share:
    """One row as it enters the result: u of the input, c u in the unit of the result, its part of u squared."""

    row: Contribution
    standard_uncertainty: Decimal
    contribution: Decimal
    part: Decimal


@dataclass(frozen=True, slots=True)
class Budget:
    """What the rows came to, all unrounded and in the unit of the result.

    `effective_degrees` are as reckoned, None where without end; `degrees` truncated down. `value` is the result's own
    estimate where the rows state theirs. `rest` is what all other rows together come to, over those that govern it;
    None where the combination is taken for normal or t.
    """

    shares: tuple[Share, ...]
    level: Level
    shape: Shape
    standard_uncertainty: Decimal
    effective_degrees: Decimal | None
    degrees: int | None
    coverage_factor: Decimal
    expanded_uncertainty: Decimal
    value: Decimal | None
    rest: Decimal | None = None


def reckoned_budget(rows: Sequence[Contribution], *, level: str = USUAL, shape: str = "t") -> Budget:
    """Return the budget of independent contributions.

    u = root of the sum of (c u)^2, nu = u^4 / sum((c u)^4 / nu_i), U = k u with k by level and nu truncated down;
    `shape` takes the factor of a rectangle or a trapezoid instead, where one or two rectangular rows govern.
    Raises BudgetError for no rows, an unknown level, a sum of nothing, and a shape the largest rows do not have.
    Source: JCGM 100:2008 5.1.2, G.4.1, G.3.2; EA-4/02 S9 and S10.
    """
    if not rows:
        raise BudgetError("A budget needs at least one row.")
    if level not in LEVELS:
        raise BudgetError(f"There is no coverage level {level[:20]!r}; there are {', '.join(LEVELS)}.", member="level")
    if shape not in SHAPES:
        raise BudgetError(f"There is no shape {shape[:20]!r}; there are {', '.join(SHAPES)}.", member="shape")
    with localcontext(WIDE):
        shares = _shares(rows)
        variance = sum((one.contribution**2 for one in shares), Decimal(0))
        uncertainty = variance.sqrt()
        effective = _effective_degrees(shares, variance)
        degrees = _truncated(effective)
        factor, rest = _factor(shares, LEVELS[level], shape, degrees)
        return Budget(
            shares=shares,
            level=LEVELS[level],
            shape=shape,
            standard_uncertainty=uncertainty,
            effective_degrees=effective,
            degrees=degrees,
            coverage_factor=factor,
            expanded_uncertainty=factor * uncertainty,
            value=_value(rows),
            rest=rest,
        )


def _shares(rows: Sequence[Contribution]) -> tuple[Share, ...]:
    each = [(row, row.standard_uncertainty) for row in rows]
    whole = sum(((row.sensitivity * u) ** 2 for row, u in each), Decimal(0))
    if not whole:
        raise BudgetError("All rows together come to nothing; a figure without any uncertainty is none.")
    return tuple(Share(row, u, row.sensitivity * u, (row.sensitivity * u) ** 2 / whole) for row, u in each)


def _effective_degrees(shares: Sequence[Share], variance: Decimal) -> Decimal | None:
    below = [one.contribution**4 / one.row.degrees for one in shares if one.row.degrees is not None]
    whole = sum(below, Decimal(0))
    return variance**2 / whole if whole else None


def _truncated(effective: Decimal | None) -> int | None:
    if effective is None or effective > _MOST_DEGREES:
        return None
    return int(_SURE.plus(effective).to_integral_value(ROUND_FLOOR))


def _factor(shares: Sequence[Share], level: Level, shape: Shape, degrees: int | None) -> tuple[Decimal, Decimal | None]:
    if shape == "t":
        return level_factor(level, degrees), None
    largest = sorted(shares, key=lambda one: one.part, reverse=True)[: 1 if shape == "rectangle" else 2]
    widths = [one.row.rectangle for one in largest]
    if len(widths) < 2 and shape == "trapezoid":
        raise BudgetError("A trapezoid comes of two rectangular rows; there is one row only.")
    for one, width in zip(largest, widths, strict=True):
        if not width:
            what = "comes to nothing" if width == 0 else f"is {one.row.distribution}"
            raise BudgetError(f"A {shape} is what rectangular rows come to that govern; {one.row.name} {what}.")
    governing = sum((one.part for one in largest), Decimal(0))
    rest = ((1 - governing) / governing).sqrt() if governing < 1 else Decimal(0)
    known = [width for width in widths if width is not None]
    if shape == "rectangle":
        return rectangle_factor(level), rest
    return trapezoid_factor(level, abs(known[0] - known[1]) / (known[0] + known[1])), rest


def _value(rows: Sequence[Contribution]) -> Decimal | None:
    """The estimate of a result that is the sum of its inputs, each times its sensitivity; None where none is stated."""
    stated = [row.sensitivity * row.estimate for row in rows if row.estimate is not None]
    return sum(stated, Decimal(0)) if stated else None

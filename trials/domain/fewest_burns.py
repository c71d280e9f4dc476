"""The search plan that is expected to burn the fewest specimens, by exact dynamic programming on the grid."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from itertools import pairwise
from math import erf, sqrt

from trials.domain.index_search import SearchRule, SearchState, LevelCount, search_state


@dataclass(frozen=True)
class Belief:
    """How likely it is that each level is the highest one passed.

    `shares[0]` is the chance that none passes, `shares[i + 1]` that level i of the grid is the highest; they add up to
    one within rounding.
    """

    shares: tuple[float, ...]


@dataclass(frozen=True)
class Burns:
    """Specimens burned at a level: `passing` where all pass, `failing` on average where one fails."""

    passing: float = 3.0
    failing: float = 3.0


@dataclass(frozen=True)
class BurnPlan:
    """The best next level in °C and the specimens it is expected to take to the end; level None at the end.

    `ladder` is what the standard's own steps are expected to take from the same belief and from where things stand.
    """

    level: Decimal | None
    expected: float
    ladder: float


def belief_of(grid: Sequence[Decimal], believed: Decimal | None, spread: Decimal | None) -> Belief:
    """Return the belief that a data sheet's index and its standard deviation (both °C) give, or nothing believed.

    The index is taken as normally distributed and each level gets the chance of the cell from it to the next one; the
    tails go to the ends. Nothing believed, or a spread of 0 or none, spreads the chance evenly over all outcomes or
    puts it all on the level believed. Raises ValueError for a spread below 0.
    """
    if spread is not None and spread < 0:
        raise ValueError(f"A spread of {spread} K is below zero.")
    if believed is None:
        return Belief(tuple(1 / (len(grid) + 1) for _ in range(len(grid) + 1)))
    if not spread:
        place = sum(level <= believed for level in grid)
        return Belief(tuple(float(number == place) for number in range(len(grid) + 1)))
    below = [_normal((float(level) - float(believed)) / float(spread)) for level in grid]
    edges = [0.0, *below, 1.0]
    return Belief(tuple(high - low for low, high in pairwise(edges)))


def fewest_burns(
    rule: SearchRule, belief: Belief, levels: dict[Decimal, LevelCount], burns: Burns, start: Decimal | None = None
) -> BurnPlan:
    """Return the plan that minimises the expected number of specimens from where a search stands.

    The grid's levels between the highest pass and the lowest fail are what is left; the plan may test any of them,
    while the standard's ladder (`search_state`, from `start`) steps by its rule, so that the plan never expects more.
    Exact: the optimum over all plans that test level by level. Levels begun and not decided count as untouched.
    """
    state = search_state(rule, levels, start)
    low, high = _interval(rule, state)
    best = _best_plan(belief.shares, burns)
    weight = _weight(belief.shares, low, high)
    if high - low <= 1:
        return BurnPlan(None, 0.0, 0.0)
    cost, pick = best(low, high)
    decided = {level: tested for level, tested in levels.items() if tested.state(rule) != "open"}
    ladder = _ladder_cost(rule, belief.shares, burns, decided, start)
    if weight <= 0:
        return BurnPlan(state.move.level if state.move else None, 0.0, 0.0)
    return BurnPlan(rule.grid[pick - 1], cost / weight, ladder / weight)


def _interval(rule: SearchRule, state: SearchState) -> tuple[int, int]:
    """Number of outcomes ruled out: the highest level passed is in low..high-1, as places of `Belief.shares`."""
    low = 0 if state.low is None else rule.grid.index(state.low) + 1
    high = len(rule.grid) + 1 if state.high is None else rule.grid.index(state.high) + 1
    return low, high


def _weight(shares: Sequence[float], low: int, high: int) -> float:
    return sum(shares[low:high])


def _best_plan(shares: tuple[float, ...], burns: Burns) -> Callable[[int, int], tuple[float, int]]:
    """Return the function (low, high) -> (unnormalised expected cost, level tested first), memoised for one belief.

    Outcome k (the highest level passed is the k-th, 0 = none) is possible for low <= k < high. Testing level m, with
    low < m < high, passes when k >= m. Cost(low, high) = min over m of the burns times the chance, plus both parts.
    """
    sums = [0.0]
    for share in shares:
        sums.append(sums[-1] + share)

    @cache
    def cost(low: int, high: int) -> tuple[float, int]:
        if high - low <= 1:
            return 0.0, 0
        return min(
            (
                burns.passing * (sums[high] - sums[level])
                + burns.failing * (sums[level] - sums[low])
                + cost(low, level)[0]
                + cost(level, high)[0],
                level,
            )
            for level in range(low + 1, high)
        )

    return cost


def _ladder_cost(
    rule: SearchRule,
    shares: tuple[float, ...],
    burns: Burns,
    levels: dict[Decimal, LevelCount],
    start: Decimal | None,
) -> float:
    """Unnormalised expected burns of the standard's own ladder, over every outcome still possible."""
    low, high = _interval(rule, search_state(rule, levels, start))
    total = 0.0
    for outcome in range(low, high):
        seen = dict(levels)
        while (move := search_state(rule, seen, start).move) is not None:
            passes = rule.grid.index(move.level) + 1 <= outcome
            total += shares[outcome] * (burns.passing if passes else burns.failing)
            seen[move.level] = LevelCount(rule.needed, 0) if passes else LevelCount(0, rule.needed)
    return total


def _normal(z: float) -> float:
    return 0.5 * (1 + erf(z / sqrt(2)))

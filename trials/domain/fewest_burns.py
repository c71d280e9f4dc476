"""The search plan that is expected to burn the fewest specimens, by exact dynamic programming on the grid."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from itertools import accumulate, pairwise
from math import erf, sqrt

from trials.domain.index_search import LevelCount, SearchRule, search_state

TIE = 1e-9
"""Plans that differ by less expect the same."""


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
    While no level is decided, `ladder_start` is the level of the standard's table from which its own steps are
    expected to take fewest, `ladder_from_there` how many; None and 0 afterwards.
    """

    level: Decimal | None
    expected: float
    ladder: float
    ladder_start: Decimal | None = None
    ladder_from_there: float = 0.0


def belief_of(grid: Sequence[Decimal], believed: Decimal | None, spread: Decimal | None) -> Belief:
    """Return the belief that a highest level passed (°C) with its standard deviation (K) gives, or nothing believed.

    `grid` has two levels at least, from low to high. What is believed is taken as normally distributed, and each level
    gets the chance of what lies nearer to it than to its neighbours; the tails go to the ends. Nothing believed spreads
    the chance evenly over all outcomes; a spread of 0 or none puts it all on the level nearest to the one believed.
    Raises ValueError for a spread below 0.
    """
    if spread is not None and spread < 0:
        raise ValueError(f"A spread of {spread} K is below zero.")
    if believed is None:
        return Belief((1 / (len(grid) + 1),) * (len(grid) + 1))
    below = grid[0] - (grid[1] - grid[0])
    edges = [(low + high) / 2 for low, high in pairwise((below, *grid))]
    if not spread:
        place = sum(edge < believed for edge in edges)
        return Belief(tuple(float(number == place) for number in range(len(grid) + 1)))
    chances = [0.0, *(_normal(float((edge - believed) / spread)) for edge in edges), 1.0]
    return Belief(tuple(high - low for low, high in pairwise(chances)))


def fewest_burns(
    rule: SearchRule,
    belief: Belief,
    levels: Mapping[Decimal, LevelCount],
    burns: Burns,
    start: Decimal | None = None,
) -> BurnPlan:
    """Return the plan that minimises the expected number of specimens from where a search stands.

    Exact: the optimum over all plans that begin at a level of the standard's table, or at the start agreed, and then
    test any level of the grid between the highest pass and the lowest fail. The standard's ladder (`search_state`, from
    `start`) is one of them, so the plan never expects more; where both expect the same, the ladder's level is taken.
    Levels begun and not decided count as untouched. Where what was found contradicts the belief, all that is left is
    equally likely.
    """
    decided = {level: count for level, count in levels.items() if count.state(rule) != "open"}
    state = search_state(rule, decided, start)
    low, high = _interval(rule, state.low, state.high)
    if high - low <= 1 or state.move is None:
        return BurnPlan(None, 0.0, 0.0)
    possible = sum(belief.shares[low:high]) > 0
    shares = belief.shares if possible else (1.0,) * len(belief.shares)
    weight = sum(shares[low:high])
    untouched = state.low is None and state.high is None
    cost_at = _optimum(shares, burns)
    own = _place(rule, state.move.level)
    allowed = [n for n in range(low + 1, high) if not untouched or n == own or rule.grid[n - 1] in rule.coarse]
    best = min(cost_at(low, high, n) for n in allowed)
    same = [n for n in allowed if cost_at(low, high, n) <= best + TIE * weight]
    pick = own if own in same else same[0]
    ladder = _ladder(rule, shares, burns)
    expected = ladder(state.low, state.high, state.move.level) / weight
    plan = BurnPlan(rule.grid[pick - 1], best / weight, expected)
    return plan if not untouched else _with_start(plan, {one: ladder(None, None, one) / weight for one in rule.coarse})


def _with_start(plan: BurnPlan, ladders: Mapping[Decimal, float]) -> BurnPlan:
    least = min(ladders.values())
    start = next(one for one, expected in ladders.items() if expected <= least + TIE)
    return BurnPlan(plan.level, plan.expected, plan.ladder, start, ladders[start])


def _place(rule: SearchRule, level: Decimal) -> int:
    """The number of levels of the grid up to `level`: outcomes from this place on pass it."""
    return sum(one <= level for one in rule.grid)


def _interval(rule: SearchRule, low: Decimal | None, high: Decimal | None) -> tuple[int, int]:
    """The outcomes still possible, as places of `Belief.shares`: from the first up to, not with, the second."""
    first = 0 if low is None else _place(rule, low)
    return first, 1 + sum(high is None or one < high for one in rule.grid)


def _optimum(shares: Sequence[float], burns: Burns) -> Callable[[int, int, int], float]:
    """Return the function (low, high, n) -> least unnormalised cost when level n is tested first, for one belief.

    Outcome k (the highest level passed is the k-th, 0 = none) is possible for low <= k < high. Testing level n, with
    low < n < high, passes when k >= n. The cost is that of the level times the chances, plus both parts at their best.
    """
    sums = [0.0, *accumulate(shares)]

    @cache
    def cost(low: int, high: int) -> float:
        return min((cost_at(low, high, n) for n in range(low + 1, high)), default=0.0)

    def cost_at(low: int, high: int, n: int) -> float:
        here = burns.passing * (sums[high] - sums[n]) + burns.failing * (sums[n] - sums[low])
        return here + cost(low, n) + cost(n, high)

    return cost_at


def _ladder(
    rule: SearchRule, shares: Sequence[float], burns: Burns
) -> Callable[[Decimal | None, Decimal | None, Decimal], float]:
    """Return the function (passed, failed, next level) -> unnormalised cost of the standard's own steps.

    The steps depend on the highest level passed, the lowest failed and where they begin, and on nothing else.
    """
    sums = [0.0, *accumulate(shares)]
    passed, failed = LevelCount(passed=rule.needed), LevelCount(failed=rule.needed)

    def cost(low: Decimal | None, high: Decimal | None, level: Decimal) -> float:
        first, last = _interval(rule, low, high)
        split = min(max(_place(rule, level), first), last)
        here = burns.passing * (sums[last] - sums[split]) + burns.failing * (sums[split] - sums[first])
        return here + further(level, high) + further(low, level)

    @cache
    def further(low: Decimal | None, high: Decimal | None) -> float:
        found = {level: count for level, count in ((low, passed), (high, failed)) if level is not None}
        move = search_state(rule, found).move
        return 0.0 if move is None else cost(low, high, move.level)

    return cost


def _normal(z: float) -> float:
    return 0.5 * (1 + erf(z / sqrt(2)))

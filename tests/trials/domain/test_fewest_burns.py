"""The plan with the fewest burns, against brute force over every plan on a small grid, and against the ladder."""

from decimal import Decimal
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.trials.domain.test_index_search import COARSE, GRID, ROUGH, RULE, D
from trials.domain.fewest_burns import Belief, Burns, belief_of, fewest_burns
from trials.domain.index_search import LevelCount, SearchRule

SMALL = SearchRule((D(650), D(675), D(700), D(725)), (D(650), D(700)), D(650))


def brute_force(rule: SearchRule, shares: tuple[float, ...], burns: Burns) -> float:
    """The least expected number of specimens, over every decision tree on the outcomes, written out another way.

    A tree begins at a level of the standard's table and goes on at any level of the grid.
    """
    every = frozenset(range(len(shares)))

    @cache
    def least(possible: frozenset[int]) -> float:
        if len(possible) == 1:
            return 0.0
        weight = sum(shares[k] for k in possible)
        costs = []
        for level in range(1, len(shares)):
            if possible == every and rule.grid[level - 1] not in rule.coarse:
                continue
            passes = frozenset(k for k in possible if k >= level)
            if not passes or passes == possible:
                continue
            chance = sum(shares[k] for k in passes) / weight if weight else 0.5
            fails = possible - passes
            costs.append(chance * (burns.passing + least(passes)) + (1 - chance) * (burns.failing + least(fails)))
        return min(costs)

    return least(every)


@pytest.mark.parametrize("rule", [SMALL, SearchRule(SMALL.grid, SMALL.grid, D(650))])
@given(st.lists(st.integers(1, 50), min_size=5, max_size=5), st.sampled_from((Burns(3, 1), Burns(3, 3), Burns(3, 2))))
def test_it_is_the_optimum_of_all_plans(rule: SearchRule, weights: list[int], burns: Burns) -> None:
    shares = tuple(weight / sum(weights) for weight in weights)

    plan = fewest_burns(rule, Belief(shares), {}, burns)
    assert plan.expected == pytest.approx(brute_force(rule, shares, burns))


@given(
    st.none() | st.integers(480, 980).map(Decimal),
    st.none() | st.integers(0, 120).map(Decimal),
    st.sampled_from((Burns(3, 1), Burns(3, 3))),
    st.sampled_from((None, D(650), D(850), D(960), D(825))),
)
def test_it_never_expects_more_than_the_ladder_from_the_same_belief(
    believed: Decimal | None, spread: Decimal | None, burns: Burns, start: Decimal | None
) -> None:
    plan = fewest_burns(RULE, belief_of(GRID, believed, spread), {}, burns, start)
    assert plan.expected <= plan.ladder + 1e-9


def test_nothing_believed_by_hand() -> None:
    """Five outcomes, each 1/5. 700 first: 2/5 x 3 + 3/5 x 1 = 1.8; above it 725: 0.8; below it 675: 1.0, 650: 0.8."""
    plan = fewest_burns(SMALL, belief_of(SMALL.grid, None, None), {}, Burns(3, 1))
    assert plan.level == D(700)
    assert plan.expected == pytest.approx(4.4)


@pytest.mark.parametrize(("believed", "start"), [(850, 850), (775, 800), (960, 960)])
def test_a_sure_belief_needs_one_pass_and_one_fail(believed: int, start: int) -> None:
    """The start is a level of the table; what is next to the level believed is tested first where that is none."""
    plan = fewest_burns(RULE, belief_of(GRID, D(believed), D(0)), {}, Burns(3, 1))
    assert (plan.level, plan.expected) == (D(start), 3.0 if believed == 960 else 4.0)


def test_the_plan_starts_on_the_table_and_says_where_the_standards_own_steps_start_best() -> None:
    belief = belief_of(GRID, D(775), D(20))
    plan = fewest_burns(RULE, belief, {}, Burns(3, 1))
    starts = {start: fewest_burns(RULE, belief, {}, Burns(3, 1), start).ladder for start in COARSE}
    assert plan.level in COARSE
    assert plan.ladder_start == min(COARSE, key=lambda start: (round(starts[start], 9), start))
    assert plan.ladder_from_there == pytest.approx(min(starts.values()))
    assert plan.expected <= plan.ladder_from_there <= plan.ladder


def test_a_start_agreed_off_the_table_may_be_begun_at() -> None:
    plan = fewest_burns(RULE, belief_of(GRID, D(812), D(72)), {}, Burns(3, 3), D(825))
    assert plan.level == D(825)
    assert plan.expected <= plan.ladder < plan.ladder_from_there


def test_after_the_first_level_there_is_no_start_to_choose() -> None:
    plan = fewest_burns(RULE, belief_of(GRID, None, None), {D(750): LevelCount(3)}, Burns(3, 1))
    assert (plan.ladder_start, plan.ladder_from_there) == (None, 0.0)


def test_where_nothing_is_gained_the_standards_own_level_is_taken() -> None:
    """650 or 750, equally likely: to begin at 700 or at 750 expects six specimens either way, by hand."""
    grid = (D(650), D(700), D(750))
    for start in (D(700), D(750)):
        plan = fewest_burns(SearchRule(grid, grid, start), Belief((0.0, 0.5, 0.0, 0.5)), {}, Burns(3, 3))
        assert (plan.level, round(plan.expected, 9)) == (start, 6.0)


def test_a_start_off_the_grid_is_planned_on_from() -> None:
    """Without refinement 775 °C is no level of the grid: passed there, 800 °C alone is left above it."""
    levels = {D(775): LevelCount(3), D(850): LevelCount(0, 1)}
    plan = fewest_burns(ROUGH, belief_of(COARSE, None, None), levels, Burns())
    assert (plan.level, round(plan.expected, 9), round(plan.ladder, 9)) == (D(800), 3.0, 3.0)


def test_what_contradicts_the_belief_leaves_all_else_equally_likely() -> None:
    levels = {D(600): LevelCount(0, 1), D(550): LevelCount(3)}
    plan = fewest_burns(RULE, belief_of(GRID, D(850), D(0)), levels, Burns(3, 1))
    assert (plan.level, plan.expected) == (D(575), 2.0)


def test_it_goes_on_from_where_the_search_stands() -> None:
    levels = {D(750): LevelCount(3), D(800): LevelCount(0, 1)}
    plan = fewest_burns(RULE, belief_of(GRID, None, None), levels, Burns(3, 1))
    assert plan.level == D(775)
    assert [plan.expected, plan.ladder] == pytest.approx([2, 2])


def test_at_the_end_nothing_is_planned() -> None:
    levels = {D(750): LevelCount(3), D(775): LevelCount(0, 1)}
    assert fewest_burns(RULE, belief_of(GRID, None, None), levels, Burns()).level is None


@pytest.mark.parametrize(("believed", "level"), [(850, 850), (861, 850), (863, 875), (400, None), (1200, 960)])
def test_a_narrow_belief_is_the_level_nearest_to_it(believed: int, level: int | None) -> None:
    place = 0 if level is None else GRID.index(D(level)) + 1
    for spread in (D(0), D("0.1"), None):
        assert belief_of(GRID, D(believed), spread).shares[place] == pytest.approx(1)


def test_a_belief_is_the_normal_distribution_over_cells() -> None:
    """A cell of one standard deviation either side holds 68.27 % (tables of the normal distribution)."""
    assert belief_of(GRID, D(750), D("12.5")).shares[GRID.index(D(750)) + 1] == pytest.approx(0.6827, abs=5e-5)


@given(st.none() | st.integers(300, 1200).map(Decimal), st.none() | st.integers(0, 300).map(Decimal))
def test_a_belief_adds_up_to_one(believed: Decimal | None, spread: Decimal | None) -> None:
    assert sum(belief_of(GRID, believed, spread).shares) == pytest.approx(1)


def test_a_negative_spread_is_refused() -> None:
    with pytest.raises(ValueError, match="below zero"):
        belief_of(GRID, D(850), D(-1))

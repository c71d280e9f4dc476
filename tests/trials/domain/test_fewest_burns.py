"""The plan with the fewest burns, against brute force over every plan on a small grid, and against the ladder."""

from decimal import Decimal
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.trials.domain.test_index_search import GRID, RULE, D
from trials.domain.fewest_burns import Belief, Burns, belief_of, fewest_burns
from trials.domain.index_search import LevelCount, SearchRule

SMALL = SearchRule((D(650), D(675), D(700), D(725)), (D(650), D(700)), D(650))


def brute_force(shares: tuple[float, ...], burns: Burns) -> float:
    """The least expected number of specimens, over every decision tree on the outcomes, written out another way."""

    @cache
    def least(possible: frozenset[int]) -> float:
        if len(possible) == 1:
            return 0.0
        weight = sum(shares[k] for k in possible)
        costs = []
        for level in range(1, len(shares)):
            passes = frozenset(k for k in possible if k >= level)
            if not passes or passes == possible:
                continue
            chance = sum(shares[k] for k in passes) / weight if weight else 0.5
            fails = possible - passes
            costs.append(chance * (burns.passing + least(passes)) + (1 - chance) * (burns.failing + least(fails)))
        return min(costs)

    return least(frozenset(range(len(shares))))


@given(st.lists(st.integers(1, 50), min_size=5, max_size=5), st.sampled_from((Burns(3, 1), Burns(3, 3), Burns(3, 2))))
def test_it_is_the_optimum_of_all_plans(weights: list[int], burns: Burns) -> None:
    shares = tuple(weight / sum(weights) for weight in weights)

    plan = fewest_burns(SMALL, Belief(shares), {}, burns)
    assert plan.expected == pytest.approx(brute_force(shares, burns))


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


def test_a_sure_belief_needs_one_pass_and_one_fail() -> None:
    plan = fewest_burns(RULE, belief_of(GRID, D(850), D(0)), {}, Burns(3, 1))
    assert (plan.level, plan.expected) == (D(850), 4.0)


def test_it_goes_on_from_where_the_search_stands() -> None:
    levels = {D(750): LevelCount(3), D(800): LevelCount(0, 1)}
    plan = fewest_burns(RULE, belief_of(GRID, None, None), levels, Burns(3, 1))
    assert plan.level == D(775)
    assert [plan.expected, plan.ladder] == pytest.approx([2, 2])


def test_at_the_end_nothing_is_planned() -> None:
    levels = {D(750): LevelCount(3), D(775): LevelCount(0, 1)}
    assert fewest_burns(RULE, belief_of(GRID, None, None), levels, Burns()).level is None


@given(st.none() | st.integers(300, 1200).map(Decimal), st.none() | st.integers(0, 300).map(Decimal))
def test_a_belief_adds_up_to_one(believed: Decimal | None, spread: Decimal | None) -> None:
    assert sum(belief_of(GRID, believed, spread).shares) == pytest.approx(1)


def test_a_negative_spread_is_refused() -> None:
    with pytest.raises(ValueError, match="below zero"):
        belief_of(GRID, D(850), D(-1))

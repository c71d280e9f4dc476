"""What a plan of fewest burns expects is what walking it takes; so is what it says of the standard's own ladder.

Steps of the ladder: IEC 60695-2-13:2010, 8.3 (public text of a national adoption). Beliefs are any shares at all, not
only those of a data sheet.
"""

from collections.abc import Callable
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.trials.domain.test_index_search import GRID, RULE
from trials.domain.fewest_burns import Belief, Burns, fewest_burns
from trials.domain.index_search import LevelCount, search_state

WEIGHTS = st.lists(st.integers(0, 20), min_size=20, max_size=20).filter(any)
BURNS = st.sampled_from([Burns(3, 3), Burns(3, 2), Burns(3, 1)])
STARTS = st.sampled_from([None, *GRID])
CLOSE = 1e-9

type Levels = dict[Decimal, LevelCount]


def belief_from(weights: list[int]) -> Belief:
    return Belief(tuple(weight / sum(weights) for weight in weights))


def walked(belief: Belief, burns: Burns, level_after: Callable[[Levels], Decimal | None]) -> float:
    """Expected specimens when every level that is named is tested, outcome by outcome: the first k levels pass."""
    total = 0.0
    for outcome, share in enumerate(belief.shares):
        levels: Levels = {}
        while share > 0 and (level := level_after(levels)) is not None:
            assert level not in levels
            passes = GRID.index(level) < outcome
            total += share * (burns.passing if passes else burns.failing)
            levels[level] = LevelCount(passed=3) if passes else LevelCount(failed=1)
    return total


@settings(max_examples=40, deadline=None)
@given(WEIGHTS, BURNS, STARTS)
def test_whatever_is_believed_the_plan_never_expects_more_than_the_ladder(
    weights: list[int], burns: Burns, start: Decimal | None
) -> None:
    found = fewest_burns(RULE, belief_from(weights), {}, burns, start)
    assert found.expected <= found.ladder + CLOSE


@settings(max_examples=15, deadline=None)
@given(WEIGHTS, BURNS)
def test_following_the_plan_takes_what_it_expects(weights: list[int], burns: Burns) -> None:
    belief = belief_from(weights)
    took = walked(belief, burns, lambda levels: fewest_burns(RULE, belief, levels, burns).level)
    assert fewest_burns(RULE, belief, {}, burns).expected == pytest.approx(took, abs=CLOSE)


@settings(max_examples=15, deadline=None)
@given(WEIGHTS, BURNS, STARTS)
def test_following_the_ladder_takes_what_is_said_of_it(weights: list[int], burns: Burns, start: Decimal | None) -> None:
    belief = belief_from(weights)

    def next_level(levels: Levels) -> Decimal | None:
        move = search_state(RULE, levels, start).move
        return None if move is None else move.level

    said = fewest_burns(RULE, belief, {}, burns, start).ladder
    assert said == pytest.approx(walked(belief, burns, next_level), abs=CLOSE)

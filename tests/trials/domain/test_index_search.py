"""The search for a glow-wire index. Rule: GOST IEC 60695-2-13-2012, 8.3, public text; the ladders are made from it."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trials.domain.index_search import LevelCount, SearchRule, search_state, start_flag

D = Decimal
GRID = tuple(D(level) for level in (*range(500, 901, 25), 930, 960))
COARSE = tuple(D(level) for level in (*range(500, 901, 50), 960))
RULE = SearchRule(GRID, COARSE, D(650))
ROUGH = SearchRule(COARSE, COARSE, D(650))


def searched(start: Decimal | None, highest: Decimal, rule: SearchRule = RULE) -> tuple[list[str], Decimal | None]:
    """The levels a search goes through when plates pass up to `highest`, and the highest one passed at its end."""
    levels: dict[Decimal, LevelCount] = {}
    steps = []
    while (move := (state := search_state(rule, levels, start)).move) is not None:
        passes = move.level <= highest
        levels[move.level] = LevelCount(passed=rule.needed) if passes else LevelCount(failed=1)
        steps.append(f"{move.level}{'P' if passes else 'F'}")
    return steps, state.low


@pytest.mark.parametrize(
    ("start", "highest", "steps", "low"),
    [
        (650, 825, "650P 700P 750P 800P 850F 825P", 825),
        (850, 825, "850F 800P 825P", 825),
        (850, 775, "850F 800F 750P 775P", 775),
        (750, 750, "750P 800F 775F", 750),
        (960, 900, "960F 900P 930F", 900),
        (960, 930, "960F 900P 930P", 930),
        (650, 960, "650P 700P 750P 800P 850P 900P 960P", 960),
        (650, 499, "650F 600F 550F 500F", None),
    ],
)
def test_the_ladders_of_the_rule(start: int, highest: int, steps: str, low: int | None) -> None:
    assert searched(D(start), D(highest)) == (steps.split(), None if low is None else D(low))


def test_without_a_start_agreed_the_search_begins_at_the_usual_one() -> None:
    assert searched(None, D(650))[0] == ["650P", "700F", "675F"]


def test_without_refinement_the_search_ends_between_two_levels_of_the_table() -> None:
    assert searched(D(850), D(875), ROUGH) == (["850P", "900F"], D(850))


@pytest.mark.parametrize(("start", "flagged"), [(D(850), False), (D(825), True), (D(960), False), (None, False)])
def test_a_start_off_the_table_is_a_recorded_deviation(start: Decimal | None, flagged: bool) -> None:
    assert bool(start_flag(RULE, start)) is flagged


def test_a_start_off_the_table_steps_by_50_k() -> None:
    assert searched(D(825), D(900))[0] == ["825P", "875P", "930F", "900P"]


def test_a_wide_gap_is_closed_from_the_pass_upwards() -> None:
    move = search_state(RULE, {D(600): LevelCount(3), D(900): LevelCount(0, 1)}).move
    assert move is not None
    assert (move.level, move.reason) == (
        D(650), "600 °C passed and 900 °C failed, 300 K apart; the gap is closed from the pass upwards.",
    )  # fmt: skip


def test_a_pass_above_a_fail_is_flagged_and_does_not_count() -> None:
    state = search_state(RULE, {D(800): LevelCount(3), D(750): LevelCount(2, 1)})
    assert (state.low, state.move and state.move.level) == (None, D(700))
    assert state.flags == ("Passed at 800 °C although 750 °C failed: the highest pass below the lowest fail counts.",)


def test_a_level_tested_twice_with_any_failing_specimen_is_failed() -> None:
    assert LevelCount(3, 1).state(RULE) == "failed"


@pytest.mark.parametrize(("ends", "state", "missing"), [(True, "failed", 0), (False, "open", 2)])
def test_whether_the_first_failing_specimen_ends_a_level(ends: bool, state: str, missing: int) -> None:
    rule = SearchRule(GRID, COARSE, D(650), first_fail_ends=ends)
    assert (LevelCount(0, 1).state(rule), LevelCount(0, 1).missing(rule)) == (state, missing)


def test_a_level_begun_is_finished_first() -> None:
    state = search_state(RULE, {D(650): LevelCount(3), D(700): LevelCount(1)})
    assert state.move is not None
    assert (state.move.level, state.move.specimens, state.move.reason) == (
        D(700), 2, "1 of 3 passed at 700 °C so far.",
    )  # fmt: skip


@given(st.sampled_from(GRID), st.sampled_from((D(400), *GRID)), st.sampled_from((RULE, ROUGH)))
def test_every_search_ends_within_its_grid_at_the_truth(start: Decimal, highest: Decimal, rule: SearchRule) -> None:
    if start not in rule.grid:
        start = D(650)
    steps, low = searched(start, highest, rule)
    assert len(steps) <= len(rule.grid)
    assert low == max((level for level in rule.grid if level <= highest), default=None)


@given(
    st.dictionaries(st.sampled_from(GRID), st.builds(LevelCount, st.integers(0, 4), st.integers(0, 2)), max_size=8),
    st.sampled_from(GRID),
)
def test_a_failing_specimen_never_raises_the_index(levels: dict[Decimal, LevelCount], at: Decimal) -> None:
    before = search_state(RULE, levels).low
    worse = levels.get(at, LevelCount())
    after = search_state(RULE, levels | {at: LevelCount(worse.passed, worse.failed + 1)}).low
    assert after is None or (before is not None and after <= before)

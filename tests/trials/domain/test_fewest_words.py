"""The plan with the fewest specimens in words, beside the standard's own steps, which stay the rule."""

from decimal import Decimal

import pytest

from trials.domain.fewest_words import fewest_plan, fewest_sentence
from trials.domain.index_search import LevelCount
from trials.domain.line_result import Asked, LineResult, LineTrial, NextStep
from trials.domain.methods.registry import method_edition
from trials.domain.parameter_changes import changed_edition

D = Decimal
GWFI = method_edition("glow-wire-flammability-index@2021")
GWIT = method_edition("glow-wire-ignition-temperature@2021")
NO_TRIALS: list[LineTrial] = []


def sentence(believed: str | None, spread: str | None, start: str | None = None) -> str:
    known, wide = (None if text is None else D(text) for text in (believed, spread))
    begin = None if start is None else D(start)
    plan = fewest_plan(GWIT, {}, known, wide, begin)
    assert plan is not None
    return fewest_sentence(GWIT, GWIT.judge_line(Asked(None, start=begin), NO_TRIALS), plan, known, wide)


def test_a_belief_is_an_index_and_its_level_the_one_that_passed() -> None:
    """A GWIT of 775 says "passed at 750"; checked by three that pass there and one that fails at 775: four plates."""
    plan = fewest_plan(GWIT, {}, D(775), D(0), D(750))
    assert plan is not None
    assert (plan.level, plan.expected) == (D(750), 4.0)
    index = fewest_plan(GWFI, {}, D(750), D(0), D(750))
    assert index is not None
    assert (index.level, index.expected) == (D(750), 4.0)


def test_both_ways_stand_beside_each_other() -> None:
    assert sentence("775", "0") == (
        "Believing 775 °C, a search that went on at 750 °C would be expected to take 4.0 more specimens, the "
        "standard's own steps 11.0. Begun at 750 °C, those would take 5.0. The standard's step stays what the bench "
        "proposes."
    )


def test_the_same_level_is_said_so() -> None:
    assert sentence("775", "0", "750") == (
        "Believing 775 °C, a search with the fewest specimens goes on at the same level; 4.0 more specimens are "
        "expected that way, 5.0 by the standard's own steps."
    )


def test_where_nothing_is_gained_that_is_said() -> None:
    levels = {D(750): LevelCount(3), D(800): LevelCount(0, 1)}
    plan = fewest_plan(GWIT, levels, None, None, D(750))
    assert plan is not None
    result = LineResult("more specimens needed", "", next=NextStep(D(775), 3, ""))
    assert fewest_sentence(GWIT, result, plan, None, None) == (
        "With nothing believed before, 2.0 more specimens are expected by the standard's own steps; no other way takes "
        "fewer."
    )


def test_a_failing_level_costs_one_plate_where_the_first_failure_ends_it() -> None:
    whole = changed_edition(GWIT, {"first_fail_ends": {"value": False}})
    plans = [fewest_plan(one, {}, D(775), D(0), D(750)) for one in (GWIT, whole)]
    assert [plan and plan.expected for plan in plans] == [4.0, 6.0]


def test_a_proof_method_has_no_plan_and_an_ended_search_none_either() -> None:
    assert fewest_plan(method_edition("glow-wire-end-product@2021"), {}, D(850), D(25), None) is None
    ended = {D(825): LevelCount(3, 0), D(850): LevelCount(0, 1)}
    assert fewest_plan(GWFI, ended, D(850), D(25), None) is None


def test_what_is_believed_stands_first_in_the_sentence() -> None:
    assert sentence("850", "50").startswith("Believing 850 °C, give or take 50 K, a search ")
    assert sentence(None, None).startswith("With nothing believed before, a search ")


@pytest.mark.parametrize("believed", [None, D(600), D(850), D(960)])
@pytest.mark.parametrize("levels", [{}, {D(650): LevelCount(3, 0)}, {D(850): LevelCount(1, 1)}])
def test_the_plan_never_expects_more_than_the_standards_steps(
    believed: Decimal | None, levels: dict[Decimal, LevelCount]
) -> None:
    plan = fewest_plan(GWFI, levels, believed, D(40), None)
    assert plan is not None
    assert plan.expected <= plan.ladder + 1e-9

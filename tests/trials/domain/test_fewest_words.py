"""The plan with the fewest specimens in words, beside the standard's own steps."""

from decimal import Decimal

import pytest

from trials.domain.fewest_words import fewest_plan, fewest_sentence
from trials.domain.index_search import LevelCount
from trials.domain.line_result import Asked
from trials.domain.methods.registry import method_edition

D = Decimal
GWFI = method_edition("glow-wire-flammability-index@2021")
GWIT = method_edition("glow-wire-ignition-temperature@2021")


def test_an_ignition_temperature_is_believed_one_step_above_the_level_passed() -> None:
    """GWIT 775 means passed at 750 (IEC 60695-2-13, +25 K): three pass at 750, and the first one at 775 fails."""
    plan = fewest_plan(GWIT, {}, D(775), D(0), None)
    assert plan is not None
    assert plan.level in (D(750), D(775))
    assert plan.expected == pytest.approx(4)


def test_a_proof_method_has_no_plan_and_an_ended_search_none_either() -> None:
    assert fewest_plan(method_edition("glow-wire-end-product@2021"), {}, D(850), D(25), None) is None
    ended = {D(825): LevelCount(3, 0), D(850): LevelCount(0, 1)}
    assert fewest_plan(GWFI, ended, D(850), D(25), None) is None


def test_the_sentence_says_what_is_believed_and_that_the_standard_s_step_stays() -> None:
    result = GWFI.judge_line(Asked(None), [])
    plan = fewest_plan(GWFI, {}, D(850), D(50), None)
    assert plan is not None
    assert fewest_sentence(GWFI, result, plan, D(850), D(50)) == (
        f"Believing 850 °C, give or take 50 K, a search that went on at {plan.level} °C would be expected to take "
        f"{plan.expected:.1f} more specimens, the standard's own steps {plan.ladder:.1f}. Begun at {plan.ladder_start} "
        f"°C, those would take {plan.ladder_from_there:.1f}. The standard's step stays what the bench proposes."
    )
    assert fewest_sentence(GWFI, result, plan, None, None).startswith("With nothing believed before, ")


def test_the_plan_never_expects_more_than_the_standard_s_steps() -> None:
    for believed in (None, D(600), D(850), D(960)):
        for levels in ({}, {D(650): LevelCount(3, 0)}, {D(850): LevelCount(1, 1)}):
            plan = fewest_plan(GWFI, levels, believed, D(40), None)
            assert plan is not None
            assert plan.expected <= plan.ladder + 1e-9

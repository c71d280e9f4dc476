"""A laboratory's own figures: read strictly, laid over one another, refused where the edition cannot take them."""

from decimal import Decimal
from typing import Any

import pytest

from trials.domain.methods.registry import method_edition
from trials.domain.parameter_changes import (
    Change,
    ParameterChangeError,
    changed_edition,
    changes_from_json,
    changes_text,
    changes_to_json,
    joined_changes,
    true_changes,
)

D = Decimal
EDITION = method_edition("glow-wire-end-product@2021")
STORED: dict[str, dict[str, Any]] = {
    "force_n": {"tolerance": "0.05", "value": "0.90"},
    "judge_scorching": {"value": True},
}


def test_stored_changes_come_back_as_they_were():
    changes = changes_from_json(EDITION, STORED)
    assert changes == {
        "force_n": {"tolerance": D("0.05"), "value": D("0.90")},
        "judge_scorching": {"value": True},
    }
    assert changes_to_json(changes) == STORED


def test_the_canonical_text_knows_no_order():
    assert changes_text(STORED) == changes_text(dict(reversed(list(STORED.items()))))
    assert changes_text(STORED) == '{"force_n":{"tolerance":"0.05","value":"0.90"},"judge_scorching":{"value":true}}'


def test_the_figures_judge_and_say_what_they_stand_in_place_of():
    force = changed_edition(EDITION, changes_from_json(EDITION, STORED)).parameter("force_n")
    assert (force.limit_text, force.certainty) == ("0.90 ± 0.05 N", "common practice")
    assert force.source.startswith("own figure in place of 0.95 ± 0.10 N (")


@pytest.mark.parametrize(
    ("stored", "sentence"),
    [
        ({"colour": {"value": "red"}}, "colour: glow-wire-end-product@2021 has no parameter of that name."),
        ({"force_n": {"lowest": "1"}}, "force_n.lowest: only value, low, high, tolerance can be changed."),
        ({"force_n": {"value": "much"}}, "force_n.value: 'much' is not a number."),
        ({"force_n": {"value": 0.9}}, "force_n.value: 0.9 is not a stored figure."),
    ],
)
def test_what_is_stored_is_read_strictly(stored, sentence):
    with pytest.raises(ParameterChangeError) as refusal:
        changes_from_json(EDITION, stored)
    assert str(refusal.value) == sentence


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"force_n": {"tolerance": D("-0.1")}}, "force_n.tolerance: a tolerance is not below zero."),
        ({"tissue_g_m2": {"low": D(31)}}, "tissue_g_m2: the lowest value, 31, is above the highest."),
        ({"specimens_needed": {"value": D("1.5")}}, "specimens_needed.value: a whole number is needed, not 1.5."),
        ({"force_n": {"value": D("NaN")}}, "force_n.value: NaN is not a number that can be judged."),
        ({"board_mm": {"low": None}}, "board_mm: glow-wire-end-product@2021 cannot do without a limit here."),
        ({"force_n": {"value": True}}, "force_n.value: True is not of the kind this parameter holds."),
        ({"limit_counts_from": {"value": "noon"}}, "limit_counts_from: 'noon' is none of measured, nominal."),
    ],
)
def test_impossible_figures_are_refused(changes, sentence):
    with pytest.raises(ParameterChangeError) as refusal:
        changed_edition(EDITION, changes)
    assert str(refusal.value) == sentence


def test_a_later_layer_wins_member_by_member():
    laboratory: dict[str, Change] = {
        "force_n": {"value": D("0.90"), "tolerance": D("0.05")},
        "board_mm": {"low": D(12)},
    }
    order: dict[str, Change] = {"force_n": {"tolerance": D("0.02")}}
    assert joined_changes(laboratory, order) == {
        "force_n": {"value": D("0.90"), "tolerance": D("0.02")},
        "board_mm": {"low": D(12)},
    }
    assert laboratory["force_n"]["tolerance"] == D("0.05")


def test_what_says_the_same_again_falls_away_and_other_digits_stay():
    asked: dict[str, Change] = {
        "force_n": {"value": D("0.95"), "tolerance": D("0.1")},
        "judge_consumed": {"value": True},
    }
    assert true_changes(EDITION, asked) == {"force_n": {"tolerance": D("0.1")}}

"""A laboratory's own figures: read strictly, laid over one another, refused where the edition cannot take them."""

from decimal import Decimal
from typing import Any

import pytest

from trials.domain.methods.registry import EDITIONS, method_edition
from trials.domain.parameter_changes import (
    MEMBERS,
    NEVER_ZERO,
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
        ({"colour": {"value": "red"}}, "colour: 2-11:2021 has no figure of that name."),
        ({"force_n": {"lowest": "1"}}, "force_n.lowest: only value, low, high, tolerance can be changed."),
        ({"force_n": {"value": "much"}}, "force_n.value: 'much' is not a number."),
        *(
            ({"force_n": {"value": odd}}, f"force_n.value: {odd!r} is not a number.")
            for odd in ("１２", "1_0", " 1", "1e3", "NaN", "+1", "1,5", "")
        ),
        ({"force_n": {"value": 0.9}}, "force_n.value: 0.9 is not a stored figure."),
    ],
)
def test_what_is_stored_is_read_strictly(stored, sentence):
    with pytest.raises(ParameterChangeError) as refusal:
        changes_from_json(EDITION, stored)
    assert f"{refusal.value.place}: {refusal.value.sentence}" == sentence


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"force_n": {"tolerance": D("-0.1")}}, "force_n.tolerance: a tolerance is not below zero."),
        ({"force_n": {"value": D("-0.95")}}, "force_n.value: -0.95 N is below zero."),
        ({"tissue_g_m2": {"low": D(31)}}, "tissue_g_m2: the lowest value, 31, is above the highest."),
        ({"specimens_needed": {"value": D("1.5")}}, "specimens_needed.value: a whole number is needed, not 1.5."),
        ({"force_n": {"value": D("NaN")}}, "force_n.value: NaN is not a number that can be judged."),
        ({"board_mm": {"low": None}}, "board_mm: 2-11:2021 cannot do without a limit here."),
        (
            {"application_s": {"tolerance": None}},
            "application_s: 2-11:2021 cannot do without a limit here.",
        ),
        ({"specimens_needed": {"low": D(2)}}, "specimens_needed: this is a value, not a limit."),
        (
            {"burn_after_withdrawal_s": {"value": D(90)}},
            "burn_after_withdrawal_s: this is a limit; it has a lowest or a highest value.",
        ),
        ({"burn_after_withdrawal_s": {"low": D(0)}}, "burn_after_withdrawal_s: this limit has a highest value only."),
        (
            {"watch_after_withdrawal_s": {"low": None, "high": D(30)}},
            "watch_after_withdrawal_s: this limit has a lowest value only.",
        ),
        ({"force_n": {"value": True}}, "force_n.value: True is not of the kind this figure holds."),
        ({"limit_counts_from": {"value": "noon"}}, "limit_counts_from: 'noon' is none of measured, nominal."),
    ],
)
def test_impossible_figures_are_refused(changes, sentence):
    with pytest.raises(ParameterChangeError) as refusal:
        changed_edition(EDITION, changes)
    assert f"{refusal.value.place}: {refusal.value.sentence}" == sentence


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


@pytest.mark.parametrize(
    ("method", "changes", "sentence"),
    [
        ("needle-flame@2016", {"extent_mm": {"value": D(40)}},
         "extent_mm: this is a limit; it has a lowest or a highest value."),
        ("ball-pressure@2014", {"u_dent_mm": {"high": D(1)}}, "u_dent_mm: this is a value, not a limit."),
        ("ball-pressure@2014", {"readings_needed": {"low": D("1.5")}},
         "readings_needed.low: a whole number is needed, not 1.5."),
    ],
)  # fmt: skip
def test_what_is_not_set_as_delivered_takes_what_its_rule_looks_at(method, changes, sentence):
    with pytest.raises(ParameterChangeError) as refusal:
        changed_edition(method_edition(method), changes)
    assert f"{refusal.value.place}: {refusal.value.sentence}" == sentence


@pytest.mark.parametrize(
    ("method", "key", "member"),
    [
        (edition.key, key, "value" if edition.parameter(key).value is not None else "low")
        for edition in EDITIONS.values()
        for key in sorted(NEVER_ZERO)
        if edition.has_parameter(key)
    ],
)
def test_counts_and_steps_are_never_zero(method, key, member):
    with pytest.raises(ParameterChangeError) as refusal:
        changed_edition(method_edition(method), {key: {member: D(0)}})
    assert (refusal.value.place, refusal.value.sentence) == (f"{key}.{member}", "it is above zero, not 0.")


def test_a_limit_that_a_decision_rule_judges_may_get_its_other_side():
    both = changed_edition(method_edition("ball-pressure@2014"), {"dent_mm": {"low": D("1.0")}})
    assert both.parameter("dent_mm").limit_text == "1.0 to 2.0 mm"


EVERY_FIGURE = [
    (key, one, name)
    for key, edition in sorted(EDITIONS.items())
    for one in edition.parameters
    for name in MEMBERS
    if isinstance(getattr(one, name), D)
]


@pytest.mark.parametrize(("key", "old", "member"), EVERY_FIGURE)
def test_only_a_temperature_or_a_deviation_goes_below_zero(key, old, member):
    allowed = member != "tolerance" and (old.unit == "°C" or (old.low is not None and old.low < 0))
    try:
        changed_edition(EDITIONS[key], {old.key: {member: D("-2")}})
        taken = True
    except ParameterChangeError as refusal:
        taken = "below zero" not in str(refusal)
    assert taken is allowed


SHARES_OF = [(key, one, name) for key, one, name in EVERY_FIGURE if one.unit in ("%", "% RH")]


@pytest.mark.parametrize(("key", "old", "member"), SHARES_OF)
def test_no_share_is_more_than_the_whole(key, old, member):
    changed_edition(EDITIONS[key], {old.key: {member: D(100) if member != "low" or old.high is None else old.high}})
    with pytest.raises(ParameterChangeError) as refusal:
        changed_edition(EDITIONS[key], {old.key: {member: D("100.1")}})
    assert refusal.value.sentence == f"100.1 {old.unit} is above 100 %."


@pytest.mark.parametrize(
    ("method", "changes", "sentence"),
    [
        ("horizontal-flame@2013", {"gas_percent": {"low": D(250)}},
         "Purity of the methane, lowest: 250 % is above 100 %."),
        ("horizontal-flame@2013", {"specimens_needed": {"value": D(0)}}, "Bars in a set: it is above zero, not 0."),
        ("vertical-flame@2013", {"flame_height_mm": {"value": D(-12)}}, "Height of the flame: -12 mm is below zero."),
        ("needle-flame@2016", {"gas_percent": {"low": None}},
         "Purity of the gas: 11-5:2016 cannot do without a limit here."),
    ],
)  # fmt: skip
def test_a_refusal_names_the_figure_by_its_title(method, changes, sentence):
    with pytest.raises(ParameterChangeError) as refusal:
        changed_edition(method_edition(method), changes)
    assert str(refusal.value) == sentence

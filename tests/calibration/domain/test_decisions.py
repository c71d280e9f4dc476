"""Decision rules against published worked examples of JCGM 106 and the table of ILAC-G8."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibration.domain.decisions import (
    ALL_RULES,
    GUARD_FACTORS,
    RULE_KEYS,
    DecisionError,
    decide,
    percent_text,
)

D = Decimal


@pytest.mark.parametrize(
    ("factor", "risk"),
    # ILAC-G8:09/2019, rules by length of the guard band, k = 2: 6 sigma, 3 sigma, w = U, ISO 14253-1, simple acceptance
    [("3", 1.0e-9), ("1.5", 0.00135), ("1", 0.02275), ("0.83", 0.0485), ("0", 0.5)],
)
def test_risk_at_the_acceptance_limit_is_that_of_ilac_g8(factor: str, risk: float) -> None:
    at_limit = D(30) - D(factor) * D("0.6")
    made = decide(
        at_limit, high=D(30), rule="guard band", expanded_u=D("0.6"), coverage_factor=D(2), guard_factor=D(factor)
    )
    assert made.statement == "pass"
    assert made.risk == pytest.approx(risk, rel=0.02)


def test_named_guard_bands_are_the_rows_of_ilac_g8() -> None:
    # ILAC-G8:09/2019 table of rules, names from memory; ISO 14253-1:2017 for 0.83
    assert {one.title: str(one.factor) for one in GUARD_FACTORS} == {
        "Six sigma": "3",
        "Three sigma": "1.5",
        "Full U": "1",
        "ISO 14253-1:2017": "0.83",
        "None": "0",
        "Uncritical": "-1",
    }


@pytest.mark.parametrize(
    ("value", "statement", "risk"),
    # ILAC-G8:09/2019 "uncritical", limit 30, U = 0.6: rejected only beyond 30.6, wrongly with 2.275 % at most
    [("29.4", "pass", 0.0228), ("30.3", "pass", 0.8413), ("30.6", "pass", 0.9772), ("30.6001", "fail", 0.0227),
     ("31.0", "fail", 0.0004)],
)  # fmt: skip
def test_the_uncritical_rule_rejects_only_beyond_the_limit_and_u(value: str, statement: str, risk: float) -> None:
    made = decide(
        D(value), high=D(30), rule="guard band", expanded_u=D("0.6"), coverage_factor=D(2), guard_factor=D(-1)
    )
    assert (made.statement, made.holds, made.accept_high) == (statement, statement == "pass", D("30.6"))
    assert made.risk == pytest.approx(risk, abs=5e-5)


def test_a_band_outside_the_limits_closes_no_zone() -> None:
    made = decide(
        D(950), low=D(945), high=D(955), rule="guard band", expanded_u=D(15), coverage_factor=D(2), guard_factor=D(-1)
    )
    assert (made.statement, made.accept_low, made.accept_high) == ("pass", D(930), D(970))


def test_risk_of_rejecting_wrongly_at_one_u_beyond_the_limit_is_2_275_percent() -> None:
    # ILAC-G8:09/2019, "uncritical": rejected only beyond the limit plus U
    made = decide(D("30.6"), high=D(30), rule="simple acceptance", expanded_u=D("0.6"), coverage_factor=D(2))
    assert (made.statement, made.holds) == ("fail", False)
    assert made.risk == pytest.approx(0.02275, abs=5e-6)


@pytest.mark.parametrize(
    ("value", "statement", "risk"),
    # one limit of 30 s, U = 0.6 s, k = 2, w = U: statements of ILAC-G8 figures 4 and 5, probabilities computed
    [
        ("28.0", "pass", 0.0),
        ("29.4", "pass", 0.0228),
        ("29.5", "conditional pass", 0.0478),
        ("29.7", "conditional pass", 0.1587),
        ("30.0", "conditional pass", 0.5),
        ("30.1", "conditional fail", 0.3694),
        ("30.3", "conditional fail", 0.1587),
        ("30.6", "conditional fail", 0.0228),
        ("30.7", "fail", 0.0098),
        ("31.0", "fail", 0.0004),
    ],
)
def test_four_statements_of_the_guard_band(value: str, statement: str, risk: float) -> None:
    made = decide(D(value), high=D(30), rule="guard band", expanded_u=D("0.6"), coverage_factor=D(2))
    assert made.statement == statement
    assert made.risk == pytest.approx(risk, abs=5e-5)


def test_a_shorter_guard_band_passes_more() -> None:
    # ISO 14253-1:2017, 0.83 U: accepted up to 29.502
    made = decide(
        D("29.5"), high=D(30), rule="guard band", expanded_u=D("0.6"), coverage_factor=D(2), guard_factor=D("0.83")
    )
    assert (made.statement, made.accept_high) == ("pass", D("29.502"))
    beyond = decide(
        D("29.503"), high=D(30), rule="guard band", expanded_u=D("0.6"), coverage_factor=D(2), guard_factor=D("0.83")
    )
    assert beyond.statement == "conditional pass"


@pytest.mark.parametrize(
    ("value", "statement"),
    [("945", "conditional pass"), ("952", "conditional pass"), ("953", "pass"), ("967", "pass"),
     ("968", "conditional pass"), ("975", "conditional pass"), ("944", "conditional fail"),
     ("937", "conditional fail"), ("936", "fail"), ("984", "fail")],
)  # fmt: skip
def test_both_limits_shrink(value: str, statement: str) -> None:
    # 960 with 15 on each side, U = 8: accepted from 953 to 967
    made = decide(D(value), low=D(945), high=D(975), rule="guard band", expanded_u=D(8), coverage_factor=D(2))
    assert made.statement == statement


@pytest.mark.parametrize("rule", ["in the standard", "simple acceptance", "client's own"])
@pytest.mark.parametrize(
    ("value", "statement"), [("1.9", "pass"), ("2.0", "pass"), ("2.0001", "fail"), ("2.1", "fail")]
)
def test_rules_without_guard_band_compare_the_unrounded_value(rule: str, value: str, statement: str) -> None:
    assert decide(D(value), high=D("2.0"), rule=rule, expanded_u=D("0.3"), coverage_factor=D(2)).statement == statement
    assert decide(D(value), high=D("2.0"), rule=rule).statement == statement


def test_risk_of_a_simple_acceptance_is_known_only_with_the_uncertainty() -> None:
    # limit 10, U = 0.5: 2.275 %, 15.87 %, 50 % (own arithmetic on the normal distribution)
    risks = [
        decide(D(v), high=D(10), rule="simple acceptance", expanded_u=D("0.5"), coverage_factor=D(2)).risk
        for v in ("9.5", "9.75", "10")
    ]
    assert risks == pytest.approx([0.02275, 0.1587, 0.5], abs=5e-5)
    assert decide(D(10), high=D(10), rule="simple acceptance").risk is None


@pytest.mark.parametrize("value", ["0", "2.0", "99"])
def test_a_guard_band_without_an_uncertainty_is_not_judged(value: str) -> None:
    made = decide(D(value), high=D("2.0"), rule="guard band")
    assert (made.statement, made.holds, made.risk) == ("not judged", None, None)
    assert made.reason == "the guard band needs the uncertainty"


def test_a_value_that_is_not_recorded_is_not_judged() -> None:
    made = decide(None, high=D("2.0"), rule="guard band", expanded_u=D("0.1"), coverage_factor=D(2))
    assert (made.statement, made.holds, made.accept_high) == ("not judged", None, D("1.9"))


def test_guard_bands_that_just_close_the_zone_are_an_error_and_no_fail() -> None:
    with pytest.raises(DecisionError, match="close the zone from 945 to 975"):
        decide(D(960), low=D(945), high=D(975), rule="guard band", expanded_u=D(15), coverage_factor=D(2))
    assert (
        decide(D(960), low=D(945), high=D(975), rule="guard band", expanded_u=D("14.9"), coverage_factor=D(2)).statement
        == "pass"
    )
    assert (
        decide(
            D(960), low=D(945), high=D(975), rule="simple acceptance", expanded_u=D(15), coverage_factor=D(2)
        ).statement
        == "pass"
    )


@pytest.mark.parametrize(
    ("figures", "sentence"),
    [
        ({"high": D(1), "rule": "by eye"}, f"There is no decision rule 'by eye'; there are {', '.join(RULE_KEYS)}."),
        ({}, "A decision rule needs a limit, and none is set."),
        ({"low": D(2), "high": D(1)}, "The lower limit 2 is above the upper limit 1."),
        ({"high": D(1), "expanded_u": D("0.0")}, "An expanded uncertainty is above zero, not 0.0."),
        ({"high": D(1), "coverage_factor": D(0)}, "A coverage factor is above zero, not 0."),
        (
            {"high": D(1), "expanded_u": D(1)},
            "The coverage factor k of the expanded uncertainty is missing; it is never assumed.",
        ),
        (
            {"high": D(1), "guard_factor": D("-1.1")},
            "A guard band is at most U beyond the limit; its factor is -1.1.",
        ),
    ],
)
def test_figures_that_make_no_sense_are_refused(figures: dict[str, Any], sentence: str) -> None:
    with pytest.raises(DecisionError) as refusal:
        decide(D(1), **figures)
    assert str(refusal.value) == sentence


def test_rules_offered_are_the_rules_known() -> None:
    assert tuple(rule.key for rule in ALL_RULES) == RULE_KEYS


@pytest.mark.parametrize(
    ("probability", "text"),
    [(0.02275, "2.3 %"), (0.00135, "0.14 %"), (1e-9, "below 0.01 %"), (0.0000999, "below 0.01 %"), (0.0001, "0.010 %"),
     (0.5, "50 %"), (0.15866, "16 %"), (0.0996, "10 %"), (0.00997, "1.0 %"), (0.125, "13 %"), (1.0, "100 %")],
)  # fmt: skip
def test_percent_has_two_digits_after_a_carry_too(probability: float, text: str) -> None:
    assert percent_text(probability) == text


TENTHS = st.integers(0, 400).map(lambda n: D(n) / 10)
SOME = st.integers(1, 200).map(lambda n: D(n) / 10)
ORDER = ("pass", "conditional pass", "conditional fail", "fail")


@given(
    value=TENTHS,
    more=TENTHS,
    limit=TENTHS,
    u=TENTHS.map(lambda u: u + D("0.1")),
    factor=TENTHS,
    rule=st.sampled_from(RULE_KEYS),
)
def test_a_greater_value_never_does_better_against_an_upper_limit(
    value: Decimal, more: Decimal, limit: Decimal, u: Decimal, factor: Decimal, rule: str
) -> None:
    made = [
        decide(v, high=limit, rule=rule, expanded_u=u, coverage_factor=D(2), guard_factor=factor).statement
        for v in (value, value + more)
    ]
    assert ORDER.index(made[0]) <= ORDER.index(made[1])


@given(value=TENTHS, low=TENTHS, more=TENTHS, u=SOME)
def test_the_guard_band_never_turns_a_pass_into_a_fail(value: Decimal, low: Decimal, more: Decimal, u: Decimal) -> None:
    width = 2 * u + more + D("0.1")
    guarded = decide(value, low=low, high=low + width, rule="guard band", expanded_u=u, coverage_factor=D(2))
    simple = decide(value, low=low, high=low + width, rule="simple acceptance", expanded_u=u, coverage_factor=D(2))
    assert guarded.holds == simple.holds
    assert guarded.risk == simple.risk

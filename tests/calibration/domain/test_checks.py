"""Intermediate checks judged: what is kept, at and beyond each limit, and the sentence."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibration.domain.checks import (
    FOIL_REFERENCES,
    STANDARD_GRAVITY,
    Agreement,
    CheckError,
    ErrorLimits,
    error_limits,
    judge_agreement,
    judge_foil,
    judge_masses,
    judge_runs,
    judge_value,
    shown_score,
)

D = Decimal
TEN = ErrorLimits(D(-10), D(10), "the plan")


def test_the_foil_names_the_reference_it_was_judged_by():
    """961.78 °C: ITS-90 Table 1; 960 °C: glow-wire practice. The same reading is 1.78 K apart."""
    nominal, true = judge_foil(D("970.0"), "nominal", TEN), judge_foil(D("970.0"), "true", TEN)
    assert (nominal.reference, nominal.error, nominal.passed) == (D(960), D("10.0"), True)
    assert (true.reference, true.error) == (D("961.78"), D("8.22"))
    assert nominal.error - true.error == D("1.78")
    assert true.sentence == (
        "The foil melted at an indicated 970.0 °C, +8.22 K from 961.78 °C (where silver melts); "
        "−10 to +10 K are allowed (the plan), so it passed."
    )


@pytest.mark.parametrize(
    ("reading", "passed"), [("949.9", False), ("950", True), ("970", True), ("970.0000001", False)]
)
def test_a_foil_reading_at_and_beyond_its_limits(reading, passed):
    judged = judge_foil(D(reading), "nominal", TEN)
    assert judged.passed is passed
    assert judged.sentence.endswith(f"so it {'passed' if passed else 'failed'}.")


def test_the_foil_of_other_references_is_unknown():
    assert sorted(FOIL_REFERENCES) == ["nominal", "true"]


# Copper block of 4 mm in 23.5 ± 1.0 s (IEC 60695-11-5:2016, published), of 5.5 mm in 44 ± 2 s (general knowledge).
@pytest.mark.parametrize(
    ("runs", "reference", "reach", "worst", "passed"),
    [
        (("23.4", "23.6", "24.5"), "23.5", "1.0", "24.5", True),
        (("23.4", "24.6", "22.6"), "23.5", "1.0", "24.6", False),
        (("42.0", "44.1", "43.9"), "44", "2", "42.0", True),
        (("41.9",), "44", "2", "41.9", False),
    ],
)
def test_every_run_of_the_copper_block_counts(runs, reference, reach, worst, passed):
    limits = ErrorLimits(-D(reach), D(reach), "the plan")
    judged = judge_runs([D(run) for run in runs], D(reference), limits)
    assert (judged.indication, judged.passed) == (D(worst), passed)
    assert [reading["seconds"] for reading in judged.readings] == list(runs)


def test_the_sentence_of_a_flame():
    judged = judge_runs([D("23.4"), D("23.6"), D("24.6")], D("23.5"), ErrorLimits(D("-1.0"), D("1.0"), "the plan"))
    assert judged.sentence == (
        "The copper block took 23.4, 23.6 and 24.6 s, 23.5 s is wanted; −1.0 to +1.0 s are allowed (the plan), "
        "so it failed."
    )


def test_masses_become_forces_by_the_chosen_gravity():
    """m · g by hand: 101.97 g · 9.80665 m/s² = 0.9999840… N; at 9.7803 m/s² (equator, WGS 84) 0.99729… N."""
    tight = ErrorLimits(D("-0.002"), D("0.002"), "the plan")
    standard = judge_masses([(D("101.97"), D("1.000"))], STANDARD_GRAVITY, lambda _: tight)
    assert (standard.reference, standard.passed) == (D("0.9999841005"), True)
    equator = judge_masses([(D("101.97"), D("1.000"))], D("9.7803"), lambda _: tight)
    assert (equator.reference, equator.passed) == (D("0.997297191"), False)


def test_of_several_masses_the_one_that_fails_decides():
    limits = {True: ErrorLimits(D("-0.02"), D("0.02"), "the plan"), False: ErrorLimits(D("-0.1"), D("0.1"), "the plan")}
    pairs = [(D(100), D("1.01")), (D(50), D("0.54")), (D(500), D("4.96"))]
    judged = judge_masses(pairs, STANDARD_GRAVITY, lambda force: limits[force < 1])
    assert (judged.indication, judged.passed) == (D("0.54"), False)
    assert [reading["read_n"] for reading in judged.readings] == ["1.01", "0.54", "4.96"]
    assert judged.sentence == (
        "3 masses, g = 9.80665 m/s²: with 50 g the gauge read 0.54 N, +0.0497 N from 0.4903 N; "
        "−0.02 to +0.02 N are allowed (the plan), so it failed."
    )


def test_no_mass_and_no_run_is_refused():
    with pytest.raises(CheckError, match="at least one mass"):
        judge_masses([], STANDARD_GRAVITY, lambda _: TEN)
    with pytest.raises(CheckError, match="at least one run"):
        judge_runs([], D(44), TEN)


@pytest.mark.parametrize(
    ("indication", "passed", "with_one_as_action"),
    [("100.4999", True, True), ("100.5", True, False), ("100.5001", False, False)],
)
def test_agreement_at_e_n_of_one(indication, passed, with_one_as_action):
    """0.5 is the root of 0.4² + 0.3²."""
    for one_is_action, expected in ((False, passed), (True, with_one_as_action)):
        pair = Agreement(D(0), D("0.4"), D("0.3"), one_is_action)
        judged = judge_agreement("It read", reference=D(100), indication=D(indication), unit="N", pair=pair)
        assert judged.passed is expected


def test_agreement_corrects_the_indication_first():
    """Corrected 850.2 against 850.0 with U 1.2 and 0.5: 0.2 / 1.3 = 0.153846…"""
    pair = Agreement(D("0.6"), D("1.2"), D("0.5"))
    judged = judge_agreement("TC-01 read", reference=D("850.0"), indication=D("849.6"), unit="°C", pair=pair)
    assert (judged.e_n, judged.error, judged.passed) == (D("0.153846"), D("-0.4"), True)
    assert judged.sentence == (
        "TC-01 read 849.6 °C, corrected 850.2 °C, against 850.0 °C: E_n = 0.15 from U 1.2 and 0.5 K; "
        "|E_n| ≤ 1 agrees, so it passed."
    )


def test_agreement_without_any_uncertainty_is_refused():
    with pytest.raises(CheckError, match="cannot be compared"):
        judge_agreement("It read", reference=D(1), indication=D(1), unit="N", pair=Agreement(D(0), D(0), D(0)))


@pytest.mark.parametrize(
    ("score", "shown"),
    [("0.996", "0.996000"), ("1", "1.00"), ("-1.0004", "−1.000400"), ("0.154", "0.15"), ("1.2", "1.20")],
)
def test_a_score_near_one_shows_on_which_side_it_lies(score, shown):
    assert shown_score(D(score)) == shown


def test_limits_come_from_the_plan_first():
    limits = error_limits(D(-1), None, permitted=D("0.5"), expanded=None, unit="N")
    assert (limits.low, limits.high, limits.source) == (D(-1), None, "the plan")
    assert limits.words("N") == "−1 N or more are allowed (the plan)"
    assert error_limits(None, D(2), permitted=None, expanded=None, unit="°C").words("°C") == (
        "up to +2 K are allowed (the plan)"
    )


def test_the_permitted_error_is_lessened_by_the_uncertainty():
    """|x − ref| ≤ MPE − U: 3.84 K (type K class 1 at 960 °C) less 1.5 K leaves 2.34 K."""
    limits = error_limits(None, None, permitted=D("3.84"), expanded=D("1.5"), unit="°C")
    held = [limits.hold(D(error)) for error in ("-2.341", "-2.34", "0", "2.34", "2.341")]
    assert held == [False, True, True, True, False]
    assert limits.words("°C") == "−2.34 to +2.34 K are allowed (permitted 3.84 K less U 1.5 K)"


@pytest.mark.parametrize(
    ("permitted", "expanded", "words", "field"),
    [
        (None, D(1), "Plan this check first", ""),
        (D(2), None, "give U and k", "expanded_uncertainty"),
        (D(2), D(2), "leaves nothing", "expanded_uncertainty"),
        (D(2), D("2.1"), "leaves nothing", "expanded_uncertainty"),
    ],
)
def test_without_a_limit_or_an_uncertainty_nothing_is_judged(permitted, expanded, words, field):
    with pytest.raises(CheckError, match=words) as refused:
        error_limits(None, None, permitted=permitted, expanded=expanded, unit="N")
    assert refused.value.field == field


@given(
    reference=st.decimals("-1000", "1000", places=4),
    indication=st.decimals("-1000", "1000", places=4),
    reach=st.decimals("0.0001", "50", places=4),
)
def test_a_reading_passes_just_when_its_error_is_within_reach(reference, indication, reach):
    limits = ErrorLimits(-reach, reach, "the plan")
    judged = judge_value("It read", reference=reference, indication=indication, unit="N", limits=limits)
    assert judged.passed is (abs(indication - reference) <= reach)
    assert judged.error == indication - reference

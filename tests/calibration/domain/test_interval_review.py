"""The staircase and the counts of the interval review: boundaries, laws, published figures."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibration.domain.interval_policy import POLICY, IntervalPolicy
from calibration.domain.interval_review import Place, Step, Visit, counts, rejection_confidence, staircase

D = Decimal


def visit(day: date, found: str | None, permitted: str | None = "2.5", left: str | None = None) -> Visit:
    def figure(text):
        return None if text is None else D(text)

    return Visit(day, (Place(D(850), "°C", figure(found), figure(left if left else found), figure(permitted)),))


def yearly(*errors: str | None, permitted: str | None = "2.5") -> list[Visit]:
    """Calibrations on the same day of each year, oldest first."""
    return [visit(date(2020 + place, 3, 1), error, permitted) for place, error in enumerate(errors)]


@pytest.mark.parametrize(
    ("error", "step", "interval"),
    [
        # ILAC-G24 / OIML D 10, method 1: lengthen within 80 % of the permitted error, shorten beyond it.
        ("1.9", Step.LENGTHEN, 18),
        ("2.0", Step.LENGTHEN, 18),  # 0.8 of 2.5 exactly
        ("-2.0", Step.LENGTHEN, 18),
        ("2.01", Step.KEEP, 12),
        ("2.5", Step.KEEP, 12),  # the limit exactly
        ("-2.5", Step.KEEP, 12),
        ("2.50001", Step.SHORTEN, 7),  # 7.2 months, cut off
        ("-8.0", Step.SHORTEN, 7),
    ],
)
def test_the_newest_error_as_found_decides_the_step(error: str, step: Step, interval: int):
    found = staircase(yearly("0.1", "0.2", error), 12, "months")
    assert (found.step, found.interval) == (step, interval)


def test_the_worst_place_of_the_range_speaks_for_the_calibration():
    good = Place(D(650), "°C", D("0.1"), D("0.1"), D("2.6"))
    bad = Place(D(960), "°C", D("4.0"), D("4.0"), D("3.84"))
    unknown = Place(D(100), "°C", D("9.0"), D("9.0"), None)
    newest = Visit(date(2026, 3, 1), (good, bad, unknown))
    assert newest.worst == bad
    assert staircase([*yearly("0.1", "0.1"), newest], 12, "months").step is Step.SHORTEN


def test_one_good_result_is_not_enough_to_lengthen():
    found = staircase(yearly("0.1", "0.2"), 12, "months")
    assert (found.step, found.interval, found.good_in_a_row, found.needed) == (Step.KEEP, 12, 1, 2)


def test_the_first_calibration_follows_no_interval_and_counts_for_none():
    assert staircase(yearly("0.1"), 12, "months").good_in_a_row == 0


def test_a_result_above_the_share_breaks_the_row():
    assert staircase(yearly("0.1", "0.1", "2.2", "0.1"), 12, "months").good_in_a_row == 1


@pytest.mark.parametrize(("days", "row"), [(273, 0), (274, 1)])
def test_a_good_result_counts_only_after_most_of_the_present_interval(days: int, row: int):
    """Three quarters of the 365 days from 1 Mar 2025 are 273.75."""
    first = date(2025, 3, 1)
    visits = [visit(first, "0.1"), visit(first + timedelta(days=days), "0.1")]
    assert staircase(visits, 12, "months").good_in_a_row == row


def test_a_bad_result_shortens_however_early_it_came():
    visits = [visit(date(2025, 3, 1), "0.1"), visit(date(2025, 3, 20), "3.0")]
    assert staircase(visits, 12, "months").step is Step.SHORTEN


@pytest.mark.parametrize(
    ("visits", "why"),
    [
        ([], "no calibration"),
        (yearly("0.1", None), "no error as found"),
        (yearly("0.1", "0.2", permitted=None), "no permitted error"),
        (yearly("0.1", "0.2", permitted="0"), "no permitted error above nothing"),
    ],
)
def test_what_cannot_be_judged_keeps_the_interval_and_says_so(visits: list[Visit], why: str):
    found = staircase(visits, 12, "months")
    assert (found.step, found.interval, found.share) == (Step.UNKNOWN, 12, None), why


@pytest.mark.parametrize(
    ("present", "unit", "error", "step", "interval"),
    [
        (30, "months", "0.1", Step.LENGTHEN, 36),  # the longest
        (36, "months", "0.1", Step.KEEP, 36),
        (60, "months", "0.1", Step.KEEP, 60),  # longer than the longest is not shortened after a good result
        (4, "months", "9.0", Step.SHORTEN, 3),  # the shortest
        (3, "months", "9.0", Step.KEEP, 3),
        (1, "months", "0.1", Step.LENGTHEN, 2),  # by a whole month at least
        (1, "months", "9.0", Step.KEEP, 1),  # shorter than the shortest is not lengthened after a bad result
        (365, "days", "9.0", Step.SHORTEN, 219),
        (360, "days", "0.1", Step.LENGTHEN, 540),
        (100, "days", "9.0", Step.SHORTEN, 91),  # three mean months
    ],
)
def test_the_interval_stays_between_shortest_and_longest(present, unit, error, step, interval):
    first = date(2000, 3, 1)
    visits = [visit(first + timedelta(days=2000 * place), error) for place in range(3)]
    found = staircase(visits, present, unit)
    assert (found.step, found.interval) == (step, interval)


def test_the_figures_are_the_laboratorys_own():
    ours = IntervalPolicy(good_in_a_row=1, lengthen_by=D("2"), good_share=D("0.5"))
    assert staircase(yearly("0.1", "1.25"), 12, "months", ours).interval == 24
    assert staircase(yearly("0.1", "1.26"), 12, "months", ours).interval == 12


@given(
    st.lists(st.decimals(-9, 9, places=2), min_size=1, max_size=8),
    st.integers(1, 200),
    st.sampled_from(["months", "days"]),
)
def test_no_bad_result_ever_lengthens_and_no_good_one_shortens(errors, present, unit):
    visits = [visit(date(1990, 1, 1) + timedelta(days=400 * place), str(error)) for place, error in enumerate(errors)]
    found = staircase(visits, present, unit)
    last = abs(errors[-1])
    assert found.interval >= present or last > D("2.5")
    assert found.interval <= present or last <= D("2.0")
    assert found.interval >= 1


@pytest.mark.parametrize(
    ("within", "judged", "target", "confidence"),
    [
        # NCSLI RP-1 (2010), method A3, published example: 15 of 20 within, target 0.95, rejection confidence 99.49 %.
        (15, 20, "0.95", "0.9949"),
        # By hand: 1 - 2 x 0.1^1 for none of one within.
        (0, 1, "0.9", "0.8"),
        # By hand: all of two within, 1 - 2 x 0.95^2 is below nothing.
        (2, 2, "0.95", "0.0000"),
        # scipy.stats.binom: 1 - 2 P(X >= 20; 20, 0.5) = 1 - 2^-19.
        (20, 20, "0.5", "1.0000"),
    ],
)
def test_the_interval_test_sets_a_count_beside_its_target(within, judged, target, confidence):
    assert round(rejection_confidence(within, judged, D(target)), 4) == D(confidence)


@pytest.mark.parametrize(("within", "judged", "target"), [(3, 2, "0.9"), (-1, 2, "0.9"), (0, 0, "0.9"), (1, 2, "1")])
def test_a_count_that_is_none_is_refused(within, judged, target):
    with pytest.raises(ValueError, match="is no count"):
        rejection_confidence(within, judged, D(target))


def test_counts_speak_of_what_could_be_judged():
    found = counts([*yearly("0.1", "3.0", None), visit(date(2025, 3, 1), "0.2")])
    assert (found.within, found.judged, found.visits) == (2, 3, 4)
    assert counts(yearly(None)).confidence is None
    assert found.confidence == rejection_confidence(2, 3, POLICY.target)

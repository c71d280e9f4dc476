"""Limits of control charts: a worked series, the constants' own origin, the law that shifts do not matter."""

from decimal import Decimal
from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibration.domain.control_charts import A2, INDIVIDUALS, RANGES, group_means, individuals, known_limits

D = Decimal
# Worked by hand: mean 1.06, mean moving range 2.0 / 9 = 0.2222, limits 1.06 ± 2.660 · 0.2222, ranges to 3.267 · 0.2222.
SERIES = [D(each) for each in ("1.2", ".9", "1.1", "1.0", "1.3", "1.0", ".8", "1.1", "1.2", "1.0")]
# d2 of two to five results (expected range of standard normal results): standard table of control constants.
D2 = {2: 1.128, 3: 1.693, 4: 2.059, 5: 2.326}


def test_individuals_and_moving_range():
    limits = individuals(SERIES)
    assert limits.centre == D("1.06")
    places = D("0.001")
    found = (limits.mean_range.quantize(D("0.0001")), *(each.quantize(places) for each in (limits.high, limits.low)))
    assert found == (D("0.2222"), D("1.651"), D("0.469"))
    assert limits.range_high.quantize(places) == D("0.726")


def test_the_constants_come_from_the_expected_range():
    """2.660 = 3 / d2(2), A2 = 3 / (d2 √n); 3.267 = 1 + 3 d3 / d2 with d3(2) = 0.8525 (standard table)."""
    assert float(INDIVIDUALS) == pytest.approx(3 / D2[2], abs=5e-4)
    assert float(RANGES) == pytest.approx(1 + 3 * 0.8525 / D2[2], abs=5e-4)
    assert {size: round(3 / (d2 * sqrt(size)), 3) for size, d2 in D2.items()} == {
        size: pytest.approx(float(constant), abs=1.01e-3) for size, constant in A2.items()
    }


@pytest.mark.parametrize(
    ("value", "holds"), [("1.249", False), ("1.25", True), ("2", True), ("2.75", True), ("2.751", False)]
)
def test_a_result_on_a_limit_holds(value, holds):
    assert known_limits(D(2), D("0.25")).holds(D(value)) is holds


@pytest.mark.parametrize(("value", "holds"), [("-1.861", False), ("-1.86", True), ("3.46", True), ("3.461", False)])
def test_a_result_on_a_limit_of_the_series_holds(value, holds):
    """Mean 0.8 and moving ranges 2, 0, 2, 0 of mean 1: 0.8 ± 2.660."""
    assert individuals([D(0), D(2), D(2), D(0), D(0)]).holds(D(value)) is holds


def test_warning_at_two_and_action_at_three_standard_uncertainties():
    limits = known_limits(D("0.4"), D("0.5"))
    assert (limits.low, limits.warning_low, limits.centre, limits.warning_high, limits.high) == (
        D("-1.1"), D("-0.6"), D("0.4"), D("1.4"), D("1.9"),
    )  # fmt: skip


def test_group_means_with_their_constant():
    """Two groups of two: grand mean 2, mean range 1, so 2 ± 1.880."""
    assert group_means([[D("1"), D("2")], [D("2"), D("3")]]) == (D(2), D("0.120"), D("3.880"))


@pytest.mark.parametrize("groups", [[], [[D(1)]], [[D(1), D(2)], [D(1), D(2), D(3)]], [[D(each) for each in range(6)]]])
def test_groups_of_other_sizes_are_refused(groups):
    with pytest.raises(ValueError, match="two to five"):
        group_means(groups)


def test_one_result_has_no_moving_range():
    with pytest.raises(ValueError, match="two results"):
        individuals([D(1)])


@pytest.mark.parametrize("u", ["0", "-0.1"])
def test_an_uncertainty_that_is_not_above_zero_is_refused(u):
    with pytest.raises(ValueError, match="above zero"):
        known_limits(D(0), D(u))


@given(
    values=st.lists(st.decimals("-100", "100", places=3), min_size=2, max_size=20),
    shift=st.decimals("-100", "100", places=3),
)
def test_a_shift_moves_the_limits_and_nothing_else(values, shift):
    before, after = individuals(values), individuals([each + shift for each in values])
    assert after.mean_range == before.mean_range
    assert float(after.low) == pytest.approx(float(before.low + shift), abs=1e-18 + 1e-15)
    assert float(after.high) == pytest.approx(float(before.high + shift), abs=1e-9)

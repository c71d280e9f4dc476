"""Student's t against the printed tables and a reference library."""

from math import erf, sqrt

import pytest
from GTC import reporting  # type: ignore[import-untyped]
from hypothesis import given
from hypothesis import strategies as st

from calibration.domain.student_t import held_within, two_sided_factor

# JCGM 100:2008 table G.2, columns 95.45 % and 95 %.
TABLE = [
    (1, 13.97, 12.71), (2, 4.53, 4.30), (3, 3.31, 3.18), (4, 2.87, 2.78), (5, 2.65, 2.57), (6, 2.52, 2.45),
    (7, 2.43, 2.36), (8, 2.37, 2.31), (10, 2.28, 2.23), (16, 2.17, 2.12), (20, 2.13, 2.09), (50, 2.05, 2.01),
]  # fmt: skip


@pytest.mark.parametrize(("degrees", "usual", "ninety_five"), TABLE)
def test_agrees_with_the_printed_table(degrees: int, usual: float, ninety_five: float) -> None:
    assert round(two_sided_factor(erf(sqrt(2)), degrees), 2) == usual
    assert round(two_sided_factor(0.95, degrees), 2) == ninety_five


def test_the_factor_of_the_end_gauge() -> None:
    assert round(two_sided_factor(0.99, 16), 3) == 2.921  # JCGM 100:2008 H.1.6 prints 2.92


@given(st.integers(min_value=2, max_value=10**5), st.sampled_from([0.5, 0.9, 0.95, 0.9545, 0.99, 0.999]))
def test_agrees_with_a_reference_library(degrees: int, share: float) -> None:
    assert two_sided_factor(share, degrees) == pytest.approx(reporting.k_factor(degrees, p=100 * share), rel=1e-6)


@given(st.integers(min_value=1, max_value=10**6), st.floats(min_value=0.5, max_value=0.9999))
def test_holds_the_share_asked_for_and_shrinks_with_more_degrees(degrees: int, share: float) -> None:
    factor = two_sided_factor(share, degrees)
    assert held_within(factor, degrees) == pytest.approx(share, abs=1e-9)
    assert two_sided_factor(share, 2 * degrees) <= factor * (1 + 1e-8)


def test_one_degree_is_the_arctangent() -> None:
    assert two_sided_factor(0.5, 1) == pytest.approx(1)  # the Cauchy distribution: tan(pi/4)


@pytest.mark.parametrize(("share", "degrees"), [(0.0, 3), (1.0, 3), (-0.1, 3), (0.95, 0)])
def test_what_has_no_factor(share: float, degrees: int) -> None:
    with pytest.raises(ValueError, match=r"^a share between 0 and 1 and at least one degree of freedom are needed$"):
        two_sided_factor(share, degrees)

"""Student's t against the printed tables and a reference library."""

from math import erf, exp, lgamma, pi, sqrt

import pytest
from GTC import reporting  # type: ignore[import-untyped]  # it ships no types
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


@pytest.mark.parametrize("degrees", [1, 3, 30, 10**5])
@pytest.mark.parametrize("t", [1e-200, 1e-12, 1e-9, 1e-6])
def test_next_to_the_middle_it_holds_twice_the_density_there(t: float, degrees: int) -> None:
    # Abramowitz and Stegun 26.7.1: the density at 0 is Γ((ν+1)/2) / (Γ(ν/2) √(νπ))
    density = exp(lgamma((degrees + 1) / 2) - lgamma(degrees / 2)) / sqrt(degrees * pi)
    assert held_within(t, degrees) == pytest.approx(2 * t * density, rel=1e-6, abs=1e-150)


@pytest.mark.parametrize("degrees", [1, 2, 10**6, 10**12])
def test_far_out_it_holds_everything(degrees: int) -> None:
    assert held_within(1e200, degrees) == 1.0
    assert held_within(1e30, degrees) == pytest.approx(1.0)


@pytest.mark.parametrize("degrees", [10**6, 10**7, 10**7 + 1, 10**9, 10**12])
def test_very_many_degrees_are_the_normal_distribution(degrees: int) -> None:
    assert held_within(2.0, degrees) == pytest.approx(erf(sqrt(2)), abs=3e-7)
    assert two_sided_factor(0.95, degrees) == pytest.approx(1.959964, abs=3e-6)


def test_one_degree_is_the_arctangent() -> None:
    assert two_sided_factor(0.5, 1) == pytest.approx(1)  # the Cauchy distribution: tan(pi/4)


@pytest.mark.parametrize(("share", "degrees"), [(0.0, 3), (1.0, 3), (-0.1, 3), (0.95, 0)])
def test_what_has_no_factor(share: float, degrees: int) -> None:
    with pytest.raises(ValueError, match=r"^a share between 0 and 1 and at least one degree of freedom are needed$"):
        two_sided_factor(share, degrees)

"""z, z', zeta and E_n against ISO 13528:2022 Table E.6, the NIST gear data and pt13528."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pt13528 import scores

from calibration.domain.comparisons import Signal, agrees, e_n, negligible, signal, z_prime, z_score, zeta_score

D = Decimal
# ISO 13528:2022, Table E.6 as printed: X 0.044, U_X 0.0082 with k = 2, s_pt 0.0066.
ASSIGNED, ASSIGNED_EXPANDED, DEVIATION = D("0.044"), D("0.0082"), D("0.0066")
TABLE_E6 = [
    ("0.013", "0.003", "2", "-4.70", "-3.99", "-7.10", "-3.55"),
    ("0.0135", "0.00108", "1.732", "-4.62", "-3.93", "-7.35", "-3.69"),
    ("0.037", "0.013", "2", "-1.06", "-0.90", "-0.91", "-0.46"),
    ("0.046", "0.007", "2", "0.30", "0.26", "0.37", "0.19"),
    ("0.053", "0.007", "2", "1.36", "1.16", "1.67", "0.83"),
]
HUNDREDTH = D("0.01")


@pytest.mark.parametrize(("x", "expanded", "k", "z", "prime", "zeta", "number"), TABLE_E6)
def test_the_scores_of_table_e6(x, expanded, k, z, prime, zeta, number):
    value, assigned_u = D(x), ASSIGNED_EXPANDED / 2
    found = (
        z_score(value, ASSIGNED, DEVIATION),
        z_prime(value, ASSIGNED, DEVIATION, assigned_u),
        zeta_score(value, ASSIGNED, D(expanded) / D(k), assigned_u),
        e_n(value, ASSIGNED, D(expanded), ASSIGNED_EXPANDED),
    )
    assert tuple(score.quantize(HUNDREDTH) for score in found) == (D(z), D(prime), D(zeta), D(number))


def test_the_gear_data():
    """NIST Dataplot, pages on z for ISO 13528: x 1.006, X 1, s_pt 0.0062827; z' with u_X 0.001 computed from them."""
    assert z_score(D("1.006"), D(1), D("0.0062827")).quantize(D("0.001")) == D("0.955")
    assert z_prime(D("1.006"), D(1), D("0.0062827"), D("0.001")).quantize(D("0.001")) == D("0.943")


def test_a_pair_worked_by_hand():
    """0.3 against the root of 0.4² + 0.3², which is 0.5."""
    assert e_n(D("100.3"), D("100.0"), D("0.4"), D("0.3")) == D("0.6")
    assert zeta_score(D("100.3"), D("100.0"), D("0.2"), D("0.15")) == D("1.2")


# Above 1e-6 so that squares of the smallest stay well inside what the float of the reference library holds.
WIDTHS = st.decimals("0.000001", "1000", places=6)
VALUES = st.decimals("-1000", "1000", places=6)


@given(value=VALUES, assigned=VALUES, one=WIDTHS, other=WIDTHS)
def test_they_agree_with_the_library_pt13528(value, assigned, one, other):
    floats = [float(each) for each in (value, assigned, one, other)]
    ours = (
        z_score(value, assigned, one),
        z_prime(value, assigned, one, other),
        zeta_score(value, assigned, one, other),
        e_n(value, assigned, one, other),
    )
    theirs = (
        scores.z_score(*floats[:3]),
        scores.z_prime_score(*floats),
        scores.zeta_score(*floats),
        scores.en_score(*floats),
    )
    assert [float(each) for each in ours] == pytest.approx(list(theirs), rel=1e-6, abs=1e-6)


@pytest.mark.parametrize(
    ("score", "expected"),
    [("1.99", "fine"), ("2", "fine"), ("2.01", "warning"), ("-2.99", "warning"), ("-3", "action"), ("3.01", "action")],
)
def test_signals_below_at_and_above_their_bounds(score, expected):
    assert signal(D(score)) == Signal(expected)


@pytest.mark.parametrize(
    ("value", "satisfactory", "with_one_as_action"),
    [("100.4999", True, True), ("100.5", True, False), ("100.5001", False, False), ("99.5", True, False)],
)
def test_e_n_of_exactly_one_is_a_setting(value, satisfactory, with_one_as_action):
    """ISO/IEC 17043 counts |E_n| = 1 as satisfactory (from memory), ISO 13528:2022 9.7.2 as action (pt13528)."""
    numbers = (D(value), D(100), D("0.4"), D("0.3"))
    assert agrees(*numbers) is satisfactory
    assert agrees(*numbers, one_is_action=True) is with_one_as_action
    library = scores.classify_en(scores.en_score(*(float(each) for each in numbers)))
    assert (library == "acceptable") is with_one_as_action


def test_a_root_without_end_is_not_judged_rounded():
    """√(1² + 1²) = 1.41421356237309505…: one number just above it and one just below, its square judges both."""
    assert not agrees(D("1.4142135623731"), D(0), D(1), D(1))
    assert agrees(D("1.4142135623730"), D(0), D(1), D(1))


@pytest.mark.parametrize(("u", "expected"), [("0.0018", True), ("0.00198", False), ("0.002", False)])
def test_when_an_assigned_uncertainty_is_negligible(u, expected):
    """ISO 13528:2022, 9.2.1: u_X below 0.3 s_pt; here 0.3 · 0.0066 = 0.00198."""
    assert negligible(D(u), DEVIATION) is expected
    assert scores.uncertainty_negligible(float(u), sigma_pt=0.0066) is expected


@pytest.mark.parametrize(("one", "other"), [("-0.1", "0.1"), ("0.1", "-0.1"), ("0", "0")])
def test_uncertainties_that_cannot_be_are_refused(one, other):
    with pytest.raises(ValueError, match="uncertainty"):
        e_n(D(1), D(1), D(one), D(other))
    with pytest.raises(ValueError, match="uncertainty"):
        agrees(D(1), D(1), D(one), D(other))


def test_a_deviation_of_zero_is_refused():
    with pytest.raises(ValueError, match="deviation"):
        z_score(D(1), D(1), D(0))

"""Rounding for print: the published examples, the carries, and that nothing is rounded twice."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibration.domain.rounding import Half, rounded, rounded_to, rounded_uncertainty, shown_factor

# ISO 80000-1:2009 Annex B, rules A (half even) and B (half up), computed with the decimal module and by hand.
TO_A_PLACE = [
    ("12.25", "0.1", "12.2", "12.3"),
    ("12.35", "0.1", "12.4", "12.4"),
    ("0.5", "1", "0", "1"),
    ("1.5", "1", "2", "2"),
    ("2.5", "1", "2", "3"),
    ("-2.5", "1", "-2", "-3"),
    ("122.5", "1", "122", "123"),
    ("1.005", "0.01", "1.00", "1.01"),
    ("2.675", "0.01", "2.68", "2.68"),
    ("2.449", "0.1", "2.4", "2.4"),
]

# JCGM 100:2008 7.2.6 (28.05 kHz, and 27 milliohm beside 10.057 62 ohm); the carries need a second look at the place.
UNCERTAINTIES = [
    ("1.049", "1.0"),
    ("0.01049", "0.010"),
    ("49.92", "50"),
    ("9.95", "10"),
    ("0.0996", "0.10"),
    ("0.999", "1.0"),
    ("9.949", "9.9"),
    ("28.05", "28"),
    ("0.027", "0.027"),
    ("2.5", "2.5"),
    ("2", "2.0"),
    ("1.25", "1.3"),
    ("149.9", "150"),
    ("99.5", "100"),
    ("996", "1000"),
]


@pytest.mark.parametrize(("value", "place", "even", "up"), TO_A_PLACE)
def test_a_value_is_rounded_to_a_place_in_one_step(value: str, place: str, even: str, up: str) -> None:
    assert str(rounded(Decimal(value), Decimal(place))) == even
    assert str(rounded(Decimal(value), Decimal(place), Half.UP)) == up


@pytest.mark.parametrize(("typed", "shown"), UNCERTAINTIES)
def test_an_uncertainty_keeps_two_digits_also_after_a_carry(typed: str, shown: str) -> None:
    assert format(rounded_uncertainty(Decimal(typed)), "f") == shown


@pytest.mark.parametrize(
    ("value", "uncertainty", "shown"),
    [
        ("10.05762", "0.027", "10.058"),  # JCGM 100:2008 7.2.6
        ("1000.5", "1.28", "1000.5"),
        ("36228.8", "49.9", "36229"),  # EA-4/02 S5b before its report rounds to tens
        ("0.25", "1.0", "0.2"),
        ("0.35", "1.0", "0.4"),
        ("12345", "149.9", "12340"),
        ("30", "0.6", "30.00"),
        ("-0.004", "0.1", "0.00"),
    ],
)
def test_a_value_is_rounded_to_the_last_place_of_its_uncertainty(value: str, uncertainty: str, shown: str) -> None:
    assert format(rounded_to(Decimal(value), rounded_uncertainty(Decimal(uncertainty))), "f") == shown


@pytest.mark.parametrize("typed", ["0", "0.00", "-1", "NaN", "Infinity", "-Infinity"])
def test_what_is_no_uncertainty_is_refused(typed: str) -> None:
    with pytest.raises(ValueError, match=r"^an uncertainty is a number above zero$"):
        rounded_uncertainty(Decimal(typed))


def test_what_is_no_number_is_refused() -> None:
    with pytest.raises(ValueError, match=r"^only a number can be rounded$"):
        rounded(Decimal("NaN"), Decimal(1))
    with pytest.raises(ValueError, match=r"^an uncertainty is a number above zero$"):
        rounded_to(Decimal(1), Decimal("NaN"))


@pytest.mark.parametrize(("factor", "shown"), [("2", "2.00"), ("2.8693094146", "2.87"), ("1.645", "1.65")])
def test_a_coverage_factor_is_printed_to_the_second_place(factor: str, shown: str) -> None:
    assert shown_factor(Decimal(factor)) == shown


@given(st.decimals(min_value=Decimal("1E-12"), max_value=Decimal("1E+12"), allow_nan=False, allow_infinity=False))
def test_rounding_keeps_two_digits_and_never_lowers_by_more_than_a_twentieth(uncertainty: Decimal) -> None:
    shown = rounded_uncertainty(uncertainty)
    assert len(shown.as_tuple().digits) == 2
    assert shown >= uncertainty * Decimal("0.95")
    assert rounded_uncertainty(shown) == shown

"""Typed numbers keep their digits; two-way numbers are asked about."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from labsite.ledger.fields import DigitsField, DigitsFormField, typed_decimal


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("3.0", "3.0"),
        ("3", "3"),
        ("3.00", "3.00"),
        ("23,5", "23.5"),
        (" 0,75 ", "0.75"),
        ("−0.5", "-0.5"),
        ("0.750", "0.750"),
        ("1000", "1000"),
        ("0.123", "0.123"),
    ],
)
def test_digits_are_kept(typed, kept):
    assert str(typed_decimal(typed)) == kept


@pytest.mark.parametrize(
    "typed", ["1,5.0", "0.95N", "", "abc", "1e3", "NaN", "Infinity", "1 000", "0x10", "١٢", "--1", "1.", ".5"]
)
def test_what_is_not_a_number_is_refused_naming_it(typed):
    with pytest.raises(ValueError, match="is not a number") as refusal:
        typed_decimal(typed)
    assert f"“{typed}”" in str(refusal.value)


@pytest.mark.parametrize("typed", ["1.234", "1,234", "12.500", "999,999"])
def test_what_reads_two_ways_is_asked(typed):
    with pytest.raises(ValueError, match="two ways"):
        typed_decimal(typed)


@pytest.mark.parametrize("text", ["3.0", "3.00", "1E+3", "0.00000001", "-0"])
def test_column_keeps_digits_without_exponent(text):
    field = DigitsField()
    stored = field.get_prep_value(Decimal(text))
    assert stored is not None
    assert "E" not in stored
    assert field.from_db_value(stored, None, None) == Decimal(text)


def test_column_keeps_nothing_as_nothing():
    field = DigitsField()
    assert (field.get_prep_value(None), field.from_db_value("", None, None), field.to_python("")) == (None, None, None)


def test_form_field_says_what_can_be_meant():
    field = DigitsFormField(unit="mm", low=Decimal("0.01"), high=Decimal(100))
    assert str(field.clean("3.0")) == "3.0"
    with pytest.raises(ValidationError, match=r"500 mm is outside what can be meant here \(0.01 to 100\)"):
        field.clean("500")


@pytest.mark.parametrize(("typed", "kept"), [("1.760", "1.760"), ("1,760", "1.760"), ("0.430", "0.430"), ("2", "2")])
def test_a_figure_read_to_a_thousandth_is_a_fraction(typed, kept):
    assert str(typed_decimal(typed, thousandths=True)) == kept

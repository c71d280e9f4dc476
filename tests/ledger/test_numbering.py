"""Numbers with a check digit. Reference: ISO/IEC 7064 MOD 11,10; its published example 0794 → check 5 (0794 5)."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labsite.ledger.numbering import (
    NumberKind,
    ReadNumber,
    grouped,
    instrument_number,
    order_number,
    piece_number,
    read_number,
    with_check_digit,
)


def reference_check_digit(body: str) -> str:
    """ISO/IEC 7064 hybrid system MOD 11,10, written out independently of the library."""
    product = 10
    for character in body:
        total = (int(character) + product) % 10 or 10
        product = total * 2 % 11
    return str((11 - product) % 10)


def test_reference_itself_gives_the_standards_example():
    assert reference_check_digit("0794") == "5"


@given(st.integers(0, 99), st.integers(1, 9999))
def test_order_number_ends_with_the_standards_check_digit(year, serial):
    number = order_number(2000 + year, serial)
    assert number == f"{year:02d}{serial:04d}" + reference_check_digit(f"{year:02d}{serial:04d}")
    assert read_number(number) == read_number("-".join(grouped(number)))


@given(st.integers(1, 999))
def test_piece_number_carries_its_orders_number(serial):
    number = piece_number(order_number(2026, 414), serial)
    assert (number[:6], number[6:9], read_number(number).kind) == ("260414", f"{serial:03d}", NumberKind.PIECE)


@given(st.integers(1, 999), st.integers(0, 9), st.integers(0, 9))
def test_every_single_wrong_digit_is_noticed(serial, place, digit):
    number = piece_number("2604140", serial)
    wrong = number[:place] + str(digit) + number[place + 1 :]
    if wrong != number:
        with pytest.raises(ValueError, match="check digit"):
            read_number(wrong)


def test_kinds_are_told_apart_by_length():
    numbers = [instrument_number(1), order_number(2026, 1), piece_number("2600010", 1)]
    assert [read_number(number).kind for number in numbers] == list(NumberKind)


@pytest.mark.parametrize(
    ("call", "arguments"),
    [
        (order_number, (2026, 0)),
        (order_number, (2026, 10000)),
        (piece_number, ("2604140", 0)),
        (piece_number, ("2604140", 1000)),
        (instrument_number, (0,)),
        (instrument_number, (100000,)),
    ],
)
def test_serials_outside_the_series_are_refused(call, arguments):
    with pytest.raises(ValueError, match="outside"):
        call(*arguments)


@pytest.mark.parametrize("text", ["", "26O4145", "26-0414-①", "²604145", "TC-05", "26'0414"])
def test_foreign_characters_are_refused_with_a_sentence(text):
    with pytest.raises(ValueError, match="“"):
        read_number(text)


def test_a_years_orders_are_all_different():
    numbers = [order_number(2026, serial) for serial in range(1, 10000)]
    assert len(set(numbers)) == len(numbers)
    assert all(a < b for a, b in itertools.pairwise(number[:6] for number in numbers))


@pytest.mark.parametrize("serial", [1, 42, 9999])
def test_an_order_typed_without_its_check_digit_is_that_order(serial):
    number = order_number(2026, serial)
    expected = ReadNumber(NumberKind.ORDER, number)
    assert [with_check_digit(typed) for typed in (number[:-1], grouped(number)[0])] == [expected, expected]


def test_a_piece_typed_without_its_check_digit_is_that_piece():
    number = piece_number(order_number(2026, 11), 2)
    assert with_check_digit("26-0011-002") == ReadNumber(NumberKind.PIECE, number)


@pytest.mark.parametrize("text", ["", "26", "26-0011-5", "26-0011-002-7", "26-00l1", "²²²²²²"])
def test_anything_else_has_no_check_digit_to_add(text):
    assert with_check_digit(text) is None

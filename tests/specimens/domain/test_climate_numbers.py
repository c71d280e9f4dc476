"""Single cells: decimal marks, groups of three, faults. Spellings from public bug reports (globalize #288)."""

import pytest

from specimens.domain.climate_numbers import decimal_mark_evidence, is_code_number, read_number

NARROW, NO_BREAK, THIN = "\u202f", "\u00a0", "\u2009"


@pytest.mark.parametrize(
    ("text", "mark", "value"),
    [
        ("23.5", ".", 23.5),
        ("23,5", ",", 23.5),
        ("-0,25", ",", -0.25),
        ("\u22125.0", ".", -5.0),
        (f"1{NARROW}200,5", ",", 1200.5),
        (f"1{NO_BREAK}200,5", ",", 1200.5),
        (f"1{THIN}200,5", ",", 1200.5),
        ("1 200,5", ",", 1200.5),
        ("1'200,5", ",", 1200.5),
        ("1’200.5", ".", 1200.5),
        ("1.200,5", ",", 1200.5),
        ("1,200.5", ".", 1200.5),
        ("1.200.300", ",", 1200300.0),
        (".5", ".", 0.5),
        ("2.3e1", ".", 23.0),
        (" 40 ", ".", 40.0),
        ("23.5 °C", ".", 23.5),
        ("50.1%", ".", 50.1),
    ],
)
def test_numbers_in_many_notations(text: str, mark: str, value: float) -> None:
    token = read_number(text, decimal_mark=mark)
    assert (token.kind, token.value) == ("value", value)


@pytest.mark.parametrize(
    ("text", "mark"), [("1.200", ","), ("1,200", "."), ("23,4 ", "."), ("23.", "."), ("12 34", "."), ("1.2.3", ".")]
)
def test_cells_that_can_be_read_in_two_ways_have_no_value(text: str, mark: str) -> None:
    token = read_number(text, decimal_mark=mark)
    assert (token.kind, token.value) == ("doubtful", None)


@pytest.mark.parametrize(("meant", "value"), [("decimal", 1.2), ("thousands", 1200.0), ("missing", None)])
def test_a_doubtful_cell_takes_the_answer_of_a_person(meant: str, value: float | None) -> None:
    assert read_number("1.200", decimal_mark=",", doubtful=meant).value == value


@pytest.mark.parametrize("text", ["---", "OL", "NaN", "#N/A", "*****", "1.#QNAN", "Open", "-", "inf", "two"])
def test_texts_without_a_value(text: str) -> None:
    token = read_number(text, decimal_mark=".")
    assert (token.kind, token.value) == ("fault", None)


def test_an_empty_cell_is_blank_and_not_zero() -> None:
    assert [read_number(text, decimal_mark=".").kind for text in ("", "  ", NO_BREAK)] == ["blank"] * 3


@pytest.mark.parametrize("text", ["999", "999.9", "-999.9", "-9999", "9999.99", "-888.88", "3276.7", "-127", "65535"])
def test_numbers_that_are_codes(text: str) -> None:
    assert is_code_number(text, float(text))


@pytest.mark.parametrize("text", ["99.9", "99", "88.8", "127", "85.0", "23.9", "98.99", "0"])
def test_numbers_that_are_readings(text: str) -> None:
    assert not is_code_number(text, float(text))


def test_evidence_for_the_decimal_mark() -> None:
    cells = [("23.1", 3), ("23,4", 1), ("23.100", 2), ("1 200,5", 1), ("0.125", 1), ("40", 9), ("OL", 2)]
    assert decimal_mark_evidence(cells) == {".": 4, ",": 2, "open": 2}

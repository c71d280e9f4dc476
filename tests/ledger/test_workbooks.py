"""Tables as XLSX and CSV, read back by openpyxl and csv: nothing runs, numbers keep their digits, bytes repeat."""

import csv
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from io import BytesIO, StringIO

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from labsite.ledger.workbooks import MOST_ROWS, Table, csv_bytes, file_name, looks_like_formula, workbook_bytes

NOW = datetime(2026, 3, 10, 11, 0, tzinfo=UTC)
D = Decimal


def read_back(*rows, title="Points"):
    """The cells of the only sheet, its heading left out."""
    table = Table(title, ("A", "B", "C")[: len(rows[0])], tuple(rows))
    book = openpyxl.load_workbook(BytesIO(workbook_bytes([table], title="Test", made_at=NOW)))
    return [list(row) for row in book.worksheets[0].iter_rows(min_row=2)]


def csv_back(*rows):
    table = Table("T", ("A", "B", "C")[: len(rows[0])], tuple(rows))
    content = csv_bytes(table)
    assert content.startswith(b"\xef\xbb\xbf")
    return list(csv.reader(StringIO(content.decode("utf-8-sig"), newline="")))[1:]


# The list of the OWASP page “CSV Injection” (= + - @ tab carriage return), the usual payloads, and full-width signs.
FORMULAS = [
    "=1+1", "+1", "-1+cmd|' /C calc'!A0", "@SUM(A1)", "\t=1", "\r=1", "\n=1", " =1", "=HYPERLINK(\"http://x.invalid\")",
    "\uff1d1+1", "\uff0b1", "\uff0d1", "\uff20A1",
]  # fmt: skip
PLAIN = [
    "TC-05",
    "type K, class 1",
    "1.0 mm",
    "a=b",
    "−0.9 K",
    "'quoted",
    "0042",
    "http://x.invalid",
    "É ☃ 漢字",
    "3-4",
]


@pytest.mark.parametrize("text", FORMULAS)
def test_what_looks_like_a_formula_is_text_and_stays_text(text):
    assert looks_like_formula(text)
    ((cell,),) = read_back((text,))
    assert (cell.data_type, cell.value.replace("_x000D_", "\r"), cell.quotePrefix) == ("s", text, True)
    assert csv_back((text,)) == [["'" + text]]


@pytest.mark.parametrize("text", PLAIN)
def test_other_text_is_left_alone(text):
    assert not looks_like_formula(text)
    ((cell,),) = read_back((text,))
    assert (cell.data_type, cell.value, cell.quotePrefix, cell.hyperlink) == ("s", text, False, None)
    assert csv_back((text,)) == [[text]]


@pytest.mark.parametrize(
    ("number", "pattern"),
    [
        (D("3.0"), "0.0"), (D("-3.90"), "0.00"), (D("0"), "0"), (D("-1"), "0"), (D("1E+3"), "0"), (7, "0"),
        (D("0.0000001"), "0.0000000"), (D("123456789012.345"), "0.000"),
    ],
)  # fmt: skip
def test_numbers_stay_numbers_and_show_their_digits(number, pattern):
    ((cell,),) = read_back((number,))
    assert (cell.data_type, D(str(cell.value)), cell.number_format) == ("n", number, pattern)
    assert csv_back((number,)) == [[format(D(number), "f")]]


@pytest.mark.parametrize("number", [D("1.2345678901234567"), D("NaN"), D("-Infinity"), D("1E+40")])
def test_a_number_the_format_cannot_hold_is_a_text_with_all_its_digits(number):
    ((cell,),) = read_back((number,))
    assert (cell.data_type, cell.value) == ("s", format(number, "f"))


@given(st.decimals(allow_nan=False, allow_infinity=False, places=3, min_value=-(10**9), max_value=10**9))
def test_any_number_comes_back_as_it_was(number):
    ((cell,),) = read_back((number,))
    assert (cell.data_type, D(repr(cell.value)), cell.number_format) == ("n", number, "0.000")
    assert csv_back((number,)) == [[format(number, "f")]]


@given(st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=60))
def test_no_text_ever_becomes_a_formula(text):
    ((cell,),) = read_back((text,))
    assert cell.data_type == "s"
    ((written,),) = csv_back((text,))
    assert not looks_like_formula(written)
    assert written.removeprefix("'") == text.removeprefix("'")


def test_days_moments_yes_and_nothing():
    moment = datetime(2026, 3, 10, 12, 0, tzinfo=timezone(timedelta(hours=1)))
    rows = read_back((date(2026, 3, 2), moment, True), (date(1889, 1, 1), None, False))
    assert [[cell.value for cell in row] for row in rows] == [
        [datetime(2026, 3, 2), "2026-03-10T12:00:00+01:00", "yes"],  # noqa: DTZ001  (a day, as the reader gives it)
        ["1889-01-01", None, "no"],
    ]
    assert rows[0][0].number_format == "yyyy-mm-dd"
    assert csv_back((date(2026, 3, 2), moment, True), (None, "", False)) == [
        ["2026-03-02", "2026-03-10T12:00:00+01:00", "yes"], ["", "", "no"],
    ]  # fmt: skip


def test_the_same_input_gives_the_same_bytes():
    table = Table("T", ("A",), (("x",), (D("1.0"),)))
    made = [workbook_bytes([table], title="T", made_at=NOW) for _ in range(2)]
    assert made[0] == made[1]


def test_sheet_names_are_ones_a_workbook_takes_each_once():
    titles = ["A/B:[1]", "A/B:[1]", "'q'", "", "History", "x" * 60, "x" * 60, "\x07bell"]
    tables = [Table(title, ("A",), ()) for title in titles]
    book = openpyxl.load_workbook(BytesIO(workbook_bytes(tables, title="T", made_at=NOW)))
    assert book.sheetnames == [
        "A B  1", "A B  1 2", "q", "Sheet", "History 2", "x" * 27, "x" * 27 + " 2", "bell",
    ]  # fmt: skip


def test_a_text_too_long_for_a_cell_says_what_is_left_out():
    ((cell,),) = read_back(("é" * 40_000,))
    assert cell.value == "é" * 16_383 + " … (cut; it has 40000 characters)"
    ((whole,),) = read_back(("é" * 32_767,))
    assert whole.value == "é" * 32_767


def test_too_many_rows_are_refused():
    with pytest.raises(ValueError, match="a sheet holds 1048575"):
        workbook_bytes([Table("T", (), ((),) * (MOST_ROWS + 1))], title="T", made_at=NOW)


@pytest.mark.parametrize(
    ("parts", "name"),
    [
        (("record", "TC-05", "2026-03-03"), "record-TC-05-2026-03-03.xlsx"),
        (("../../etc/passwd",), "etc-passwd.xlsx"),
        (("a\r\nSet-Cookie: x",), "a-Set-Cookie-x.xlsx"),
        (("Prüfung é",), "Prufung-e.xlsx"),
        (("漢字",), "export.xlsx"),
        (("con",), "x-con.xlsx"),
        (("x" * 300,), "x" * 100 + ".xlsx"),
        (('"; rm',), "rm.xlsx"),
    ],
)
def test_file_names_are_plain(parts, name):
    assert file_name(*parts, ending="xlsx") == name

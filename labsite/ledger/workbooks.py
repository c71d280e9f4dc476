"""Tables as files for a spreadsheet: XLSX and CSV, in which no text runs and every number keeps its digits."""

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from io import BytesIO, StringIO
from unicodedata import normalize

import xlsxwriter
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

type Cell = str | int | Decimal | bool | date | datetime | None
"""A text, a number, a yes or no, a day, an aware moment, or nothing."""

XLSX_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
CSV_TYPE = "text/csv; charset=utf-8"
MOST_ROWS = 1_048_575
"""Rows a sheet holds beside its heading, by the limits of the format."""
_LONGEST_TEXT = 32_767
_MOST_DIGITS = 15
_FORMULA_STARTS = tuple("=+-@\uff1d\uff0b\uff0d\uff20")
_RESERVED = {"con", "prn", "aux", "nul", *(f"{name}{n}" for name in ("com", "lpt") for n in range(1, 10))}


@dataclass(frozen=True, slots=True)
class Table:
    """One table: its title, its column headings, its rows."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


def workbook_bytes(tables: Iterable[Table], *, title: str, made_at: datetime) -> bytes:
    """An XLSX workbook with a sheet for each table; the same bytes for the same input.

    Numbers are numbers shown with their digits; one of more than 15 significant digits, which the format cannot hold,
    is a text. Texts are never formulas or links. ValueError for a table that is longer than a sheet.
    """
    target = BytesIO()
    book = xlsxwriter.Workbook(target, {"in_memory": True, "remove_timezone": True})
    book.set_properties({"title": title, "created": made_at.replace(tzinfo=None)})
    formats = _Formats(book)
    names: set[str] = set()
    for table in tables:
        if len(table.rows) > MOST_ROWS:
            raise ValueError(f"“{table.title}” has {len(table.rows)} rows; a sheet holds {MOST_ROWS}.")
        sheet = book.add_worksheet(_sheet_name(table.title, names))
        for column, heading in enumerate(table.columns):
            sheet.write_string(0, column, heading, formats.heading)
            sheet.set_column(column, column, min(40, max(10, len(heading) + 2)))
        sheet.freeze_panes(1, 0)
        for number, row in enumerate(table.rows, 1):
            for column, cell in enumerate(row):
                _write(sheet, number, column, cell, formats)
    book.close()
    return target.getvalue()


def csv_bytes(table: Table) -> bytes:
    """The table as CSV by RFC 4180, UTF-8 with its mark, a point in decimals, days and moments by ISO 8601.

    A text that a spreadsheet would take for a formula stands behind an apostrophe; a number never does.
    """
    target = StringIO()
    writer = csv.writer(target, lineterminator="\r\n")
    writer.writerow(_neutral(heading) for heading in table.columns)
    writer.writerows([_csv_text(cell) for cell in row] for row in table.rows)
    return target.getvalue().encode("utf-8-sig")


def looks_like_formula(text: str) -> bool:
    """Whether a spreadsheet may take a text for a formula: by its first sign, spaces and breaks before it left out.

    Source: the list of the OWASP page on CSV injection, with the full-width signs added.
    """
    return text[:1] in ("\t", "\r", "\n") or text.lstrip().startswith(_FORMULA_STARTS)


def file_name(*parts: str, ending: str) -> str:
    """A file name of letters, digits, points and hyphens that every system takes, from any words."""
    plain = normalize("NFKD", "-".join(part for part in parts if part)).encode("ascii", "ignore").decode()
    kept = "".join(sign if sign.isalnum() or sign in "._" else "-" for sign in plain)
    stem = "-".join(piece for piece in kept.split("-") if piece).strip("._-")[:100].strip("._-") or "export"
    return f"{f'x-{stem}' if stem.split('.')[0].casefold() in _RESERVED else stem}.{ending}"


class _Formats:
    """The formats of one workbook, each made once."""

    def __init__(self, book: xlsxwriter.Workbook) -> None:
        self._book = book
        self._numbers: dict[str, Format] = {}
        self.heading = book.add_format({"bold": True, "bottom": 1})
        self.quoted = book.add_format({"quote_prefix": True})
        self.day = book.add_format({"num_format": "yyyy-mm-dd"})

    def number(self, text: str) -> Format:
        """The format that shows as many decimals as `text` has."""
        decimals = len(text.partition(".")[2])
        pattern = f"0.{'0' * decimals}" if decimals else "0"
        if pattern not in self._numbers:
            self._numbers[pattern] = self._book.add_format({"num_format": pattern})
        return self._numbers[pattern]


def _write(sheet: Worksheet, row: int, column: int, cell: Cell, formats: _Formats) -> None:
    match cell:
        case None | "":
            return
        case bool():
            sheet.write_string(row, column, "yes" if cell else "no")
        case int() | Decimal() if _fits(cell):
            sheet.write_number(row, column, float(cell), formats.number(_digits(cell)))
        case date() if not isinstance(cell, datetime) and cell.year >= 1900:
            sheet.write_datetime(row, column, datetime(cell.year, cell.month, cell.day), formats.day)  # noqa: DTZ001
        case _:
            text = _cut(_text(cell))
            sheet.write_string(row, column, text, formats.quoted if looks_like_formula(text) else None)


def _fits(number: int | Decimal) -> bool:
    number = Decimal(number)
    return number.is_finite() and len(number.as_tuple().digits) <= _MOST_DIGITS and abs(number.adjusted()) < 30


def _digits(number: int | Decimal) -> str:
    return format(Decimal(number), "f")


def _text(cell: Cell) -> str:
    match cell:
        case None:
            return ""
        case bool():
            return "yes" if cell else "no"
        case int() | Decimal():
            return _digits(cell)
        case datetime():
            return cell.isoformat(timespec="seconds")
        case date():
            return cell.isoformat()
    return cell


def _csv_text(cell: Cell) -> str:
    return _neutral(cell) if isinstance(cell, str) else _text(cell)


def _neutral(text: str) -> str:
    return f"'{text}" if looks_like_formula(text) else text


def _cut(text: str) -> str:
    """A text that fits a cell; what is left out is said."""
    if len(text.encode("utf-16-le", "surrogatepass")) // 2 <= _LONGEST_TEXT:
        return text
    return f"{text[: _LONGEST_TEXT // 2]} … (cut; it has {len(text)} characters)"


def _sheet_name(title: str, taken: set[str]) -> str:
    """A name a workbook takes: up to 31 characters, none of []:*?/\\, no apostrophe at its ends, each once."""
    plain = "".join(" " if sign in "[]:*?/\\" or not sign.isprintable() else sign for sign in title)
    stem = plain.strip("' ")[:27].strip("' ") or "Sheet"
    name, number = stem, 2
    while name.casefold() in taken or name.casefold() == "history":
        name, number = f"{stem} {number}", number + 1
    taken.add(name.casefold())
    return name

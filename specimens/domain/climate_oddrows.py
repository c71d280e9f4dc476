"""Rows that are not readings: repeated headings, closing summaries, half lines where a file was cut."""

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from labsite.ledger.wording import capitalised
from specimens.domain.climate_arrays import FloatArray
from specimens.domain.climate_bytes import Opened
from specimens.domain.climate_layout import Layout
from specimens.domain.climate_numbers import plain_text, read_number
from specimens.domain.climate_rows import Rows, TextTable, Wanted

_SUMMARY: dict[str, str] = {
    **dict.fromkeys(("minimum", "min", "min.", "lowest", "minimal", "kleinster wert"), "minimum"),
    **dict.fromkeys(("maximum", "max", "max.", "highest", "maximal", "größter wert"), "maximum"),
    **dict.fromkeys(
        ("average", "mean", "avg", "avg.", "mittelwert", "durchschnitt", "moyenne", "media", "promedio"), "mean"
    ),
}


@dataclass(frozen=True, slots=True)
class OtherRows:
    """What the rows without a time were, as sentences, and the lines at which a heading stands again."""

    notices: tuple[str, ...]
    heading_lines: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Totals:
    """Minimum, maximum and mean of a column as read in the file's unit."""

    name: str
    position: int
    values: FloatArray

    def figure(self, label: str) -> float:
        known = self.values[~np.isnan(self.values)]
        if not known.size:
            return float("nan")
        return float(known.min() if label == "minimum" else known.max() if label == "maximum" else known.mean())


def other_rows(rows: Rows, layout: Layout, totals: Sequence[Totals], decimal_mark: str | None) -> OtherRows:
    """Explain every row that has no time; figures of a closing summary are compared with ours."""
    headings = [plain_text(heading) for heading in layout.headings]
    notices: list[str] = []
    repeated: list[int] = []
    unknown: list[int] = []
    summary: list[int] = []
    for line, fields in rows.odd:
        texts = [plain_text(field) for field in fields]
        label = next((found for text in texts if (found := _SUMMARY.get(text.casefold().rstrip(":")))), None)
        if texts[: len(headings)] == headings:
            repeated.append(line)
        elif label:
            summary.append(line)
            notices += _differences(line, label, texts, totals, decimal_mark or ".")
        elif sum(bool(text) for text in texts) > 1 and not summary:
            unknown.append(line)
    if repeated:
        notices.insert(0, f"The heading stands again in {_lines_text(repeated)}: several downloads in one file.")
    if summary:
        notices.insert(0, f"A closing summary in {_lines_text(summary)} was not read as readings.")
    if unknown:
        notices.append(f"{capitalised(_lines_text(unknown))}: no time can be read there, not used.")
    if rows.overlong:
        notices.append(f"{capitalised(_lines_text(rows.overlong))}: more fields than the heading has, not used.")
    if rows.odd_total > len(rows.odd):
        notices.append(f"{rows.odd_total} lines have no time; the first {len(rows.odd)} were looked at.")
    return OtherRows(tuple(notices), tuple(repeated))


def _differences(line: int, label: str, texts: Sequence[str], totals: Sequence[Totals], decimal_mark: str) -> list[str]:
    found = []
    for total in totals:
        text = texts[total.position] if total.position < len(texts) else ""
        theirs = read_number(text, decimal_mark=decimal_mark).value
        ours = total.figure(label)
        if theirs is None or np.isnan(ours):
            continue
        digits = len(text.split(decimal_mark)[1]) if decimal_mark in text else 0
        slack = 0.5 * 10**-digits + 1e-9 if label == "mean" else 1e-9
        if abs(theirs - ours) > slack:
            found.append(
                f"The file's own {label} of {total.name} in line {line} is {text}; its readings give {ours:.{digits}f}."
            )
    return found


def _lines_text(lines: Sequence[int]) -> str:
    shown = ", ".join(str(line) for line in lines[:10])
    more = f" and {len(lines) - 10} more" if len(lines) > 10 else ""
    return f"line{'s' if len(lines) > 1 else ''} {shown}{more}"


def cut_lines(found: Opened, layout: Layout, wanted: Wanted, rows: Rows) -> list[int]:
    """Lines that end where the file is damaged or simply stops, and whose last value used cannot be whole."""
    suspects = set(found.cut_ends)
    if not found.body.endswith(b"\n"):
        suspects.add(found.body.count(b"\n") + 1)
    return [line for line in sorted(suspects) if _is_cut(_line_text(found.body, line), layout, wanted, rows)]


def _line_text(body: bytes, line: int) -> str:
    start = 0
    for _ in range(line - 1):
        start = body.find(b"\n", start) + 1
    end = body.find(b"\n", start)
    return body[start : end if end >= 0 else len(body)].decode("utf-8", "replace").rstrip("\r")


def _is_cut(text: str, layout: Layout, wanted: Wanted, rows: Rows) -> bool:
    fields = next(iter(csv.reader([text], delimiter=layout.separator, skipinitialspace=True)), [])
    if not fields:
        return False
    last = len(fields) - 1
    needed = [
        wanted.time,
        wanted.temperature,
        *(place for place in (wanted.clock, wanted.humidity) if place is not None),
    ]
    if max(needed) > last:
        return True
    if max(needed) < last:
        return False
    for position, table in ((wanted.temperature, rows.temperature), (wanted.humidity, rows.humidity)):
        if position == last:
            return not _is_whole(plain_text(fields[last]), table)
    return False


def _is_whole(text: str, table: TextTable) -> bool:
    """Whether a value has as many digits as the column's other values; one seen in another row is whole."""
    codes = table.all_codes()
    code = table.index.get(text)
    if code is not None and int((codes == code).sum()) > 1:
        return True
    others = [plain_text(other) for at, other in enumerate(table.texts) if at != code]
    return not others or _shape(text) in {_shape(other) for other in others}


def _shape(text: str) -> tuple[int, int]:
    whole, _, part = re.sub(r"[^\d.,]", "", text).replace(",", ".").partition(".")
    return len(whole), len(part)

"""The shape of a recorder's file: its separator, where the readings begin, the heading above them, the preamble."""

import csv
import io
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from specimens.domain.climate_answers import CHOICES, ClimateRefused
from specimens.domain.climate_columns import column_of, is_unit_text
from specimens.domain.climate_numbers import is_fault_word, is_number_like, plain_text
from specimens.domain.climate_stamps import stamp_kind

_HEAD_BYTES = 256 * 1024
_TAIL_BYTES = 32 * 1024
_HEAD_ROWS = 1500

Row = tuple[int, list[str]]


@dataclass(frozen=True, slots=True)
class Layout:
    """Where things stand. Line numbers count from 1 in the cleaned text; `time_kind` is "stamp" or "number"."""

    separator: str
    header_line: int
    headings: tuple[str, ...]
    units: tuple[str, ...]
    preamble: tuple[str, ...]
    first_line: int
    time_position: int
    time_kind: str
    sample: tuple[tuple[str, ...], ...]
    kinds: tuple[str, ...]


def cell_kind(text: str) -> str:
    """stamp, date, clock, number, blank, fault or text."""
    if not plain_text(text):
        return "blank"
    stamp = stamp_kind(text)
    if stamp is not None:
        return stamp
    if is_number_like(text):
        return "number"
    return "fault" if is_fault_word(text) else "text"


def _rows(text: str, separator: str, limit: int) -> list[Row]:
    """Rows with the number of the line each begins on; a quoted heading may span lines."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, skipinitialspace=True)
    rows: list[Row] = []
    begins = 1
    try:
        for fields in reader:
            rows.append((begins, fields))
            begins = reader.line_num + 1
            if len(rows) >= limit:
                break
    except csv.Error:  # a field beyond csv's size limit: what was read so far decides
        pass
    return rows


def _samples(body: bytes) -> tuple[str, str]:
    head = body[:_HEAD_BYTES]
    if len(body) > _HEAD_BYTES:
        head = head[: head.rfind(b"\n") + 1]
        tail = body[max(len(head), len(body) - _TAIL_BYTES) :]
        tail = tail[tail.find(b"\n") + 1 :]
    else:
        tail = b""
    return head.decode("utf-8", "replace"), tail.decode("utf-8", "replace")


def _fit(rows: Sequence[Row], separator: str) -> tuple[float, int]:
    """How well a separator fits: rows with the commonest field count, weighed by how clean their fields are."""
    counts = Counter(len(fields) for _, fields in rows if any(field.strip() for field in fields))
    counts.pop(1, None)
    if not counts:
        return 0.0, 0
    width, number = max(counts.items(), key=lambda item: (item[1], item[0]))
    others = [mark for mark in CHOICES["separator"] if mark != separator]
    worth = seen = 0.0
    for _, fields in rows[:400]:
        if len(fields) != width:
            continue
        for field in fields:
            kind = cell_kind(field)
            worth += 1.0 if kind != "text" else 0.0 if any(mark in field for mark in others) else 0.5
            seen += 1
    return (number * worth / seen if seen else 0.0), width


def layout_of(body: bytes, *, name: str, separator: str | None = None) -> Layout:
    """Find separator, heading and first reading. Raises ClimateRefused when the file has no such shape.

    The separator is the one that gives the rows equal field counts, not the commonest character; the heading is the
    row above the first row of readings, not a fixed line.
    """
    head, tail = _samples(body)
    best: tuple[float, int, str, list[Row]] | None = None
    for mark in (separator,) if separator else CHOICES["separator"]:
        rows = _rows(head, mark, _HEAD_ROWS)
        worth, width = _fit([*rows, *_rows(tail, mark, _HEAD_ROWS)], mark)
        if width and (best is None or worth > best[0]):
            best = (worth, width, mark, rows)
    if best is None:
        raise ClimateRefused(
            f"{name} has no separator that gives its lines the same number of fields; "
            "it does not look like a recorder's table."
        )
    _, width, mark, rows = best
    table = [(line, fields) for line, fields in rows if any(plain_text(field) for field in fields)]
    position, kind = _time_position(table, width)
    first = _first_reading(table, width, position, kind)
    if first is None:
        heading = next((line for line, fields in table if _is_heading(fields)), None)
        found = "" if heading is None else f": line {heading} is a heading and nothing follows it that is a reading"
        raise ClimateRefused(f"{name} holds no readings{found}.")
    return _layout(head, table, first, mark=mark, position=position, kind=kind, name=name)


def _layout(head: str, table: list[Row], first: int, *, mark: str, position: int, kind: str, name: str) -> Layout:
    above = table[:first]
    units: list[str] = []
    if len(above) > 1 and _is_unit_row(above[-1][1]) and _is_heading(above[-2][1]):
        units = above.pop()[1]
    first_line, first_fields = table[first]
    if not above or len(above[-1][1]) < 2:
        raise ClimateRefused(
            f"{name} has no heading above its first reading in line {first_line}: "
            "without one nobody can tell which column is which; add a heading line such as time;temp °C;RH %."
        )
    header_line, headings = above[-1]
    extra = [field for field in first_fields[len(headings) :] if plain_text(field)]
    if extra:
        raise ClimateRefused(
            f"Line {first_line} has {len(first_fields)} fields where the heading in line {header_line} has "
            f"{len(headings)}: the separator “{mark}” may also stand inside numbers; export with another separator."
        )
    sample = tuple(tuple(fields) for _, fields in table[first : first + 400])
    kinds = tuple(
        Counter(cell_kind(row[index]) if index < len(row) else "blank" for row in sample).most_common(1)[0][0]
        for index in range(len(headings))
    )
    return Layout(
        separator=mark,
        header_line=header_line,
        headings=tuple(headings),
        units=tuple(units),
        preamble=tuple(head.splitlines()[: header_line - 1]),
        first_line=first_line,
        time_position=position,
        time_kind=kind,
        sample=sample,
        kinds=kinds,
    )


def _time_position(table: list[Row], width: int) -> tuple[int, str]:
    """The column that holds dates in most rows; failing that, numbers may count time (position decided by heading)."""
    found: Counter[int] = Counter()
    full = [fields for _, fields in table if len(fields) == width]
    for fields in full:
        kinds = [cell_kind(field) for field in fields]
        dated = next((index for index, kind in enumerate(kinds) if kind in ("stamp", "date")), None)
        if dated is not None:
            found[dated] += 1
    if found and sum(found.values()) * 3 >= len(full) - 1:
        return found.most_common(1)[0][0], "stamp"
    return -1, "number"


def _first_reading(table: list[Row], width: int, position: int, kind: str) -> int | None:
    for index, (_, fields) in enumerate(table):
        if kind == "stamp":
            if len(fields) > max(position, 1) and cell_kind(fields[position]) in ("stamp", "date"):
                others = [cell_kind(field) for at, field in enumerate(fields) if at != position]
                if any(other in ("number", "fault", "clock") for other in others) or all(o == "blank" for o in others):
                    return index
        elif len(fields) == width and _is_numeric(fields):
            return index
    return None


def _is_numeric(fields: list[str]) -> bool:
    kinds = [cell_kind(field) for field in fields if plain_text(field)]
    return len(kinds) > 1 and sum(kind in ("number", "fault") for kind in kinds) * 2 >= len(kinds) and "number" in kinds


def _is_heading(fields: list[str]) -> bool:
    cells = [field for field in fields if plain_text(field)]
    if len(cells) < 2 or any(cell_kind(cell) in ("stamp", "date", "clock", "number") for cell in cells):
        return False
    return any(re.search(r"[^\W\d_]", cell) for cell in cells)


def _is_unit_row(fields: list[str]) -> bool:
    return all(is_unit_text(field) for field in fields) and any(re.search(r"\w|%|°", field) for field in fields)


def time_heading_position(layout: Layout) -> int | None:
    """The numeric column whose heading speaks of time; None when no heading does."""
    for index, heading in enumerate(layout.headings):
        unit = layout.units[index] if index < len(layout.units) else ""
        if column_of(index + 1, heading, unit).meaning == "time":
            return index
    return None

"""The rows of a recorder's file, read in blocks: distinct texts are kept once, rows only as small numbers."""

import csv
import io
import warnings
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from specimens.domain.climate_answers import ClimateRefused
from specimens.domain.climate_arrays import BoolArray, IntArray, TimeArray
from specimens.domain.climate_layout import Layout
from specimens.domain.climate_numbers import is_number_like, plain_text
from specimens.domain.climate_stamps import ISO_STAMP, read_clock, read_date, split_stamp

_BLOCK_BYTES = 6 * 1024 * 1024
_WIDEST = 400
_KEPT_ODD_ROWS = 500

Texts = npt.NDArray[np.object_]


@dataclass(frozen=True, slots=True)
class Wanted:
    """Positions (from 0) of the columns that are used; clock is a separate column for the time of day."""

    time: int
    time_kind: str
    clock: int | None
    temperature: int
    humidity: int | None
    unit: int | None
    device: int | None

    def used(self) -> list[int]:
        every = (self.time, self.clock, self.temperature, self.humidity, self.unit, self.device)
        return [position for position in every if position is not None]


@dataclass(slots=True)
class TextTable:
    """Distinct texts of a column in order of appearance, the line each was first seen in and whether it is valid."""

    is_valid: Callable[[str], bool]
    texts: list[str] = field(default_factory=list)
    first_lines: list[int] = field(default_factory=list)
    valid: list[bool] = field(default_factory=list)
    index: dict[str, int] = field(default_factory=dict)
    parts: list[IntArray] = field(default_factory=list)

    def codes(self, values: Texts, lines: IntArray) -> IntArray:
        """A number for each text; texts not seen before join the table."""
        import pandas as pd

        local, distinct = pd.factorize(values)
        _, firsts = np.unique(local, return_index=True)
        mapped = np.empty(len(distinct), dtype=np.int64)
        for position, text in enumerate(distinct):
            code = self.index.get(text)
            if code is None:
                code = self.index[text] = len(self.texts)
                self.texts.append(text)
                self.first_lines.append(int(lines[firsts[position]]))
                self.valid.append(self.is_valid(text))
            mapped[position] = code
        return mapped[local] if len(distinct) else np.empty(0, dtype=np.int64)

    def all_codes(self) -> IntArray:
        """The numbers of every row kept so far."""
        if len(self.parts) != 1:
            self.parts = [np.concatenate(self.parts) if self.parts else np.empty(0, dtype=np.int32)]
        return self.parts[0]


def _always(_: str) -> bool:
    return True


@dataclass(slots=True)
class Rows:
    """Everything gathered from the rows. `lines` are lines of the cleaned text; arrays run over rows with a time."""

    wanted: Wanted
    lines: list[IntArray] = field(default_factory=list)
    wall: list[TimeArray] = field(default_factory=list)
    dates: TextTable = field(default_factory=lambda: TextTable(lambda text: read_date(text) is not None))
    clocks: TextTable = field(default_factory=lambda: TextTable(lambda text: not text or read_clock(text) is not None))
    counts: TextTable = field(default_factory=lambda: TextTable(is_number_like))
    temperature: TextTable = field(default_factory=lambda: TextTable(_always))
    humidity: TextTable = field(default_factory=lambda: TextTable(_always))
    units: TextTable = field(default_factory=lambda: TextTable(_always))
    devices: TextTable = field(default_factory=lambda: TextTable(_always))
    odd: list[tuple[int, tuple[str, ...]]] = field(default_factory=list)
    odd_total: int = 0
    overlong: list[int] = field(default_factory=list)
    remarks: list[tuple[int, dict[int, str]]] = field(default_factory=list)
    filled: Counter[int] = field(default_factory=Counter)

    @property
    def count(self) -> int:
        """How many rows have a time."""
        return sum(part.size for part in self.lines)

    def value_tables(self) -> list[tuple[int | None, TextTable]]:
        wanted = self.wanted
        return [
            (wanted.temperature, self.temperature),
            (wanted.humidity, self.humidity),
            (wanted.unit, self.units),
            (wanted.device, self.devices),
        ]


def read_rows(body: bytes, layout: Layout, wanted: Wanted) -> Rows:
    """Read every row below the heading with pandas' C reader, a few megabytes at a time, so that memory stays flat."""
    rows = Rows(wanted)
    for block, first_line in _blocks(body, layout.first_line):
        frame = _frame(block, layout)
        columns = [frame[position].to_numpy(dtype=object) for position in range(frame.shape[1])]
        lines = np.arange(first_line, first_line + len(frame), dtype=np.int64)
        _take_block(rows, columns, lines, len(layout.headings))
    return rows


def _blocks(body: bytes, first_line: int) -> Iterator[tuple[bytes, int]]:
    start = 0
    for _ in range(first_line - 1):
        start = body.find(b"\n", start) + 1
    line = first_line
    while start < len(body):
        end = min(start + _BLOCK_BYTES, len(body))
        if end < len(body):
            newline = body.find(b"\n", end)
            end = len(body) if newline < 0 else newline + 1
        block = body[start:end]
        yield block, line
        line += block.count(b"\n")
        start = end


def _frame(block: bytes, layout: Layout) -> Any:
    """One block as a frame of texts, wide enough for its longest row, one row per line (blank lines too)."""
    import pandas as pd

    mark = layout.separator.encode()
    width = max(max((line.count(mark) for line in block.split(b"\n")), default=0) + 1, len(layout.headings))
    if width > _WIDEST:
        raise ClimateRefused(f"A line holds {width} fields; a record of a climate has a few columns only.")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", pd.errors.ParserWarning)
        # an odd number of quotes means that one stands for inches or is damaged: then none of them quotes
        try:
            return _texts(block, layout.separator, width, with_quotes=block.count(b'"') % 2 == 0)
        except pd.errors.ParserError:
            return _texts(block, layout.separator, width, with_quotes=False)


def _texts(block: bytes, separator: str, width: int, *, with_quotes: bool) -> Any:
    import pandas as pd

    return pd.read_csv(
        io.BytesIO(block),
        sep=separator,
        header=None,
        names=list(range(width)),
        dtype=object,
        na_filter=False,
        skip_blank_lines=False,
        skipinitialspace=True,
        index_col=False,
        engine="c",
        encoding_errors="replace",
        quoting=csv.QUOTE_MINIMAL if with_quotes else csv.QUOTE_NONE,
    )


def _take_block(rows: Rows, columns: Sequence[Texts], lines: IntArray, width: int) -> None:
    wanted = rows.wanted
    filled = [column != "" for column in columns]
    anything = np.logical_or.reduce(filled)
    beyond = np.logical_or.reduce(filled[width:]) if len(filled) > width else np.zeros(lines.shape, dtype=np.bool_)
    rows.overlong.extend(lines[beyond].tolist())
    good, wall, codes = _take_times(rows, columns, lines)
    good &= anything & ~beyond
    odd = anything & ~good & ~beyond
    rows.odd_total += int(odd.sum())
    for at in np.flatnonzero(odd)[: max(_KEPT_ODD_ROWS - len(rows.odd), 0)].tolist():
        rows.odd.append((int(lines[at]), tuple(column[at] for column in columns)))
    rows.lines.append(lines[good])
    rows.wall.append(wall[good])
    for table, each in codes:
        table.parts.append(each[good].astype(np.int32))
    for position, table in rows.value_tables():
        if position is not None:
            table.parts.append(table.codes(columns[position][good], lines[good]).astype(np.int32))
    used = set(wanted.used())
    spare = [position for position in range(min(width, len(columns))) if position not in used]
    for position in spare:
        rows.filled[position] += int(filled[position][good].sum())
    empty = good & ~filled[wanted.temperature]
    if wanted.humidity is not None:
        empty &= ~filled[wanted.humidity]
    for at in np.flatnonzero(empty).tolist():
        texts = {position: columns[position][at] for position in spare if filled[position][at]}
        if texts:
            rows.remarks.append((int(lines[at]), texts))


def _take_times(
    rows: Rows, columns: Sequence[Texts], lines: IntArray
) -> tuple[BoolArray, TimeArray, list[tuple[TextTable, IntArray]]]:
    """(rows that have a time, wall times where they are plain ISO, codes of the texts where they are not)."""
    texts = columns[rows.wanted.time]
    nothing = np.full(lines.shape, np.datetime64("NaT", "us"), dtype="datetime64[us]")
    absent = np.full(lines.shape, -1, dtype=np.int64)
    if rows.wanted.time_kind == "number":
        codes = rows.counts.codes(texts, lines)
        valid = np.asarray(rows.counts.valid, dtype=np.bool_)[codes] & (texts != "")
        return valid, nothing, [(rows.counts, codes)]
    if rows.wanted.clock is None:
        plain = _plain_iso(texts)
        if plain is not None:
            return np.ones(lines.shape, dtype=np.bool_), plain, [(rows.dates, absent), (rows.clocks, absent)]
        parts = [split_stamp(plain_text(text)) for text in texts]
        days = np.array([day for day, _ in parts], dtype=object)
        clocks = np.array([clock for _, clock in parts], dtype=object)
    else:
        days, clocks = texts, columns[rows.wanted.clock]
    day_codes, clock_codes = rows.dates.codes(days, lines), rows.clocks.codes(clocks, lines)
    valid = np.asarray(rows.dates.valid, dtype=np.bool_)[day_codes]
    valid &= np.asarray(rows.clocks.valid, dtype=np.bool_)[clock_codes]
    return valid, nothing, [(rows.dates, day_codes), (rows.clocks, clock_codes)]


def _plain_iso(texts: Texts) -> TimeArray | None:
    """Wall times of a block written throughout as 2026-11-17 08:00[:00], None when any row is written otherwise."""
    import pandas as pd

    if not len(texts) or not ISO_STAMP.fullmatch(texts[0]) or len(set(map(len, texts))) != 1:
        return None
    try:
        moments = pd.to_datetime(pd.Series(texts, dtype=object), format="ISO8601")
    except ValueError:
        return None
    if moments.dt.tz is not None or bool(moments.isna().any()):
        return None
    return np.asarray(moments.to_numpy(), dtype="datetime64[us]")

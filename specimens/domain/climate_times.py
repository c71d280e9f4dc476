"""When each row was read: texts to wall times under one date order, or counts of time to wall times or instants."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from specimens.domain.climate_answers import Answers, ClimateRefused, Option, Question
from specimens.domain.climate_arrays import FloatArray, IntArray, TimeArray
from specimens.domain.climate_columns import Column
from specimens.domain.climate_dates import DateOrder, date_order, resolved
from specimens.domain.climate_numbers import read_number
from specimens.domain.climate_rows import Rows
from specimens.domain.climate_stamps import days_since_epoch, read_clock, read_date

_EARLIEST, _LATEST = np.datetime64("1970-01-01", "us"), np.datetime64("2200-01-01", "us")
_NO_DATE = DateOrder(None, "times are counted, not written as dates")
_DAY_US = 86_400_000_000
_SECONDS = {"ms": 0.001, "s": 1.0, "min": 60.0, "h": 3600.0, "d": 86400.0}
_SERIAL_ZERO = {"1900": -25569, "1904": 1462 - 25569}


@dataclass(frozen=True, slots=True)
class RowTimes:
    """Times of the rows in file order.

    `wall` are times of the recorder's own clock; `elapsed_us` counts from `wall[0]` where the file has no dates;
    `is_utc` tells that `wall` is UTC already; `offsets_min` are offsets written in the rows (all rows or none).
    """

    wall: TimeArray
    order: DateOrder
    offsets_min: IntArray | None = None
    short_names: frozenset[str] = frozenset()
    elapsed_us: IntArray | None = None
    is_utc: bool = False
    question: Question | None = None


def stamped_times(rows: Rows, answers: Answers, *, headings: Sequence[str], preamble: Sequence[str]) -> RowTimes:
    """Wall times of rows whose time is written as a date and a clock time."""
    wall = np.concatenate(rows.wall) if rows.wall else np.empty(0, dtype="datetime64[us]")
    codes, clock_codes = rows.dates.all_codes(), rows.clocks.all_codes()
    used = np.unique(codes[codes >= 0]).tolist()
    read = {code: read_date(rows.dates.texts[code]) for code in used}
    dates = [
        (rows.dates.texts[code].strip(), rows.dates.first_lines[code], text) for code, text in read.items() if text
    ]
    order = date_order(dates, answer=answers.date_order, headings=headings, preamble=preamble)
    if order.question:
        return RowTimes(wall, order, question=order.question)
    late = codes >= 0
    if not late.any():
        return RowTimes(wall, order)
    days = np.zeros(len(rows.dates.texts), dtype=np.int64)
    for code, text in read.items():
        day = resolved(text, order.order or "year-first") if text else None
        days[code] = 0 if day is None else days_since_epoch(day)
    clocks = [read_clock(text) for text in rows.clocks.texts]
    micros = np.array([0 if clock is None else clock.micros for clock in clocks], dtype=np.int64)
    if not any(rows.clocks.texts[code] for code in np.unique(clock_codes[late]).tolist()):
        raise ClimateRefused("The file gives dates without a time of day; hours cannot be counted from it.")
    stamp = days[codes[late]] * _DAY_US + micros[clock_codes[late]]
    wall = wall.copy()
    wall[late] = stamp.astype("datetime64[us]")
    offsets, names = _row_offsets(clocks, clock_codes, rows)
    return RowTimes(wall, order, offsets, names)


def _row_offsets(clocks: Sequence[object], clock_codes: IntArray, rows: Rows) -> tuple[IntArray | None, frozenset[str]]:
    """Offsets and short names of zones written beside the clock times."""
    given = [getattr(clock, "offset_min", None) for clock in clocks]
    present = np.array([offset is not None for offset in given])
    names = frozenset(
        str(name)
        for code in np.unique(clock_codes[clock_codes >= 0]).tolist()
        if (name := getattr(clocks[code], "abbreviation", None))
    )
    has = np.where(clock_codes >= 0, present[clock_codes], False)
    if not has.any():
        return None, names
    if not has.all():
        line = int(np.concatenate(rows.lines)[np.flatnonzero(~has)[0]])
        raise ClimateRefused(f"Line {line} has no offset from UTC while other lines have one.")
    return np.array([offset or 0 for offset in given], dtype=np.int64)[clock_codes], names


def counted_times(rows: Rows, column: Column, answers: Answers, *, decimal_mark: str | None) -> RowTimes:
    """Times of rows that count: serial days of a spreadsheet, seconds since 1970, or time since the start."""
    tokens = [read_number(text, decimal_mark=decimal_mark or ".") for text in rows.counts.texts]
    numbers = np.array([np.nan if token.value is None else token.value for token in tokens], dtype=np.float64)
    counts: FloatArray = numbers[rows.counts.all_codes()]
    if np.isnan(counts).any():
        line = int(np.concatenate(rows.lines)[np.flatnonzero(np.isnan(counts))[0]])
        raise ClimateRefused(f"The time in line {line} is a number that can be read in two ways.")
    low, high = float(counts.min()), float(counts.max())
    if max(abs(low), abs(high)) > 1e13:
        raise ClimateRefused(f"The times of the file run from {low:g} to {high:g}, which no way of counting explains.")
    is_unix = (low > 8e8 and high < 5e9) or (low > 8e11 and high < 5e12)
    says_unix = any(word in column.heading.casefold() for word in ("unix", "epoch", "posix"))
    if answers.serial_epoch == "unix" or (is_unix and says_unix and not answers.serial_epoch):
        scale = 1000 if low > 1e11 else 1_000_000
        return RowTimes(np.round(counts * scale).astype(np.int64).astype("datetime64[us]"), _NO_DATE, is_utc=True)
    if answers.serial_epoch:
        return RowTimes(_serial(counts, answers.serial_epoch), _NO_DATE)
    if column.unit is None and answers.elapsed_unit is None:
        if is_unix:
            return _asked(
                "serial_epoch",
                f"“{column.heading}” counts from {low:.0f}: seconds since 1970?",
                {"unix": "seconds since 1970, UTC"},
            )
        if low > 20000 and high < 80000:
            shown = {
                epoch: f"{_serial(counts[:1], epoch)[0].item():%d %B %Y %H:%M:%S} ({epoch} system)"
                for epoch in _SERIAL_ZERO
            }
            first = rows.counts.texts[int(rows.counts.all_codes()[0])]
            return _asked("serial_epoch", f"The first time is the serial number {first}. Which moment is it?", shown)
        units = {unit: unit for unit in _SECONDS}
        return _asked("elapsed_unit", f"“{column.heading}” counts time without a unit. In which unit?", units)
    if answers.started_at is None:
        unit = answers.elapsed_unit or column.unit
        return _asked(
            "started_at", f"The file gives {unit} since the start and no date: when did the record start?", {}
        )
    return _since_start(counts, answers.elapsed_unit or column.unit or "s", answers.started_at)


def checked_times(times: RowTimes, rows: Rows) -> RowTimes:
    """The same times. Raises ClimateRefused when one of them lies where no recorder's clock can have been."""
    wall = times.wall if times.elapsed_us is None else times.wall[0] + times.elapsed_us.astype("timedelta64[us]")
    outside = np.flatnonzero((wall < _EARLIEST) | (wall >= _LATEST))
    if outside.size:
        line = int(np.concatenate(rows.lines)[outside[0]])
        raise ClimateRefused(f"The time in line {line} lies outside the years 1970 to 2199.")
    return times


def _asked(key: str, text: str, choices: dict[str, str]) -> RowTimes:
    options = tuple(Option(value, label) for value, label in choices.items())
    return RowTimes(np.empty(0, dtype="datetime64[us]"), _NO_DATE, question=Question(key, text, options))


def _serial(days: FloatArray, epoch: str) -> TimeArray:
    """Wall times of a spreadsheet's serial days, to the second: more digits than that are only binary noise."""
    seconds = np.round((days + _SERIAL_ZERO[epoch]) * 86400).astype(np.int64)
    return (seconds * 1_000_000).astype("datetime64[us]")


def _since_start(counts: FloatArray, unit: str, started_at: str) -> RowTimes:
    try:
        start = datetime.fromisoformat(started_at)
    except ValueError as fault:
        raise ClimateRefused(f"“{started_at}” is not a date and time such as 2026-11-17T08:00.") from fault
    elapsed = np.round(counts * _SECONDS[unit] * 1_000_000).astype(np.int64)
    offset = start.utcoffset()
    wall = np.array([np.datetime64(start.replace(tzinfo=None), "us")])
    offsets = None if offset is None else np.array([offset // timedelta(minutes=1)], dtype=np.int64)
    return RowTimes(wall, _NO_DATE, offsets_min=offsets, elapsed_us=elapsed)

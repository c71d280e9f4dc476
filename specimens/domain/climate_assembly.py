"""The last steps of reading a climate file: values, marks, cut rows and true order, put together into the reading."""

from dataclasses import dataclass

import numpy as np

from specimens.domain.climate_answers import Answers, ClimateRefused
from specimens.domain.climate_arrays import BoolArray, FloatArray, IntArray, TimeArray, moment
from specimens.domain.climate_bytes import Opened
from specimens.domain.climate_clock_changes import ClockDecision, Instants
from specimens.domain.climate_columns import Column
from specimens.domain.climate_layout import Layout
from specimens.domain.climate_oddrows import Totals, cut_lines, other_rows
from specimens.domain.climate_order import in_true_order, newest_first, stacked_part
from specimens.domain.climate_reading import ClimateReading, Mark, Oddity
from specimens.domain.climate_rows import Rows, Wanted
from specimens.domain.climate_series import gaps, sampling_interval
from specimens.domain.climate_times import RowTimes
from specimens.domain.climate_values import (
    ValueColumn,
    impossible,
    in_celsius,
    oddities,
    read_column,
    row_units,
)
from specimens.domain.climate_zones import instants
from specimens.domain.conditioning import longest_gap

_SECOND_US = 1_000_000


@dataclass(frozen=True, slots=True)
class Findings:
    """Everything made out about a file before its rows are put together; `chosen` are the rows of the device used."""

    name: str
    zone: str
    answers: Answers
    opened: Opened
    layout: Layout
    columns: tuple[Column, ...]
    wanted: Wanted
    rows: Rows
    times: RowTimes
    decimal_mark: str | None
    unit: str | None
    device: str | None
    chosen: BoolArray | None


@dataclass(slots=True)
class _Values:
    """Per row of the file: degC, the figure as read, % RH; and what gave no value."""

    temperature_c: FloatArray
    as_read: FloatArray
    humidity: FloatArray
    blank: BoolArray
    unit: str
    columns: list[tuple[str, list[str], IntArray, ValueColumn]]


def file_lines(lines: IntArray, found: Opened) -> IntArray:
    """Line numbers of the file itself: lines of the cleaned text less the line ends that were put in."""
    if not found.breaks:
        return lines
    return lines - np.searchsorted(np.asarray(found.breaks, dtype=np.int64), lines, side="right")


def recorder_instants(found: Findings) -> Instants:
    """Instants of every row in file order (rows of other devices included as not-a-time)."""
    times, lines = found.times, file_lines(np.concatenate(found.rows.lines), found.opened)
    if times.is_utc:
        return Instants(times.wall, ClockDecision("offset", "+00:00", "seconds since 1970 are UTC by definition"))
    if times.offsets_min is not None:
        utc = times.wall - times.offsets_min * np.timedelta64(60 * _SECOND_US, "us")
        return _elapsed(Instants(utc, ClockDecision("offset", "per row", "written beside each time")), times)
    places = np.arange(times.wall.size) if found.chosen is None else np.flatnonzero(found.chosen)
    reverse = newest_first(times.wall[places])
    if reverse:
        places = places[::-1]
    result = instants(
        times.wall[places],
        heading=found.layout.headings[found.wanted.time],
        preamble=found.layout.preamble,
        short_names=times.short_names,
        zone=found.zone,
        answers=found.answers,
        lines=lines[places] if times.elapsed_us is None else np.zeros(places.shape, dtype=np.int64),
    )
    if result.question:
        return result
    utc = np.full(times.wall.shape, np.datetime64("NaT", "us"), dtype="datetime64[us]")
    utc[places] = result.times_utc
    return _elapsed(Instants(utc, result.decision), times)


def _elapsed(found: Instants, times: RowTimes) -> Instants:
    if times.elapsed_us is None:
        return found
    return Instants(found.times_utc[0] + times.elapsed_us.astype("timedelta64[us]"), found.decision)


def assembled(found: Findings, clock: Instants) -> ClimateReading:
    """Put the rows together. Raises ClimateRefused on contradictions and on records of several devices."""
    rows, answers = found.rows, found.answers
    body_lines = np.concatenate(rows.lines)
    lines = file_lines(body_lines, found.opened)
    values = _values(found, lines)
    notices = list(found.opened.notices)
    keep = np.ones(lines.shape, dtype=np.bool_) if found.chosen is None else found.chosen.copy()
    _drop_cut_rows(found, body_lines, keep, clock.times_utc, notices)
    others = other_rows(rows, found.layout, _totals(found, values, keep), found.decimal_mark)
    notices += others.notices
    marks = _marks(found, body_lines, lines, keep, clock.times_utc)
    places = np.flatnonzero(keep)
    if not places.size:
        raise ClimateRefused(f"{found.name} holds no readings that can be used.")
    if newest_first(clock.times_utc[places]):
        places = places[::-1]
        notices.append("The file runs from the newest reading to the oldest; it was turned round.")
    device = found.device
    if device is None:
        device, part = stacked_part(
            clock.times_utc[places],
            values.temperature_c[places],
            values.humidity[places],
            lines[places],
            answers,
            name=found.name,
        )
        if part is not None:
            places = places[part]
    ordered = in_true_order(
        clock.times_utc[places],
        values.temperature_c[places],
        values.humidity[places],
        lines[places],
        _wall(found.times, clock)[places],
        heading_lines=others.heading_lines,
        answers=answers,
    )
    notices += ordered.notices
    used = np.zeros(lines.shape, dtype=np.bool_)
    used[places] = True
    values.temperature_c[places[ordered.left_out]] = np.nan
    values.humidity[places[ordered.left_out]] = np.nan
    final = places[ordered.keep]
    return _reading(found, clock, values, final, used, lines, marks, device, ordered.repeats, notices)


def _reading(
    found: Findings,
    clock: Instants,
    values: _Values,
    final: IntArray,
    used: BoolArray,
    lines: IntArray,
    marks: tuple[Mark, ...],
    device: str | None,
    repeats: int,
    notices: list[str],
) -> ClimateReading:
    times, wanted = clock.times_utc[final], found.wanted
    humidity = values.humidity[final]
    interval = sampling_interval(times)
    faults: list[Oddity] = []
    doubtful: list[Oddity] = []
    for name, texts, codes, column in values.columns:
        for kind in ("fault", "blank"):
            faults += oddities(name, texts, codes, lines, column.kinds, kind, used)
        doubtful += oddities(name, texts, codes, lines, column.kinds, "doubtful", used)
    notices += _value_notices(found, humidity, doubtful)
    return ClimateReading(
        file_name=found.name,
        encoding=found.opened.encoding,
        separator=found.layout.separator,
        decimal_mark=found.decimal_mark,
        preamble=found.layout.preamble,
        header_line=int(file_lines(np.array([found.layout.header_line]), found.opened)[0]),
        columns=found.columns,
        temperature_column=found.columns[wanted.temperature],
        humidity_column=None if wanted.humidity is None else found.columns[wanted.humidity],
        temperature_unit=values.unit,
        device=device,
        date_order=found.times.order,
        clock=clock.decision,
        times_utc=times,
        temperature_c=values.temperature_c[final],
        temperature_as_read=values.as_read[final],
        humidity_percent=humidity,
        interval=interval,
        gaps=() if interval is None else gaps(times, longest_gap(interval)),
        faults=tuple(faults),
        doubtful=tuple(doubtful),
        marks=marks,
        damage=found.opened.damage,
        repeats_dropped=repeats,
        notices=tuple(notices),
        answers=found.answers,
    )


def _values(found: Findings, lines: IntArray) -> _Values:
    rows, wanted = found.rows, found.wanted
    texts, codes = rows.temperature.texts, rows.temperature.all_codes()
    column = read_column(texts, codes, meaning="temperature", decimal_mark=found.decimal_mark, answers=found.answers)
    unit_codes = None if wanted.unit is None else rows.units.all_codes()
    names, unit_rows = row_units(found.unit, column, codes, rows.units.texts, unit_codes, lines)
    temperature = in_celsius(column.values, names, unit_rows)
    beyond = impossible(temperature)
    odd_codes = np.unique(codes[beyond]).tolist()
    kinds = tuple("fault" if code in odd_codes else kind for code, kind in enumerate(column.kinds))
    column = ValueColumn(column.values, column.blank, kinds, column.cell_units)
    temperature[beyond] = np.nan
    used = sorted({names[place] or "" for place in np.unique(unit_rows).tolist()} - {""})
    columns = [("temperature", texts, codes, column)]
    humidity, blank = np.full(codes.shape, np.nan), column.blank
    if wanted.humidity is not None:
        wet_texts, wet_codes = rows.humidity.texts, rows.humidity.all_codes()
        wet = read_column(
            wet_texts, wet_codes, meaning="humidity", decimal_mark=found.decimal_mark, answers=found.answers
        )
        humidity, blank = wet.values, blank & wet.blank
        columns.append(("humidity", wet_texts, wet_codes, wet))
    return _Values(temperature, column.values, humidity, blank, "/".join(used), columns)


def _wall(times: RowTimes, clock: Instants) -> TimeArray:
    return times.wall if times.elapsed_us is None else clock.times_utc


def _totals(found: Findings, values: _Values, keep: BoolArray) -> list[Totals]:
    totals = [Totals("temperature", found.wanted.temperature, values.as_read[keep])]
    if found.wanted.humidity is not None:
        totals.append(Totals("humidity", found.wanted.humidity, values.humidity[keep]))
    return totals


def _drop_cut_rows(
    found: Findings, body_lines: IntArray, keep: BoolArray, times_utc: TimeArray, notices: list[str]
) -> None:
    """Leave out rows that were cut at their end, and rows whose beginning is damaged unless their time fits in."""
    notices += [
        f"Line {place.line} holds {place.size} {place.what}: the file is damaged there."
        for place in found.opened.damage
    ]
    for line in cut_lines(found.opened, found.layout, found.wanted, found.rows):
        shown = int(file_lines(np.array([line]), found.opened)[0])
        notices.append(f"Line {shown} is cut off; its reading is not used.")
        keep[body_lines == line] = False
    for line in sorted(found.opened.cut_starts):
        at = int(np.searchsorted(body_lines, line))
        if at >= body_lines.size or body_lines[at] != line:
            continue
        before = times_utc[at - 1] if at else None
        after = times_utc[at + 1] if at + 1 < times_utc.size else None
        if (before is not None and not before < times_utc[at]) or (after is not None and not times_utc[at] < after):
            shown = int(file_lines(np.array([line]), found.opened)[0])
            notices.append(f"The time in line {shown} beside the damage does not fit between its neighbours; not used.")
            keep[at] = False


def _marks(
    found: Findings, body_lines: IntArray, lines: IntArray, keep: BoolArray, times_utc: TimeArray
) -> tuple[Mark, ...]:
    """Event rows: no reading, but a note in a column that is empty in most rows. They are taken out of `keep`."""
    marks = []
    total = max(body_lines.size, 1)
    for line, texts in found.rows.remarks:
        notes = {place: text for place, text in texts.items() if found.rows.filled[place] * 2 < total}
        at = int(np.searchsorted(body_lines, line))
        if not notes or not keep[at]:
            continue
        keep[at] = False
        text = "; ".join(f"{found.layout.headings[place]}: {note}" for place, note in sorted(notes.items()))
        marks.append(Mark(moment(int(times_utc[at].astype(np.int64))), int(lines[at]), text))
    return tuple(marks)


def _value_notices(found: Findings, humidity: FloatArray, doubtful: list[Oddity]) -> list[str]:
    notices = []
    with np.errstate(invalid="ignore"):
        over, under = int((humidity > 100).sum()), int((humidity < 0).sum())
    if over:
        notices.append(f"{over} humidity readings are above 100 % RH (up to {np.nanmax(humidity):g}); kept as read.")
    if under:
        notices.append(f"{under} humidity readings are below 0 % RH; kept as read.")
    if found.wanted.humidity is None:
        notices.append("The file has no humidity column.")
    elif found.columns[found.wanted.humidity].unit is None:
        notices.append("The heading of the humidity gives no unit; taken as % relative humidity.")
    for cell in doubtful:
        lines = ", ".join(str(line) for line in cell.lines[:10])
        notices.append(
            f"“{cell.token}” ({cell.column}, line {lines}) can be read in two ways; no value until someone says how."
        )
    return notices

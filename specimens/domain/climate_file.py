"""Read a recorder's export of temperature and humidity into readings, or refuse it with a sentence and questions."""

from collections import Counter
from typing import Any

import numpy as np

from specimens.domain.climate_answers import Answers, ClimateRefused
from specimens.domain.climate_arrays import TimeArray
from specimens.domain.climate_assembly import Findings, assembled, file_lines, recorder_instants
from specimens.domain.climate_bytes import Opened, opened
from specimens.domain.climate_choice import stated_temperature_unit, unit_question, wanted_columns
from specimens.domain.climate_columns import Column, columns_of
from specimens.domain.climate_layout import Layout, layout_of
from specimens.domain.climate_numbers import cell_unit, is_number_like
from specimens.domain.climate_order import device_rows
from specimens.domain.climate_reading import ClimateReading
from specimens.domain.climate_rows import Rows, Wanted, read_rows
from specimens.domain.climate_times import RowTimes, checked_times, counted_times, stamped_times
from specimens.domain.climate_values import decimal_mark_of

_NO_ANSWERS = Answers()


def read_climate_file(data: bytes, *, file_name: str, zone: str, answers: Answers = _NO_ANSWERS) -> ClimateReading:
    """Read one file as it came from a recorder.

    `zone` is the laboratory's IANA zone, used when neither the file nor `answers` say how the recorder's clock ran.
    The same bytes, zone and answers give the same reading. Raises ClimateRefused, with questions when the answers of
    a person would help, all that can be asked at once together. A date order, a unit, a decimal mark and an offset
    are never guessed.
    """
    understood: dict[str, Any] = {"file": file_name}
    try:
        return _read(data, file_name, zone, answers, understood)
    except ClimateRefused as refusal:
        refusal.understood = {**understood, **refusal.understood}
        raise


def _read(data: bytes, name: str, zone: str, answers: Answers, understood: dict[str, Any]) -> ClimateReading:
    found = opened(data, name=name, answers=answers)
    understood["encoding"] = found.encoding
    layout = layout_of(found.body, name=name, separator=answers.separator)
    columns = columns_of(layout.headings, layout.units)
    _note_layout(understood, layout, columns, found, answers)
    wanted = wanted_columns(layout, columns, answers, name=name)
    rows = read_rows(found.body, layout, wanted)
    if not rows.count:
        raise ClimateRefused(f"{name} holds no readings.")
    understood["rows"] = rows.count
    heading = "" if wanted.device is None else layout.headings[wanted.device]
    device, chosen = device_rows(rows.devices, answers, name=name, heading=heading)
    tables = [(table.texts, table.all_codes()) for table in (rows.temperature, rows.humidity, rows.counts)]
    mark, mark_question = decimal_mark_of(tables, layout.separator, answers)
    unit, _ = stated_temperature_unit(columns[wanted.temperature], layout.preamble, answers)
    told = (
        unit is not None
        or wanted.unit is not None
        or all(cell_unit(text) in ("C", "F", "K") for text in rows.temperature.texts if is_number_like(text))
    )
    unit_asked = None if told else unit_question(columns[wanted.temperature])
    times = _row_times(rows, columns, layout, wanted, answers, mark)
    understood["decimal_mark"] = mark
    if times.question is None:
        understood.update(date_order=times.order.order, date_order_why=times.order.why)
        understood.update(first_wall=_wall_text(times.wall, 0), last_wall=_wall_text(times.wall, -1))
    found_all = Findings(name, zone, answers, found, layout, columns, wanted, rows, times, mark, unit, device, chosen)
    asked = [question for question in (mark_question, times.question, unit_asked) if question]
    clock = recorder_instants(found_all) if times.question is None else None
    if clock is not None and clock.question:
        if clock.decision.kind == "offset":  # what the file states, still to be confirmed
            understood.update(first_utc=f"{_wall_text(clock.times_utc, 0)}Z")
            understood.update(last_utc=f"{_wall_text(clock.times_utc, -1)}Z")
        asked.append(clock.question)
    if asked or clock is None:
        raise ClimateRefused(
            f"{name} leaves open what only a person can tell: {' '.join(question.text for question in asked)}",
            questions=tuple(asked),
        )
    return assembled(found_all, clock)


def _note_layout(
    understood: dict[str, Any], layout: Layout, columns: tuple[Column, ...], found: Opened, answers: Answers
) -> None:
    cells = Counter(cell for row in layout.sample for cell in row)
    counts = np.repeat(np.arange(len(cells)), list(cells.values()))
    understood["decimal_mark"], _ = decimal_mark_of([(list(cells), counts)], layout.separator, answers)
    understood.update(
        separator=layout.separator,
        header_line=file_lines(np.array([layout.header_line]), found)[0].item(),
        preamble=list(layout.preamble),
        columns=[{"heading": each.heading, "meaning": each.meaning, "unit": each.unit} for each in columns],
    )


def _wall_text(wall: TimeArray, at: int) -> str | None:
    return wall[at].item().isoformat() if wall.size else None


def _row_times(
    rows: Rows, columns: tuple[Column, ...], layout: Layout, wanted: Wanted, answers: Answers, mark: str | None
) -> RowTimes:
    if wanted.time_kind == "number":
        return checked_times(counted_times(rows, columns[wanted.time], answers, decimal_mark=mark), rows)
    times = stamped_times(
        rows, answers, headings=[layout.headings[wanted.time], *layout.units], preamble=layout.preamble
    )
    return checked_times(times, rows)

"""Which columns of a file are used: settled by headings and contents, by a person's answer, or asked."""

import re
from collections.abc import Sequence

from specimens.domain.climate_answers import Answers, ClimateRefused, Option, Question
from specimens.domain.climate_columns import Column, temperature_unit
from specimens.domain.climate_layout import Layout, time_heading_position
from specimens.domain.climate_rows import Wanted


def wanted_columns(layout: Layout, columns: Sequence[Column], answers: Answers, *, name: str) -> Wanted:
    """The columns to read. Raises ClimateRefused with a question where several could be meant, or none is there."""
    time, kind, clock = _time_columns(layout, columns, answers, name)
    taken = {time, clock}
    values = [column for column in columns if column.position - 1 not in taken]
    unit = next((column for column in values if column.meaning == "unit"), None)
    temperature = _one_of(
        [column for column in values if column.meaning == "temperature"]
        or [column for column in values if column.meaning == "value" and unit],
        answers.temperature_column,
        columns,
        key="temperature_column",
        what="temperature",
        name=name,
    )
    if temperature is None:
        raise _without("temperature", columns, name, key="temperature_column")
    humidity = None
    if answers.humidity_column != 0:
        humidity = _one_of(
            [column for column in values if column.meaning == "humidity"],
            answers.humidity_column,
            columns,
            key="humidity_column",
            what="humidity",
            name=name,
        )
    device = next((column for column in values if column.meaning == "device"), None)
    return Wanted(
        time=time,
        time_kind=kind,
        clock=clock,
        temperature=temperature.position - 1,
        humidity=None if humidity is None else humidity.position - 1,
        unit=None if unit is None else unit.position - 1,
        device=None if device is None else device.position - 1,
    )


def _time_columns(
    layout: Layout, columns: Sequence[Column], answers: Answers, name: str
) -> tuple[int, str, int | None]:
    kinds = layout.kinds
    if answers.time_column:
        if answers.time_column > len(columns):
            raise ClimateRefused(
                f"{name} has {len(columns)} columns; there is no column {answers.time_column} for the time."
            )
        time = answers.time_column - 1
        kind = "number" if kinds[time] == "number" else "stamp"
        return time, kind, _clock_beside(kinds, time) if kind == "stamp" else None
    stamps = [position for position, kind in enumerate(kinds) if kind == "stamp"]
    if len(stamps) > 1:
        options = tuple(Option(str(position + 1), columns[position].heading) for position in stamps)
        question = Question(
            "time_column", f"Several columns of {name} hold dates and times. Which is the reading's time?", options
        )
        raise ClimateRefused(f"{name} has {len(stamps)} columns of dates and times.", questions=(question,))
    if layout.time_kind == "stamp":
        time = stamps[0] if stamps else layout.time_position
        clock = _clock_beside(kinds, time)
        if kinds[time] == "date" and clock is None:
            raise ClimateRefused(
                f"Column “{columns[time].heading}” of {name} has dates without a time of day: no hours can be counted."
            )
        return time, "stamp", clock
    position = time_heading_position(layout)
    if position is None:
        units = "" if any(column.unit for column in columns) else " and no unit"
        headings = ", ".join(column.heading for column in columns if column.heading)
        raise ClimateRefused(
            f"{name} has no time column{units} (headings in line {layout.header_line}: {headings}), so it cannot "
            "show that a band was kept."
        )
    return position, "number", None


def _clock_beside(kinds: Sequence[str], time: int) -> int | None:
    if kinds[time] != "date":
        return None
    return next((position for position, kind in enumerate(kinds) if kind == "clock"), None)


def _one_of(
    candidates: Sequence[Column], answer: int | None, columns: Sequence[Column], *, key: str, what: str, name: str
) -> Column | None:
    if answer:
        if answer > len(columns):
            raise ClimateRefused(f"{name} has {len(columns)} columns; there is no column {answer} for the {what}.")
        return columns[answer - 1]
    if len(candidates) > 1:
        options = tuple(Option(str(column.position), column.heading) for column in candidates)
        headings = ", ".join(f"“{column.heading}”" for column in candidates)
        question = Question(key, f"Which column is the {what} where the specimens were: {headings}?", options)
        raise ClimateRefused(f"{name} has {len(candidates)} {what} columns: {headings}.", questions=(question,))
    return candidates[0] if candidates else None


def _without(what: str, columns: Sequence[Column], name: str, *, key: str) -> ClimateRefused:
    free = [column for column in columns if column.meaning in ("other", "value") and column.heading]
    headings = ", ".join(column.heading for column in columns if column.heading)
    options = tuple(Option(str(column.position), column.heading) for column in free)
    questions = (Question(key, f"Which column of {name} is the {what}?", options),) if options else ()
    return ClimateRefused(
        f"{name} has no {what} column that can be recognised (headings: {headings}).", questions=questions
    )


def stated_temperature_unit(column: Column, preamble: Sequence[str], answers: Answers) -> tuple[str | None, str]:
    """(unit, where it was stated) of the temperature column; unit None when a person has to say."""
    if answers.temperature_unit:
        return answers.temperature_unit, "confirmed by a person"
    if column.unit in ("C", "F", "K"):
        return column.unit, "the heading"
    for number, line in enumerate(preamble, start=1):
        found = re.search(r"unit\w*[\W_]+(.{1,14})$", line, re.IGNORECASE)
        if found:
            unit, _ = temperature_unit(f"({found.group(1).strip()})")
            unit = unit or temperature_unit(found.group(1))[0]
            if unit:
                return unit, f"line {number} of the preamble"
    return None, ""


def unit_question(column: Column) -> Question:
    """What is asked when the unit of the temperature is not in the file or cannot be read."""
    lost = (
        f"The unit of “{column.heading}” cannot be read (“{column.unreadable}”)."
        if column.unreadable
        else f"The heading “{column.heading}” gives no unit."
    )
    options = (Option("C", "°C"), Option("F", "°F"), Option("K", "K"))
    return Question("temperature_unit", f"{lost} Is the temperature in °C or °F?", options)

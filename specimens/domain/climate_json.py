"""A climate reading, its hours in band, and a refusal as plain data for the command line and for storing."""

from datetime import UTC, datetime
from typing import Any

import numpy as np

from specimens.domain.atmospheres import Atmosphere
from specimens.domain.climate_answers import ClimateRefused, Question
from specimens.domain.climate_columns import Column
from specimens.domain.climate_reading import ClimateReading, Oddity
from specimens.domain.conditioning import RULE, InBand, longest_gap


def utc_text(at: datetime) -> str:
    """An instant as ISO 8601 in UTC, "2026-11-17T07:00:00Z"."""
    return at.astimezone(UTC).replace(tzinfo=None).isoformat() + "Z"


def separator_name(separator: str) -> str:
    """The separator as it is shown."""
    return "tab" if separator == "\t" else separator


def reading_data(reading: ClimateReading) -> dict[str, Any]:
    """Everything that was understood about a file."""
    interval = reading.interval
    return {
        "file": reading.file_name,
        "encoding": reading.encoding,
        "separator": separator_name(reading.separator),
        "decimal_mark": reading.decimal_mark,
        "preamble": list(reading.preamble),
        "header_line": reading.header_line,
        "columns": [_column_data(column, reading) for column in reading.columns],
        "temperature_unit": reading.temperature_unit,
        "device": reading.device,
        "date_order": reading.date_order.order,
        "date_order_why": reading.date_order.why,
        "clock": {"kind": reading.clock.kind, "value": reading.clock.value, "why": reading.clock.why},
        "rows": reading.rows,
        "first": _row_data(reading, 0),
        "last": _row_data(reading, -1),
        "interval_s": None if interval is None else interval.total_seconds(),
        "longest_gap_s": None if interval is None else longest_gap(interval).total_seconds(),
        "gaps": [
            {"from": utc_text(gap.from_at), "until": utc_text(gap.until_at), "minutes": gap.minutes}
            for gap in reading.gaps
        ],
        "faults": [_oddity_data(fault) for fault in reading.faults],
        "fault_count": reading.fault_count,
        "doubtful": [_oddity_data(cell) for cell in reading.doubtful],
        "marks": [{"at": utc_text(mark.at), "line": mark.line, "text": mark.text} for mark in reading.marks],
        "damage": [{"line": place.line, "bytes": place.size, "what": place.what} for place in reading.damage],
        "repeats_dropped": reading.repeats_dropped,
        "notices": list(reading.notices),
        "questions": [question_data(question) for question in reading.questions],
        "answers": reading.answers.to_json(),
    }


def in_band_data(result: InBand, atmosphere: Atmosphere) -> dict[str, Any]:
    """How a window of time divides into time that counts and time that does not, and by which rule."""
    humidity = atmosphere.humidity_percent
    return {
        "atmosphere": {
            "key": atmosphere.key,
            "title": atmosphere.title,
            "temperature_c": [str(atmosphere.temperature_c.low), str(atmosphere.temperature_c.high)],
            "humidity_percent": None if humidity is None else [str(humidity.low), str(humidity.high)],
            "source": atmosphere.source,
            "certainty": atmosphere.certainty,
        },
        "rule": RULE,
        "from": utc_text(result.from_at),
        "until": utc_text(result.until_at),
        "counted_s": result.counted_s,
        "not_counted_s": result.not_counted_s,
        "hours_in_band": result.counted_s / 3600,
        "stretches": [
            {
                "from": utc_text(stretch.from_at),
                "until": utc_text(stretch.until_at),
                "seconds": stretch.duration_s,
                "kind": stretch.kind,
                "furthest": stretch.furthest,
                "furthest_at": None if stretch.furthest_at is None else utc_text(stretch.furthest_at),
            }
            for stretch in result.not_counted
        ],
    }


def refusal_data(refusal: ClimateRefused) -> dict[str, Any]:
    """Why a file was refused, what would help, and what had been understood by then."""
    understood = dict(refusal.understood)
    if "separator" in understood:
        understood["separator"] = separator_name(understood["separator"])
    return {
        "refused": refusal.sentence,
        "questions": [question_data(question) for question in refusal.questions],
        "understood": understood,
    }


def question_data(question: Question) -> dict[str, Any]:
    """One question; `key` is the name of the answer."""
    options = [{"value": option.value, "label": option.label} for option in question.options]
    return {"key": question.key, "text": question.text, "options": options}


def _column_data(column: Column, reading: ClimateReading) -> dict[str, Any]:
    used = {reading.temperature_column.position: "temperature"}
    if reading.humidity_column is not None:
        used[reading.humidity_column.position] = "humidity"
    return {
        "position": column.position,
        "heading": column.heading,
        "meaning": column.meaning,
        "unit": column.unit,
        "used_as": used.get(column.position),
    }


def _row_data(reading: ClimateReading, at: int) -> dict[str, Any]:
    moment = reading.first_at if at == 0 else reading.last_at
    temperature, humidity = reading.temperature_c[at], reading.humidity_percent[at]
    return {
        "at": utc_text(moment),
        "temperature_c": None if np.isnan(temperature) else float(temperature),
        "humidity_percent": None if np.isnan(humidity) else float(humidity),
    }


def _oddity_data(cell: Oddity) -> dict[str, Any]:
    return {"column": cell.column, "token": cell.token, "count": cell.count, "lines": list(cell.lines)}

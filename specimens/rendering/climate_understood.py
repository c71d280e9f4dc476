"""What was understood of a climate file, as plain data to keep beside the record and as rows for the screen."""

from collections.abc import Mapping
from typing import Any

from specimens.domain.climate_answers import DATE_ORDERS, Answers
from specimens.domain.climate_reading import ClimateReading

_SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "upright stroke"}
_MARKS = {".": "point", ",": "comma"}
_MOST_SHOWN = 50
_ANSWERED = {
    "date_order": "order of day and month",
    "temperature_unit": "unit of the temperature",
    "decimal_mark": "decimal mark",
    "utc_offset": "offset of the clock",
    "zone": "zone of the clock",
    "device": "recorder in the file",
    "time_column": "column of the time",
    "temperature_column": "column of the temperature",
    "humidity_column": "column of the humidity",
    "serial_epoch": "date system",
    "elapsed_unit": "unit of the time",
    "started_at": "start of the record",
    "doubtful_numbers": "numbers that can be read in two ways",
    "conflicts": "contradicting readings",
    "encoding": "encoding",
    "separator": "separator",
}


def understood_data(reading: ClimateReading) -> dict[str, Any]:
    """Everything a person needs to see that the file was read rightly; at most 50 of each kind of oddity."""
    return {
        "encoding": reading.encoding,
        "separator": reading.separator,
        "decimal_mark": reading.decimal_mark,
        "header_line": reading.header_line,
        "preamble": list(reading.preamble[:_MOST_SHOWN]),
        "columns": [{"heading": each.heading, "meaning": each.meaning, "unit": each.unit} for each in reading.columns],
        "temperature_column": reading.temperature_column.position,
        "humidity_column": reading.humidity_column.position if reading.humidity_column else None,
        "temperature_unit": reading.temperature_unit,
        "device": reading.device,
        "date_order": reading.date_order.order,
        "date_order_why": reading.date_order.why,
        "clock": reading.clock.value,
        "clock_why": reading.clock.why,
        "rows": reading.rows,
        "first_at": reading.first_at.isoformat(),
        "last_at": reading.last_at.isoformat(),
        "interval_s": reading.interval.total_seconds() if reading.interval else None,
        "gaps": len(reading.gaps),
        "faults": [_oddity(each) for each in reading.faults[:_MOST_SHOWN]],
        "doubtful": [_oddity(each) for each in reading.doubtful[:_MOST_SHOWN]],
        "marks": [
            {"at": each.at.isoformat(), "line": each.line, "text": each.text} for each in reading.marks[:_MOST_SHOWN]
        ],
        "repeats_dropped": reading.repeats_dropped,
        "notices": list(reading.notices),
    }


def _oddity(odd: Any) -> dict[str, Any]:
    return {"column": odd.column, "token": odd.token, "count": odd.count, "lines": list(odd.lines[:10])}


def understood_rows(found: Mapping[str, Any], answers: Mapping[str, Any]) -> list[tuple[str, str]]:
    """(term, words) of what was understood; terms that are not known yet are left out."""
    rows = [
        ("Encoding", found.get("encoding")),
        ("Separator", _SEPARATORS.get(found.get("separator", ""), found.get("separator"))),
        ("Decimal mark", _MARKS.get(found.get("decimal_mark") or "")),
        ("Headings", f"line {found['header_line']}" if found.get("header_line") else None),
        ("Unit of the temperature", _unit(found.get("temperature_unit"))),
        ("Recorder in the file", found.get("device")),
        ("Order of the date", _date_order(found)),
        ("Clock", f"{found['clock']}: {found['clock_why']}" if found.get("clock") else None),
        ("Rows", f"{found['rows']:,}".replace(",", "\u00a0") if found.get("rows") else None),
        ("Step", _step(found.get("interval_s"))),
        ("Gaps", str(found["gaps"]) if "gaps" in found else None),
        ("Repeated rows", str(found["repeats_dropped"]) if found.get("repeats_dropped") else None),
        ("A person said", _answered(answers)),
    ]
    return [(term, str(words)) for term, words in rows if words not in (None, "")]


def oddity_sentences(found: Mapping[str, Any]) -> list[str]:
    """Faults, doubtful cells, marks and notices, one sentence each."""
    sentences = [
        f"“{each['token']}” instead of a {each['column']}, {each['count']} times, first in line {each['lines'][0]}."
        for each in found.get("faults", [])
        if each["lines"]
    ]
    sentences += [f"Mark in line {each['line']}: {each['text']}." for each in found.get("marks", [])]
    return sentences + list(found.get("notices", []))


def _unit(unit: str | None) -> str | None:
    if not unit:
        return None
    return " and ".join({"C": "°C", "F": "°F, converted", "K": "K, converted"}.get(one, one) for one in unit.split("/"))


def _date_order(found: Mapping[str, Any]) -> str | None:
    why = str(found.get("date_order_why") or "")
    order = DATE_ORDERS.get(found.get("date_order") or "")
    return f"{order}: {why}" if order and why else order or why or None


def _step(interval_s: float | None) -> str | None:
    if not interval_s:
        return None
    minutes = interval_s / 60
    return f"one reading in {minutes:g} min" if minutes >= 1 else f"one reading in {interval_s:g} s"


def _answered(answers: Mapping[str, Any]) -> str:
    known = Answers.from_json(answers).to_json()
    return "; ".join(f"{_ANSWERED.get(name, name)}: {value}" for name, value in known.items())

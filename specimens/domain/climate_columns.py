"""What the headings of a recorder's file say: which column is which, and in which unit."""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

from specimens.domain.climate_numbers import plain_text

# Spellings of the degree sign seen in real exports: look-alikes, and the sign after a wrong decoding or an HTML export.
_DEGREES = (
    ("â„ƒ", "°C"),
    ("â„‰", "°F"),
    ("Ã‚Â°", "°"),
    ("Â°", "°"),
    ("Âº", "°"),
    ("Ëš", "°"),
    ("&deg;", "°"),
    ("℃", "°C"),
    ("℉", "°F"),
    ("º", "°"),
    ("˚", "°"),
    ("ᵒ", "°"),
    ("∘", "°"),
)
_TIME = re.compile(
    r"time|date|datum|zeit|uhr|heure|fecha|\bhora\b|\bora\b|tijd|\btid\b|aika|päivä|\bdata\b|stamp|czas|время|дата|时间|日期|日時|時刻"
)
_TEMPERATURE = re.compile(r"temp|(^|[^a-z])t[\s_]?\d*\s*($|[^a-z%])|温度|темп|teplota|lämpö|hőm")
_HUMIDITY = re.compile(
    r"humid|feucht|humed|umid|(^|[^a-z])(r\.?\s?h|h\.?r|r\.?\s?f|u\.?r)\.?([^a-z]|$)|hygro"
    r"|vlhkost|wilgot|kosteus|fukt|湿度|влажн|vochtig|rel\.? ?h"
)
_NOT_AIR = re.compile(
    r"dew|dp\b|taupunkt|ros[ée]e|roc[ií]o|rugiada|wet.?bulb|feuchtkugel|heat.?index|set.?point|sollwert|consigne|\bmin|\bmax|alarm"
    r"|limit|mean|average|mittel|kalib|calib|battery|batter|chip|board|internal cpu"
)
_ABSOLUTE = re.compile(r"abs|g/m|g/kg|mixing")
_DEVICE = re.compile(
    r"\b(device|sensor|logger|serial|gerät|geraet|station|probe|channel|kanal|s/?n|id|recorder|name)\b"
)
_UNIT_HEADING = re.compile(r"units?|einheit|unité|unidad|unità|u\.?o\.?m\.?")
_INDEX = re.compile(r"#|no\.?|nr\.?|n°|index|record|row|sample|lfd\.? ?nr\.?|count")


@dataclass(frozen=True, slots=True)
class Column:
    """One column: position from 1, heading as written, what it means and its unit.

    `unit` is "C", "F", "K", "%", a time unit, or None; `unreadable` holds a unit that was there but cannot be read.
    """

    position: int
    heading: str
    meaning: str
    unit: str | None = None
    unreadable: str | None = None


def tidy_heading(raw: str) -> str:
    """The heading with one spelling of the degree sign and plain spaces."""
    text = raw
    for spelling, plain in _DEGREES:
        text = text.replace(spelling, plain)
    text = plain_text(unicodedata.normalize("NFKC", text))
    text = re.sub(
        r"\*\s?(?=[CFK]\b)|(?<![a-z])deg(ree)?s?\.?[\s_]*(?=(celsius|fahrenheit|[cfk])\b)|\bgrad\s+(?=[cfk]\b)",
        "°",
        text,
        flags=re.I,
    )
    return re.sub(r"\s+", " ", text)


def temperature_unit(text: str) -> tuple[str | None, str | None]:
    """(unit, unreadable): "C", "F" or "K" when the text names it; else the remains of a unit that was spoilt."""
    tidy = tidy_heading(text)
    for pattern in (
        r"°[\s_]?([CFK])(?![a-z])",
        r"\b(celsius|fahrenheit|kelvin|centigrade)",
        r"[(\[{/]\s*([CFK])\s*[)\]}]",
        r"(?:^|[\s,;_\-/.])([CF])\s*(?:$|[(\[])",
        r"(?:^|[_\-])(K)\s*$",
    ):
        found = re.search(pattern, tidy.replace("_", " _") if "°" in tidy else tidy, re.IGNORECASE)
        if found:
            return found.group(1)[0].upper(), None
    spoilt = re.search(r"[(\[{]\s*([^\s()\[\]]{1,2}\s?[CFK])\s*[)\]}]|([?\ufffd]\s?[CFK]?)\W*$", tidy, re.IGNORECASE)
    if spoilt:
        return None, spoilt.group(1) or spoilt.group(2)
    return None, "°" if "°" in tidy else None


def humidity_unit(text: str) -> str | None:
    """ "%" when the text says per cent, in words, as a sign or as relative humidity (which has no other unit)."""
    tidy = tidy_heading(text).casefold()
    return (
        "%"
        if re.search(r"%|pct|percent|prozent|(^|[^a-z])r\.?\s?[hf]([^a-z]|$)|(^|[^a-z])hr([^a-z]|$)", tidy)
        else None
    )


def elapsed_unit(text: str) -> str | None:
    """The unit of a count of time ("s", "min", "h", "d", "ms") in brackets, after a comma or by itself."""
    tidy = tidy_heading(text).casefold()
    found = re.search(
        r"(?:^|[\s(\[,/_])(ms|msec|s|sec|secs|seconds?|sek|min|mins|minutes?|h|hrs?|hours?|std|d|days?)\.?\s*[)\]]?$",
        tidy,
    )
    if not found:
        return None
    word = found.group(1)
    return "ms" if word.startswith("ms") else "min" if word.startswith("min") else "h" if word == "std" else word[0]


def is_unit_text(text: str) -> bool:
    """Whether a cell of a row under the heading is a unit: °C, %RH, s, -, or a pattern such as dd/mm/yyyy."""
    tidy = tidy_heading(text).strip("()[] ")
    if not tidy or re.fullmatch(r"[-–—/1]+", tidy):
        return True
    if re.fullmatch(
        r"°?\s?[CFK]|celsius|fahrenheit|kelvin|%\s?(r\.?\s?h\.?|r\.?\s?f\.?)?|r\.?h\.?\s?%?|ms|s|sec|min|h|d|hPa|mbar|V|mV|ohm|Ω",
        tidy,
        re.I,
    ):
        return True
    return bool(re.fullmatch(r"(?=.*[dmytjah])[dmytjash]{1,4}([-/.: T][dmytjash]{1,4})+", tidy, re.IGNORECASE))


def column_of(position: int, heading: str, unit_text: str = "") -> Column:
    """What one heading (with the cell of a unit row below it, if any) says about its column."""
    tidy = tidy_heading(heading).casefold().replace("_", " ")
    unit, unreadable = temperature_unit(heading)
    if unit_text.strip():
        below, below_unreadable = temperature_unit(unit_text)
        unit, unreadable = (below, None) if below else (unit, unreadable or below_unreadable)
    both = f"{heading} {unit_text}"
    if not tidy:
        return Column(position, heading, "unused")
    if _UNIT_HEADING.fullmatch(tidy):
        return Column(position, heading, "unit")
    if _INDEX.fullmatch(tidy):
        return Column(position, heading, "index")
    if _HUMIDITY.search(tidy) and not _NOT_AIR.search(tidy) and not (unit and not humidity_unit(both)):
        meaning = "other" if _ABSOLUTE.search(tidy) else "humidity"
        return Column(position, heading, meaning, humidity_unit(both))
    names_time = _TIME.search(tidy) and not (tidy.startswith("temp") and not tidy.startswith("tempo"))
    if names_time and "°" not in tidy_heading(heading):
        return Column(
            position, heading, "time", elapsed_unit(unit_text) if unit_text.strip() else elapsed_unit(heading)
        )
    if _NOT_AIR.search(tidy):
        return Column(position, heading, "other", unit)
    if _TEMPERATURE.search(tidy) or (
        unit and ("°" in tidy_heading(both) or re.search("celsius|fahrenheit", both, re.I))
    ):
        return Column(position, heading, "temperature", unit, unreadable)
    if re.fullmatch(r"values?|wert|messwert|valeur|reading", tidy):
        return Column(position, heading, "value", unit, unreadable)
    if _DEVICE.search(re.sub(r"[(\[].*", "", tidy)):
        return Column(position, heading, "device")
    return Column(position, heading, "other", unit)


def columns_of(headings: Sequence[str], units: Sequence[str] = ()) -> tuple[Column, ...]:
    """Every column of a heading row, positions from 1."""
    padded = [*units, *[""] * (len(headings) - len(units))]
    return tuple(
        column_of(position, heading.strip(), unit)
        for position, (heading, unit) in enumerate(zip(headings, padded, strict=False), start=1)
    )


def readable_headings(line: str) -> int:
    """How much of a line can be recognised as headings with units; used to compare ways of decoding it."""
    cells = [cell.strip(" \"'") for cell in re.split(r"[,;\t|]", line)]
    score = 0
    for column in columns_of(cells):
        if column.meaning in ("time", "temperature", "humidity"):
            score += 1 + (column.unit is not None)
    return score

"""Dates and clock times as recorders write them, each text read by itself; the order of day and month stays open."""

import re
from dataclasses import dataclass
from datetime import date, timedelta

from specimens.domain.climate_numbers import plain_text

_MONTHS: dict[str, int] = {}
for _number, _names in enumerate(
    (
        "jan janv ene gen",
        "feb feber févr fév fev",
        "mar mär mrz mars märz maart mrt",
        "apr avr abr avril",
        "may mai mei mag maj",
        "jun juin juni giu",
        "jul juil juli lug",
        "aug août aou ago",
        "sep sept set",
        "oct okt ott out",
        "nov",
        "dec dez déc dic des",
    ),
    start=1,
):
    _MONTHS.update(dict.fromkeys(_names.split(), _number))
_WEEKDAYS = frozenset(
    [
        "mon",
        "tue",
        "wed",
        "thu",
        "fri",
        "sat",
        "sun",
        "mo",
        "di",
        "mi",
        "do",
        "fr",
        "sa",
        "so",
        "lun",
        "mar",
        "mer",
        "jeu",
        "ven",
        "sam",
        "dim",
        "lunes",
        "martes",
        "mié",
        "jue",
        "vie",
        "sáb",
        "dom",
    ]
)
_CLOCK = re.compile(
    r"(?P<before>[ap]\.?\s?m\.?\s+)?(?P<h>\d{1,2})[:.hH](?P<m>\d{2})(?:[:.m](?P<s>\d{2})(?:[.,:](?P<f>\d{1,9}))?)?s?"
    r"\s*(?P<half>[ap]\.?\s?m\.?)?\s*(?P<off>z|(?:utc|gmt)?\s?[+-]\d{1,2}(?::?\d{2})?|[a-z]{3,5})?",
    re.IGNORECASE,
)
_OFFSET = re.compile(r"(?:utc|gmt)?\s?([+-])(\d{1,2})(?::?(\d{2}))?", re.IGNORECASE)
ISO_STAMP = re.compile(r"\d{4}-\d\d-\d\d[ T]\d\d:\d\d(:\d\d([.]\d{1,6})?)?")


@dataclass(frozen=True, slots=True)
class DateText:
    """A date as written: fixed when year, month and day are plain from the text, otherwise three open figures."""

    fixed: date | None
    figures: tuple[int, int, int] | None = None
    long_year: bool = False
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Clock:
    """A time of day in microseconds, with an offset (minutes) or a zone's short name where the text has one."""

    micros: int
    offset_min: int | None = None
    abbreviation: str | None = None


def calendar_date(year: int, month: int, day: int) -> date | None:
    """The date, or None where the calendar has none; a year of two digits is of this century."""
    try:
        return date(year + 2000 if year < 100 else year, month, day)
    except ValueError:
        return None


def read_date(text: str) -> DateText | None:
    """Read one date text; None when it is not a date."""
    body = plain_text(text).strip(",;. ")
    if re.fullmatch(r"(19|20)\d{6}", body):
        return _fixed(int(body[:4]), int(body[4:6]), int(body[6:]))
    asian = re.fullmatch(r"(\d{4})\s?[年년]\s?(\d{1,2})\s?[月월]\s?(\d{1,2})\s?[日일]?", body)
    if asian:
        return _fixed(*(int(part) for part in asian.groups()))
    numeric = re.fullmatch(r"(?:[^\W\d_]{2,10}[.,]?\s+)?(\d{1,4})\s?([-/.\s])\s?(\d{1,2})\s?\2\s?(\d{1,4})\.?", body)
    if numeric:
        first, mark, second, third = numeric.groups()
        if len(first) == 4:
            return _fixed(int(first), int(second), int(third)) if len(third) <= 2 else None
        if len(first) == 3 or len(third) == 3:
            return None
        return DateText(None, (int(first), int(second), int(third)), len(third) == 4, mark)
    return _named_month(body)


def _fixed(year: int, month: int, day: int) -> DateText | None:
    found = calendar_date(year, month, day)
    return None if found is None else DateText(found)


def _named_month(body: str) -> DateText | None:
    words = [word.casefold() for word in re.findall(r"[^\W\d_]+", body)]
    figures = re.findall(r"\d+", body)
    months = [word for word in words if word[:3] in _MONTHS or word in _MONTHS]
    if len(words) > 1 and words[0] in _WEEKDAYS | {"mar"} and len(months) > 1:
        months = months[1:]
    rest = [word for word in words if word not in months and word[:3] not in _WEEKDAYS and word[:2] not in _WEEKDAYS]
    rest = [word for word in rest if word not in ("de", "st", "nd", "rd", "th")]
    if len(months) != 1 or len(figures) != 2 or rest:
        return None
    month = _MONTHS.get(months[0]) or _MONTHS[months[0][:3]]
    day, year = (figures[1], figures[0]) if len(figures[0]) == 4 else (figures[0], figures[1])
    return _fixed(int(year), month, int(day)) if len(year) in (2, 4) and len(day) <= 2 else None


def offset_minutes(text: str) -> int | None:
    """Minutes east of UTC for "+01:00", "GMT-6", "UTC+0530", "Z", "UTC"; None when it says something else."""
    body = plain_text(text)
    if body.casefold() in ("z", "utc", "gmt"):
        return 0
    match = _OFFSET.fullmatch(body)
    if match is None:
        return None
    sign, hours, minutes = match.groups()
    total = int(hours) * 60 + int(minutes or 0)
    return None if total > 14 * 60 else (-total if sign == "-" else total)


def offset_text(minutes: int) -> str:
    """ "+01:00" for 60."""
    sign = "-" if minutes < 0 else "+"
    return f"{sign}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"


def read_clock(text: str) -> Clock | None:
    """Read one time of day; 12:00 AM is midnight and 12:00 PM noon; None when it is not a time of day."""
    body = plain_text(text)
    match = _CLOCK.fullmatch(body)
    if match is None:
        return None
    hour, minute, second = int(match["h"]), int(match["m"]), int(match["s"] or 0)
    half = (match["half"] or match["before"] or "").strip().casefold()[:1]
    if half:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half == "p" else 0)
    if hour > 24 or minute > 59 or second > 59 or (hour == 24 and (minute or second)):
        return None
    micros = ((hour * 60 + minute) * 60 + second) * 1_000_000 + int((match["f"] or "0").ljust(6, "0")[:6])
    tail = match["off"]
    if tail is None:
        return Clock(micros)
    offset = offset_minutes(tail)
    return Clock(micros, offset, None if offset is not None else tail.upper())


def split_stamp(text: str) -> tuple[str, str]:
    """The date part and the clock part of one cell; an empty clock part when there is none."""
    colon = text.find(":")
    if colon < 0:
        match = re.search(r"[ T](\d{1,2}[.hH]\d{2}(?:[.m]\d{2}s?)?)\s*$", text)
        return (text[: match.start()], match.group(1)) if match else (text, "")
    cut = max(text.rfind(" ", 0, colon), text.rfind("T", 0, colon))
    if cut < 0:
        return "", text
    day, clock = text[:cut].rstrip(" ,"), text[cut + 1 :]
    if clock.find(" ") > 0:
        year = re.search(r"\s(\d{4})$", clock)
        if year:
            return f"{day} {year.group(1)}", clock[: year.start()]
    return day, clock


def stamp_kind(text: str) -> str | None:
    """ "stamp" for date and time, "date", "clock", or None for anything else."""
    body = plain_text(text)
    if not body or not any(letter.isdigit() for letter in body):
        return None
    day, clock = split_stamp(body)
    if clock and read_clock(clock) is not None:
        return "clock" if not day else "stamp" if read_date(day) is not None else None
    return "date" if not clock and read_date(body) is not None else None


def days_since_epoch(day: date) -> int:
    """Whole days from 1970-01-01."""
    return (day - date(1970, 1, 1)) // timedelta(days=1)

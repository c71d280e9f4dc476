"""The due days as an iCalendar file (RFC 5545): one all-day event for each, and no alarms."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from labsite.ledger.fields import one_line

_PRODUCT = "-//Laboratory//due days of calibrations//EN"


@dataclass(frozen=True, slots=True)
class CalendarDay:
    """One event: `key` names it as long as thing and day are the same, each of `lines` is one line of its text."""

    key: str
    on: date
    title: str
    lines: tuple[str, ...]
    address: str


def due_calendar(days: Sequence[CalendarDay], *, name: str, host: str, at: datetime) -> bytes:
    """The calendar's bytes. `host` makes the events' names unique in the world, `at` is when they were told (aware).

    A day is a calendar day without a zone: the due day of the laboratory, wherever the reader is.
    """
    from icalendar import Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", _PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("name", one_line(name))
    calendar.add("refresh-interval", timedelta(hours=12), parameters={"VALUE": "DURATION"})
    for day in days:
        event = Event()
        event.add("uid", f"{day.key}-{day.on:%Y%m%d}@{host}")
        event.add("dtstamp", at)
        event.add("dtstart", day.on)
        event.add("dtend", day.on + timedelta(days=1))
        event.add("summary", one_line(day.title))
        event.add("description", "\n".join(one_line(line) for line in day.lines))
        event.add("url", day.address)
        event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    content: bytes = calendar.to_ical()
    return content

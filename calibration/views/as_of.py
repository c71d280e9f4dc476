"""The moment a page of the calibration place answers for: now, or the end of a day asked for."""

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from django.http import HttpRequest
from django.utils import timezone

from calibration.domain.due import day_at, usable_until
from calibration.domain.status import shown

FIELD = "as_of"
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_LAST_INSTANT = timedelta(microseconds=1)


@dataclass(frozen=True, slots=True)
class AsOf:
    """The answer: `at`, and the past day it is the end of; None is now. `refusal` says why what was typed is not it."""

    at: datetime
    day: date | None = None
    typed: str = ""
    refusal: str = ""
    kept: tuple[tuple[str, str], ...] = ()
    """What else the address asked for, so that another day keeps it."""

    @property
    def past(self) -> bool:
        """Whether the page answers for a day that is over: nothing is done there."""
        return self.day is not None

    @property
    def words(self) -> str:
        """How the page names its moment: “the end of 3 Mar 2026”."""
        return "now" if self.day is None else f"the end of {shown(self.day)}"

    @property
    def local(self) -> datetime:
        """The moment in the laboratory's zone."""
        return timezone.localtime(self.at)

    @property
    def query(self) -> str:
        """What a link needs after its address to stay with the day; nothing for now."""
        return "" if self.day is None else "?" + urlencode({FIELD: self.day.isoformat()})

    @property
    def more(self) -> str:
        """The same to follow other questions in an address."""
        return self.query.replace("?", "&", 1)


def as_of(request: HttpRequest) -> AsOf:
    """What the address asks for by `?as_of=2026-03-03`: the last instant of that day in the laboratory's zone.

    Without it, for today, for a day to come and for what is no day, the answer is now; the last two say so.
    """
    typed, now = request.GET.get(FIELD, "").strip(), timezone.now()
    kept = tuple((name, value) for name, values in request.GET.lists() if name != FIELD for value in values)
    if not typed:
        return AsOf(now, kept=kept)
    zone, today = _zone(request), day_at(now, _zone(request))
    try:
        day = date.fromisoformat(typed) if _DAY.fullmatch(typed) else None
    except ValueError:
        day = None
    if day is None:
        words = f"“{typed[:40]}” is no day; write it as year-month-day, for example {today.isoformat()}."
        return AsOf(now, typed=typed[:40], refusal=f"{words} The page shows now.", kept=kept)
    if day > today:
        words = f"{shown(day)} is still to come; what will be known then nobody knows."
        return AsOf(now, typed=typed, refusal=f"{words} The page shows now.", kept=kept)
    if day == today:
        return AsOf(now, typed=typed, kept=kept)
    return AsOf(usable_until(day, zone) - _LAST_INSTANT, day, typed, kept=kept)


def moment_asked(request: HttpRequest) -> datetime:
    """The moment alone: the end of the day asked for in the laboratory's zone, or now."""
    return as_of(request).at


def _zone(request: HttpRequest) -> ZoneInfo:
    return request.laboratory.zone_info  # type: ignore[attr-defined,no-any-return]  # the laboratory's middleware

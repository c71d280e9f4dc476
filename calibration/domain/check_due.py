"""When a planned check is due: by the same rule as a calibration, counted from the last check of its kind."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from calibration.domain.due import DAYS, day_at, due_on, usable_until
from calibration.domain.status import shown

SOON_DAYS = 3
"""From this many days before, the page speaks of a planned check. Common practice."""


@dataclass(frozen=True, slots=True)
class CheckDue:
    """When a check is due: `clause` says it in words; before use only, it has no day."""

    due_on: date | None
    overdue: bool
    soon: bool
    clause: str


def check_due(
    every_days: int | None, last_at: datetime | None, planned_at: datetime, at: datetime, zone: ZoneInfo
) -> CheckDue:
    """Return when a planned check is due, seen at `at`, counted from the last check or, before any, from its plan.

    The due day counts to its end in `zone`; all moments are aware. Source: `due.due_on`, `due.usable_until`.
    """
    if every_days is None:
        return CheckDue(None, overdue=False, soon=False, clause="made before each use")
    due = due_on(day_at(last_at or planned_at, zone), every_days, DAYS)
    if at >= usable_until(due, zone):
        since = shown(due + timedelta(days=1))
        return CheckDue(due, overdue=True, soon=False, clause=f"overdue since {since}")
    days = (due - day_at(at, zone)).days
    when = {0: "today", 1: "tomorrow"}.get(days, f"on {shown(due)}")
    return CheckDue(due, overdue=False, soon=days <= SOON_DAYS, clause=f"due {when}")

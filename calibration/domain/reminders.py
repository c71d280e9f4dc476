"""When somebody is reminded of a due day, and that each reminder is told once."""

from collections.abc import Collection
from datetime import date

DAYS_BEFORE = (60, 30, 7)
"""A reminder goes out on the first run on or after the day this many days before the due day. Common practice."""


def reminders_reached(due_on: date, today: date, told: Collection[int] = ()) -> tuple[int, ...]:
    """The distances in days that are reached on `today` and not told yet, furthest first; days are the laboratory's.

    Several at once, after days on which nothing ran, are one reminder: the caller tells it once and marks them all.
    """
    left = (due_on - today).days
    return tuple(days for days in DAYS_BEFORE if left <= days and days not in told)


def days_left_in_words(due_on: date, today: date) -> str:
    """How far off a due day is: “in 8 days”, “tomorrow”, “today, until the end of the day”, “overdue since 2 days”."""
    left = (due_on - today).days
    if left < 0:
        return "overdue since yesterday" if left == -1 else f"overdue for {-left} days"
    return {0: "today, until the end of the day", 1: "tomorrow"}.get(left, f"in {left} days")

"""Who may do what by which method edition at a moment, and why not (ISO/IEC 17025 6.2.6)."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

ACTIVITIES = {"perform": "perform trials", "check": "check trials", "sign": "sign certificates"}
"""The activities and how they read in a sentence."""


@dataclass(frozen=True, slots=True)
class Grant:
    """One authorisation: first and last day (both included; None = no last day) and the moment it was ended early."""

    row: int
    person: int
    name: str
    method_key: str
    activity: str
    from_on: date
    until_on: date | None = None
    ended_at: datetime | None = None

    def stands(self, at: datetime, day: date) -> bool:
        """Whether it holds at the instant `at`, which falls on `day` at the laboratory."""
        if self.ended_at is not None and at >= self.ended_at:
            return False
        return self.from_on <= day and (self.until_on is None or day <= self.until_on)


def standing_grant(
    grants: Iterable[Grant], *, person: int, method_key: str, activity: str, at: datetime, day: date
) -> Grant | None:
    """Return the grant that lets `person` act at `at` (`day` at the laboratory): the one that began last, or None."""
    standing = [
        grant
        for grant in grants
        if (grant.person, grant.method_key, grant.activity) == (person, method_key, activity) and grant.stands(at, day)
    ]
    return max(standing, key=lambda grant: (grant.from_on, grant.row), default=None)


def why_not_authorised(
    grants: Sequence[Grant], *, person: int, name: str, method: str, method_key: str, activity: str,
    at: datetime, day: date,
) -> str:  # fmt: skip
    """Return why `person` may not act, as one or two sentences with the dates, and who may instead.

    `method` is the edition's short name. Call it only when `standing_grant` found nothing.
    """
    same = [grant for grant in grants if (grant.method_key, grant.activity) == (method_key, activity)]
    own = [grant for grant in same if grant.person == person]
    what = f"{name} is not authorised to {ACTIVITIES[activity]} by {method}"
    others = sorted({grant.name for grant in same if grant.person != person and grant.stands(at, day)})
    way_on = f" {_and(others)} {'is' if len(others) == 1 else 'are'}." if others else " Nobody is."
    return f"{what} on {day_text(day)}{_history(own, at, day)}.{way_on}"


def _history(own: Sequence[Grant], at: datetime, day: date) -> str:
    """The nearest thing the person has or had, for the sentence."""
    coming = min((grant.from_on for grant in own if grant.ended_at is None and grant.from_on > day), default=None)
    if coming is not None:
        return f"; the authorisation begins on {day_text(coming)}"
    ended = [grant.ended_at for grant in own if grant.ended_at is not None and grant.ended_at <= at]
    run_out = max(
        (grant.until_on for grant in own if grant.until_on is not None and grant.until_on < day), default=None
    )
    if run_out is not None:
        return f"; the authorisation ran out on {day_text(run_out)}"
    return "; the authorisation was ended" if ended else ""


def day_text(day: date) -> str:
    """Return a day as people read it: 9 Mar 2026."""
    return f"{day.day} {day:%b %Y}"


def _and(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"

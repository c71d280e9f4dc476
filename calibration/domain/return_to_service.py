"""May an instrument go back into service: what happened to it must have been answered by a calibration or a check."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from calibration.domain.due import day_at
from calibration.domain.status import shown


@dataclass(frozen=True, slots=True)
class Happening:
    """What happened to an instrument: on a day, told at a moment. `words` follow “it”: “was damaged”.

    `same_day` is True where a calibration of that very day comes after it, as one does after an adjustment or a
    repair; after a fall the same day proves nothing.
    """

    words: str
    on: date
    told_at: datetime
    same_day: bool


@dataclass(frozen=True, slots=True)
class CheckFact:
    """An intermediate check: its kind, its moment, whether it held."""

    kind: str
    checked_at: datetime
    passed: bool


def lacking_proof(
    happenings: Iterable[Happening], accepted_on: Iterable[date], checks: Iterable[CheckFact], *, zone: ZoneInfo
) -> str:
    """What still lacks a calibration or a check since, as a clause; empty when nothing does.

    A happening is answered by an accepted calibration (`accepted_on`: the days they were made on) or a passed check
    after it; of its own day a check counts when it was made after the happening was told. A failed check is answered
    by an accepted calibration of a later day or a passed check of the same kind after it. ISO/IEC 17025:2017, 6.4.4
    and 6.4.9, asks for verification before an instrument goes back; what counts as one here is common practice.
    """
    accepted_on, checks = list(accepted_on), list(checks)
    passed = [check for check in checks if check.passed]
    for one in sorted(happenings, key=lambda one: (one.on, one.told_at), reverse=True):
        calibrated = any(day > one.on or (day == one.on and one.same_day) for day in accepted_on)
        if not calibrated and not any(_after(check, one, zone) for check in passed):
            return f"it {one.words} on {shown(one.on)}"
    for failed in sorted(checks, key=lambda check: check.checked_at, reverse=True):
        day = day_at(failed.checked_at, zone)
        again = any(check.kind == failed.kind and check.checked_at > failed.checked_at for check in passed)
        if not failed.passed and not again and not any(on > day for on in accepted_on):
            return f"a check of it failed on {shown(day)}"
    return ""


def _after(check: CheckFact, one: Happening, zone: ZoneInfo) -> bool:
    day = day_at(check.checked_at, zone)
    return day > one.on or (day == one.on and check.checked_at > one.told_at)

"""May an instrument be used at a moment, and why: one status from its records, as they were known then."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime
from enum import Enum
from zoneinfo import ZoneInfo

from calibration.domain.due import day_at, usable_until
from labsite.ledger.wording import capitalised

SOON_DAYS = 30
"""From this many days before the due day on, an instrument is due soon. Common practice."""


class Status(Enum):
    """What an instrument is at a moment; the value is the word on screen."""

    USABLE = "usable"
    DUE_SOON = "due soon"
    OVERDUE = "overdue"
    PERMITTED = "overdue, use permitted"
    OUT_OF_SERVICE = "out of service"
    AWAITS = "awaiting verification"
    REJECTED = "rejected"
    NEVER = "never calibrated"


class Decision(Enum):
    """What somebody decided on a calibration."""

    ACCEPTED = "accepted"
    REJECTED = "rejected"
    MISTAKEN = "mistaken"


@dataclass(frozen=True, slots=True)
class ServiceFact:
    """The instrument was taken out of service, or put back."""

    at: datetime
    in_service: bool
    reason: str


@dataclass(frozen=True, slots=True)
class CalibrationFact:
    """One calibration: known from `entered_at`, decided from `decided_at` (both None while it awaits verification)."""

    id: int
    calibrated_on: date
    due_on: date
    entered_at: datetime
    decision: Decision | None = None
    decided_at: datetime | None = None
    reason: str = ""

    def decision_at(self, at: datetime) -> Decision | None:
        """The decision as far as it had been made at `at`."""
        return self.decision if self.decided_at is not None and self.decided_at <= at else None


@dataclass(frozen=True, slots=True)
class PermitFact:
    """A named person let an overdue instrument be used from `given_at` to the end of `until_on`, on one calibration."""

    id: int
    calibration_id: int
    given_at: datetime
    until_on: date
    by: str
    reason: str


@dataclass(frozen=True, slots=True)
class Standing:
    """The answer. `due_on` and `calibration_id` belong to the accepted calibration it rests on, None without one.

    `permit_id` names the permit by which an overdue instrument may be used.
    """

    status: Status
    clause: str
    due_on: date | None = None
    calibration_id: int | None = None
    permit_id: int | None = None

    @property
    def usable(self) -> bool:
        """Whether the instrument may be used."""
        return self.status in (Status.USABLE, Status.DUE_SOON, Status.PERMITTED)

    @property
    def reason(self) -> str:
        """Why, as a sentence; `clause` is the same to follow a colon."""
        return f"{capitalised(self.clause)}."


def standing(
    service: Iterable[ServiceFact], calibrations: Iterable[CalibrationFact], *, at: datetime, zone: ZoneInfo
) -> Standing:
    """The status at the instant `at`, from nothing but what had been entered, decided or done by then.

    A calibration counts from the moment somebody accepts it. The newest one (by its date, then by its entry) speaks
    for the instrument: while it awaits verification or after it was rejected, an older accepted one does not help
    (ISO/IEC 17025:2017, 6.4.4 and 6.4.9). One entered by mistake counts for nothing once that was said. The due day
    is usable to its end in `zone`. All moments are aware.
    """
    known = [fact for fact in calibrations if fact.entered_at <= at and fact.decision_at(at) is not Decision.MISTAKEN]
    newest = max(known, key=lambda fact: (fact.calibrated_on, fact.entered_at, fact.id), default=None)
    by_calibration = _by_calibration(newest, at, zone)
    changes = [fact for fact in service if fact.at <= at]
    last = max(enumerate(changes), key=lambda pair: (pair[1].at, pair[0]), default=(0, None))[1]
    if last is None or last.in_service:
        return by_calibration
    clause = f"it is out of service since {shown(day_at(last.at, zone))}: {_tail(last.reason)}"
    return Standing(Status.OUT_OF_SERVICE, clause, by_calibration.due_on, by_calibration.calibration_id)


def _by_calibration(newest: CalibrationFact | None, at: datetime, zone: ZoneInfo) -> Standing:
    if newest is None:
        return Standing(Status.NEVER, "no calibration of it is entered")
    named = f"its calibration of {shown(newest.calibrated_on)}"
    match newest.decision_at(at):
        case None:
            return Standing(Status.AWAITS, f"{named} awaits verification")
        case Decision.REJECTED:
            return Standing(Status.REJECTED, f"{named} was rejected: {_tail(newest.reason)}")
    due = newest.due_on
    if at >= usable_until(due, zone):
        return Standing(Status.OVERDUE, f"its calibration was due on {shown(due)} and that day is over", due, newest.id)
    days = (due - day_at(at, zone)).days
    if days > SOON_DAYS:
        return Standing(Status.USABLE, f"its calibration is due on {shown(due)}", due, newest.id)
    when = {0: "today, until the end of the day", 1: "tomorrow"}.get(days, f"in {days} days")
    return Standing(Status.DUE_SOON, f"its calibration is due on {shown(due)}, {when}", due, newest.id)


def shown(day: date) -> str:
    """A day as sentences here write it: 25 Nov 2026."""
    return f"{day.day} {day:%b} {day.year}"


def _tail(reason: str) -> str:
    """A typed reason as the end of a sentence."""
    return reason.strip().rstrip(".") or "no reason was given"


def permitted(found: Standing, permits: Iterable[PermitFact], *, at: datetime, zone: ZoneInfo) -> Standing:
    """The standing of an overdue instrument with the permit that holds at `at`, the latest given; else as it is.

    A permit is about one calibration: an instrument that came back, was rejected or is out of service is not helped.
    """
    about_it = [one for one in permits if one.calibration_id == found.calibration_id]
    holding = [one for one in about_it if one.given_at <= at < usable_until(one.until_on, zone)]
    if found.status is not Status.OVERDUE or not holding:
        return found
    last = max(holding, key=lambda one: (one.given_at, one.id))
    clause = f"{found.clause}; {last.by} permits its use to the end of {shown(last.until_on)}: {_tail(last.reason)}"
    return replace(found, status=Status.PERMITTED, clause=clause, permit_id=last.id)

"""Should an instrument be calibrated more or less often: what its history proposes; a person decides."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from itertools import pairwise
from math import comb

from calibration.domain.due import due_on
from calibration.domain.interval_policy import POLICY, IntervalPolicy


class Step(StrEnum):
    """What a method proposes; `UNKNOWN` where the history does not say."""

    LENGTHEN = "lengthen"
    KEEP = "keep"
    SHORTEN = "shorten"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Place:
    """One place of the range at one calibration: errors as found and as left, and the error permitted there.

    All in the unit of the difference; None where it is not known. Without an adjustment `left` is `found`.
    """

    reference: Decimal
    unit: str
    found: Decimal | None
    left: Decimal | None
    permitted: Decimal | None

    @property
    def share(self) -> Decimal | None:
        """The error as found as a share of the permitted one; None where either is not known."""
        if self.found is None or self.permitted is None or self.permitted <= 0:
            return None
        return abs(self.found) / self.permitted


@dataclass(frozen=True, slots=True)
class Visit:
    """One accepted calibration."""

    calibrated_on: date
    places: tuple[Place, ...]

    @property
    def worst(self) -> Place | None:
        """The place with the largest share of its permitted error; None where no place can be judged."""
        judged = [place for place in self.places if place.share is not None]
        return max(judged, key=lambda place: place.share or Decimal(0), default=None)

    @property
    def share(self) -> Decimal | None:
        """The largest share; None where no place can be judged."""
        return self.worst.share if self.worst else None


@dataclass(frozen=True, slots=True)
class Staircase:
    """What the staircase proposes: `interval` in the present unit, and how many good results in a row speak for it."""

    step: Step
    interval: int
    share: Decimal | None
    good_in_a_row: int
    needed: int


@dataclass(frozen=True, slots=True)
class Counts:
    """How many calibrations came back within limits; `confidence` that the target is missed or surpassed, 0 to 1."""

    within: int
    judged: int
    visits: int
    confidence: Decimal | None


def staircase(visits: Sequence[Visit], interval: int, unit: str, policy: IntervalPolicy = POLICY) -> Staircase:
    """The staircase: lengthen after good results in a row, shorten after one beyond its limit, else keep.

    `visits` are oldest first, the last one is the calibration whose `interval` is reviewed. An error of at most
    `good_share` of the permitted one is good; at the limit it is within. Source: ILAC-G24:2022 / OIML D 10:2022,
    method 1, automatic adjustment; the factors are the laboratory's own.
    """
    share = visits[-1].share if visits else None
    row = _good_in_a_row(visits, interval, unit, policy)
    if share is None:
        step, wanted = Step.UNKNOWN, Decimal(interval)
    elif share > 1:
        step, wanted = Step.SHORTEN, interval * policy.shorten_by
    elif row >= policy.good_in_a_row:
        step, wanted = Step.LENGTHEN, interval * policy.lengthen_by
    else:
        step, wanted = Step.KEEP, Decimal(interval)
    found = policy.clamped(wanted, unit, present=interval)
    if found == interval and step in (Step.LENGTHEN, Step.SHORTEN):
        step = Step.KEEP
    return Staircase(step, found, share, row, policy.good_in_a_row)


def _good_in_a_row(visits: Sequence[Visit], interval: int, unit: str, policy: IntervalPolicy) -> int:
    """Good results, newest first, each after enough of the present interval; the first calibration follows none."""
    row = 0
    for earlier, later in reversed(list(pairwise(visits))):
        whole = (due_on(earlier.calibrated_on, interval, unit) - earlier.calibrated_on).days
        lay_between = (later.calibrated_on - earlier.calibrated_on).days
        if later.share is None or later.share > policy.good_share or lay_between < whole * policy.counts_from:
            break
        row += 1
    return row


def counts(visits: Sequence[Visit], policy: IntervalPolicy = POLICY) -> Counts:
    """How many of the judged calibrations were within limits as found, with the confidence of the interval test."""
    shares = [visit.share for visit in visits if visit.share is not None]
    within = sum(share <= 1 for share in shares)
    confidence = rejection_confidence(within, len(shares), policy.target) if shares else None
    return Counts(within, len(shares), len(visits), confidence)


def rejection_confidence(within: int, judged: int, target: Decimal) -> Decimal:
    """With which confidence a count contradicts the target share, 0 to 1: one less twice the binomial tail.

    The tail is that on the count's side of the target. ValueError for a count that is none. Source: NCSLI RP-1 (2010),
    method A3, interval test.
    """
    if not 0 <= within <= judged or judged < 1 or not 0 < target < 1:
        raise ValueError(f"{within} of {judged} is no count to be set beside {target}")
    below = within < target * judged
    tail = range(within + 1) if below else range(within, judged + 1)
    chance = sum((comb(judged, k) * target**k * (1 - target) ** (judged - k) for k in tail), Decimal(0))
    return max(1 - 2 * chance, Decimal(0))

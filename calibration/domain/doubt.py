"""Since when an instrument is in doubt, until when it was used, and which other instruments the doubt reaches."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from heapq import heappop, heappush
from zoneinfo import ZoneInfo

from calibration.domain.due import day_at
from calibration.domain.status import shown
from labsite.ledger.wording import capitalised


@dataclass(frozen=True, slots=True)
class Proof:
    """A calibration or an intermediate check that showed an instrument good, or did not.

    A calibration counts from the first to the last instant of its day, a check at its moment (`first` = `last`).
    `rests_on` are the other instruments of the laboratory that it rests on. `words` name it to follow "since" or
    "until". `calibration` is its number, None for a check.
    """

    instrument: int
    first: datetime
    last: datetime
    words: str
    good: bool
    rests_on: tuple[int, ...] = ()
    calibration: int | None = None


@dataclass(frozen=True, slots=True)
class Removal:
    """The instrument went out of use: taken out of service, or sent away; `words` end the window's sentence."""

    at: datetime
    words: str


@dataclass(frozen=True, slots=True)
class Window:
    """The time in which what an instrument measured is in doubt, both ends included, and a sentence that names both."""

    from_at: datetime
    until_at: datetime
    sentence: str


@dataclass(frozen=True, slots=True)
class Link:
    """At `at`, instrument `touched` was checked, calibrated or adjusted with instrument `by`."""

    touched: int
    by: int
    at: datetime
    words: str


@dataclass(frozen=True, slots=True)
class Reach:
    """An instrument that the doubt reached through another one, and its own window, both ends included.

    `ended_by` is the calibration that ended it; None where a check did, or nothing has.
    """

    instrument: int
    through: int
    from_at: datetime
    until_at: datetime
    words: str
    ended_by: int | None = None

    def holds_at(self, at: datetime) -> bool:
        """Whether the instrument was in doubt at that moment."""
        return self.from_at <= at <= self.until_at


def window_in_doubt(
    proofs: Iterable[Proof],
    bad: Proof | None,
    removals: Iterable[Removal],
    last_use_at: datetime | None,
    *,
    begun_at: datetime,
    at: datetime,
    zone: ZoneInfo,
    doubted: Sequence[Reach] = (),
    entered_at: datetime | None = None,
) -> Window:
    """Return the window in doubt of one instrument, as known at `at`.

    It begins with the latest calibration or check before the bad one that showed the instrument good and rests on no
    instrument in `doubted`; without one, at `begun_at`, when the instrument was registered. It ends with the first
    removal after the last use (`last_use_at`), else with the day of the bad calibration, else at `at`. Where it was
    used on after that day it ends at `entered_at`, when the bad calibration was entered: until then nobody knew.
    Source: ISO/IEC 17025:2017, 6.4.9 and 7.10 from memory; the procedure is common practice.
    """
    limit_at = at if bad is None else min(bad.last, at)
    good = [
        one
        for one in proofs
        if one.good and one.first < (limit_at if bad is None else bad.first) and not _rests_on_doubt(one, doubted)
    ]
    by_calibration = max((one for one in good if one.calibration is not None), key=_moment, default=None)
    floor_at = begun_at if by_calibration is None else by_calibration.first
    until_at, until_words = limit_at, "now" if bad is None else f"{bad.words}, the end of that day"
    if bad is not None and entered_at is not None and last_use_at is not None and last_use_at > limit_at:
        until_at = limit_at = min(entered_at, at)
        until_words = f"{_moment_words(until_at, zone)}, when {bad.words} was entered; it was used until then"
    used_until_at = floor_at if last_use_at is None else max(last_use_at, floor_at)
    for removal in sorted(removals, key=lambda one: one.at):
        if used_until_at <= removal.at <= limit_at and removal.at > floor_at:
            until_at, until_words = removal.at, f"{_moment_words(removal.at, zone)}, when {removal.words}"
            break
    last_good = max((one for one in good if one.first <= until_at), key=_moment, default=None)
    if last_good is None:
        since = f"{_moment_words(begun_at, zone)}, when it was registered, because nothing shows it good before"
        return Window(begun_at, max(until_at, begun_at), f"From {since}, to {until_words}.")
    return Window(last_good.first, until_at, f"From {last_good.words}, which showed it good, to {until_words}.")


def window_asked(from_at: datetime, until_at: datetime, zone: ZoneInfo) -> Window:
    """Return a window that a person chose; ValueError, with a sentence, where it ends before it begins."""
    if until_at < from_at:
        raise ValueError(
            f"The window ends on {shown(day_at(until_at, zone))}, before it begins on {shown(day_at(from_at, zone))}."
        )
    words = f"From {shown(day_at(from_at, zone))} to {shown(day_at(until_at, zone))}, both days included, as asked."
    return Window(from_at, until_at, words)


def reached(
    root: int, from_at: datetime, until_at: datetime, links: Iterable[Link], proofs: Iterable[Proof], *, at: datetime
) -> tuple[Reach, ...]:
    """Return the instruments reached from `root`, in doubt from `from_at` to `until_at`, by the time of their link.

    An instrument linked to one that is in doubt at that moment is itself in doubt from then on, until its next good
    calibration or check that rests on no instrument in doubt, or until `at`. Chains and circles are followed; the
    root is never reached again. Whether a proof is independent depends on the answer, so it is looked for until it
    does not change any more: with each round windows only grow, and there are only so many moments.
    """
    by = defaultdict(list)
    for link in links:
        if link.touched != root:
            by[link.by].append(link)
    good = defaultdict(list)
    for proof in sorted((one for one in proofs if one.good), key=_moment):
        good[proof.instrument].append(proof)
    itself = Reach(root, root, from_at, until_at, "")
    found: tuple[Reach, ...] = ()
    while True:
        grown = _spread(itself, by, good, (itself, *found), at)
        if grown == found:
            return found
        found = grown


def _spread(
    itself: Reach,
    by: Mapping[int, Sequence[Link]],
    good: Mapping[int, Sequence[Proof]],
    doubted: Sequence[Reach],
    at: datetime,
) -> tuple[Reach, ...]:
    """One round: follow the links in the order of time, proofs judged by what the last round found in doubt."""
    waiting: list[tuple[datetime, int, int, str]] = []
    found: dict[int, list[Reach]] = defaultdict(list)
    in_doubt = defaultdict(list)
    for one in doubted:
        in_doubt[one.instrument].append(one)

    def follow(reach: Reach) -> None:
        for link in by.get(reach.instrument, ()):
            if reach.holds_at(link.at):
                heappush(waiting, (link.at, link.touched, link.by, link.words))

    follow(itself)
    while waiting:
        linked_at, touched, through, words = heappop(waiting)
        if any(one.holds_at(linked_at) for one in found[touched]):
            continue
        ending = next(
            (
                proof
                for proof in good.get(touched, ())
                if proof.first > linked_at
                and not any(_rests_on_doubt(proof, in_doubt.get(other, ())) for other in proof.rests_on)
            ),
            None,
        )
        reach = Reach(
            touched,
            through,
            linked_at,
            at if ending is None else ending.last,
            words,
            None if ending is None else ending.calibration,
        )
        found[touched].append(reach)
        follow(reach)
    return tuple(sorted((one for many in found.values() for one in many), key=lambda r: (r.from_at, r.instrument)))


def _rests_on_doubt(proof: Proof, doubted: Iterable[Reach]) -> bool:
    return any(one.instrument in proof.rests_on and one.holds_at(proof.first) for one in doubted)


def _moment(proof: Proof) -> tuple[datetime, int]:
    return proof.first, proof.calibration or 0


def _moment_words(at: datetime, zone: ZoneInfo) -> str:
    local = at.astimezone(zone)
    return capitalised(f"{shown(local.date())}, {local:%H:%M}")

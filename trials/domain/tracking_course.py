"""What happened in a tracking trial: drops, trip, persistent flame, and the criteria on them."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from trials.domain.criteria import NOT_RECORDED, Criterion, digits, with_unit
from trials.domain.methods.base import MethodEdition
from trials.domain.records import TrialRecord
from trials.domain.statements import Parameter
from trials.domain.timeline import Timeline, merged_spans

FIFTY = 50
"""Drops whose time the edition limits by itself, whatever number a proof is made with."""
PUBLIC_PAGES = "public pages of three testing bodies"


@dataclass(frozen=True)
class TrackingCourse:
    """The course in whole drops and in s from the first drop; None where something is not known.

    `asked` are the drops this run is to have, `fallen` those that fell. `trip_drop` is the number of drops that had
    fallen when the device tripped, `tripped` says that it did at all. `flame_s` is the longest flame as far as it is
    known, `flame_open` says that one has no known end, `flame_drop` how many drops had fallen when a flame that is
    too long came after the last drop. `watched_s` is the time from the last drop to the end of the watch.
    """

    asked: int | None
    fallen: int | None
    tripped: bool
    trip_drop: int | None
    flame_s: Decimal | None
    flame_open: bool
    flame_too_long: bool
    flame_drop: int | None
    last_drop_s: Decimal | None
    watched_s: Decimal | None

    @property
    def failed(self) -> bool:
        """Whether the specimen failed at any drop, asked for or not."""
        return self.tripped or self.flame_too_long

    @property
    def failed_at(self) -> int | None:
        """The drop after which the specimen failed; None without a failure and where it is not known."""
        if self.tripped and self.flame_too_long:
            return None if self.flame_drop is None or self.trip_drop is None else min(self.flame_drop, self.trip_drop)
        return self.trip_drop if self.tripped else self.flame_drop

    @property
    def contradicted(self) -> bool:
        """Whether it is recorded as tripped at a later drop than ever fell, so that the drop is not known."""
        return self.trip_drop is not None and self.fallen is not None and self.trip_drop > self.fallen

    @property
    def came_after_all(self) -> bool:
        """Whether a drop beyond those asked for fell, so that those asked for are over and done."""
        failed_at = None if self.contradicted else self.failed_at
        latest = max((n for n in (self.fallen, failed_at) if n is not None), default=0)
        return self.asked is not None and latest > self.asked

    def survived(self, watch: Parameter) -> int | None:
        """The drops survived: one less than that of the failure, else all whose watch is over; None if not known."""
        if self.failed:
            return None if self.failed_at is None or self.contradicted else self.failed_at - 1
        if self.fallen is None or (self.watched_s is not None and watch.admits(self.watched_s)):
            return self.fallen
        return max(self.fallen - 1, 0)


def course_of(edition: MethodEdition, record: TrialRecord, seen: Timeline) -> TrackingCourse:
    """Return the course of a trial from its timeline; figures that are no whole number of drops are unknown."""
    limit_s = edition.number("flame_limit_s")
    spans = [(f.start_s, f.end_s) for f in seen.flames if f.start_s is not None and f.end_s is not None]
    merged = merged_spans(spans)
    too_long = [start for start, end in merged if end - start > limit_s]
    asked, fallen = record.setup.get("drops_asked"), whole_drops(seen.finding("drops_fallen"))
    last_drop_s, ends_s = seen.application_s, seen.watch_ends_s
    after_all = bool(too_long) and last_drop_s is not None and min(too_long) >= last_drop_s
    return TrackingCourse(
        asked=int(asked) if isinstance(asked, str) else None,
        fallen=fallen,
        tripped=seen.moment("trip") is not None,
        trip_drop=whole_drops(seen.finding("trip")) or None,
        flame_s=max((end - start for start, end in merged), default=None),
        flame_open=any(f.end_s is None or f.start_s is None or f.put_out for f in seen.flames),
        flame_too_long=bool(too_long),
        flame_drop=fallen or None if after_all else None,
        last_drop_s=last_drop_s,
        watched_s=None if last_drop_s is None or ends_s is None else ends_s - last_drop_s,
    )


def whole_drops(value: object) -> int | None:
    """Return a recorded number of drops; None for what is no whole number of them."""
    if not isinstance(value, Decimal) or value < 0 or value != value.to_integral_value():
        return None
    return int(value)


def run_criteria(edition: MethodEdition, course: TrackingCourse) -> tuple[Criterion, ...]:
    """Return what must hold of the specimen: no trip, no persistent flame, all drops fallen, watched to the end."""
    return (
        _trip_criterion(edition, course),
        _flame_criterion(edition, course),
        _drops_criterion(course),
        _watch_criterion(edition.parameter("watch_after_last_drop_s"), course),
    )


def validity_criteria(edition: MethodEdition, seen: Timeline, course: TrackingCourse) -> tuple[Criterion, ...]:
    """Return what the trial itself must hold beyond its set-up: no air arc, no hole, drops in their time."""
    return (
        *_air_arc_criteria(seen),
        *_hole_criteria(edition, seen),
        *_interval_criteria(edition, course),
        *_clock_criteria(edition, seen, course),
    )


def run_off_criteria(edition: MethodEdition, record: TrialRecord, seen: Timeline) -> tuple[Criterion, ...]:
    """Return whether nothing ran off the edge, where the surface is so small that this is asked."""
    side_mm, least = record.figure("side_mm"), edition.parameter("side_run_off_mm")
    if not isinstance(side_mm, Decimal) or side_mm >= edition.number(least.key):
        return ()
    ran_off = seen.finding("ran_off")
    title, limit = "Nothing runs off the edge", f"must not below {with_unit(edition.number(least.key), 'mm')}"
    found, holds, why = NOT_RECORDED, None, "whether solution ran off the edge is not recorded"
    if isinstance(ran_off, bool):
        found, holds = ("ran off", False) if ran_off else ("nothing ran off", True)
        why = f"solution ran off the edge of a surface of {digits(side_mm)} mm" if ran_off else ""
    return (Criterion("ran_off", title, found, limit, holds, why, least.source, least.certainty),)


def _trip_criterion(edition: MethodEdition, course: TrackingCourse) -> Criterion:
    title, source = "No over-current of 0.5 A or more for 2 s", PUBLIC_PAGES
    limit = f"none within {course.asked} drops" if course.asked is not None else NOT_RECORDED
    if not course.tripped:
        return Criterion("trip", title, "no trip", limit, True, "", source, "published")
    if course.trip_drop is None or course.asked is None:
        why = "the device tripped, and how many drops had fallen is not known"
        return Criterion("trip", title, "tripped", limit, None, why, source, "published")
    found = f"tripped at drop {course.trip_drop}"
    if course.contradicted:
        why = f"the device tripped at drop {course.trip_drop}, yet {course.fallen} drops fell"
        return Criterion("trip", title, found, limit, None, why, source, "published")
    late = course.trip_drop > course.asked and edition.parameter("later_failure_survives").value is True
    why = f"the device tripped at drop {course.trip_drop}, {course.asked} drops asked"
    return Criterion("trip", title, found, limit, late, "" if late else why, source, "published")


def _flame_criterion(edition: MethodEdition, course: TrackingCourse) -> Criterion:
    parameter = edition.parameter("flame_limit_s")
    found = "no flame" if course.flame_s is None else f"longest {digits(course.flame_s)} s"
    if course.flame_s is None and course.flame_open:
        found = "a flame without a known end"
    holds: bool | None = True
    why = ""
    if course.flame_too_long:
        late = edition.parameter("later_failure_survives").value is True
        n, asked = course.flame_drop, course.asked
        holds = late and n is not None and asked is not None and n > asked
        why = "" if holds else f"a flame lasted {found.removeprefix('longest ')}, {parameter.limit_text} is allowed"
    elif course.flame_open:
        holds, why = None, "how long a flame lasted is not known"
    return Criterion("flame", "No persistent flame", found, parameter.limit_text, holds, why, parameter.source,
                     parameter.certainty)  # fmt: skip


def _drops_criterion(course: TrackingCourse) -> Criterion:
    title, source = "All drops fell", "public pages of two testing bodies on the tracking test"
    found = NOT_RECORDED if course.fallen is None else f"{course.fallen} drops"
    limit = NOT_RECORDED if course.asked is None else f"at least {course.asked} drops"
    holds, why = None, "how many drops fell is not recorded"
    if course.asked is None:
        why = "how many drops were asked is not recorded"
    elif course.came_after_all or (course.fallen is not None and course.fallen >= course.asked):
        holds, why = True, ""
    elif course.fallen is not None:
        why = f"{course.fallen} of {course.asked} drops fell"
    return Criterion("drops", title, found, limit, holds, why, source, "published")


def _watch_criterion(parameter: Parameter, course: TrackingCourse) -> Criterion:
    """The watch after the last drop asked for; a further drop comes later than it ends. Cut short, it fails nothing."""
    found = NOT_RECORDED if course.watched_s is None else f"{digits(course.watched_s)} s"
    holds, why = None, "the last drop or the end of the watch is not recorded"
    if course.came_after_all:
        found, holds, why = "until a further drop", True, ""
    elif course.watched_s is not None:
        holds = True if parameter.admits(course.watched_s) else None
        why = "" if holds else f"the watch ended {found} after the last drop, {parameter.limit_text} is asked"
    return Criterion("watched", parameter.title, found, parameter.limit_text, holds, why, parameter.source,
                     parameter.certainty)  # fmt: skip


def _air_arc_criteria(seen: Timeline) -> tuple[Criterion, ...]:
    arc_s = seen.moment("air_arc")
    if arc_s is None:
        return ()
    why = f"an air arc above the specimen drew the current at {digits(arc_s)} s; clean, and repeat on a new site"
    return (Criterion("air_arc", "No arc in the air above", f"air arc at {digits(arc_s)} s", "no air arc", False, why,
                      "IEC 60112:2020, public excerpt of clause 11", "published"),)  # fmt: skip


def _hole_criteria(edition: MethodEdition, seen: Timeline) -> tuple[Criterion, ...]:
    parameter = edition.parameter("hole_rule")
    if parameter.value != "thicker material":
        return ()
    hole = seen.finding("hole")
    found, holds, why = NOT_RECORDED, None, "whether a hole formed through the specimen is not recorded"
    if isinstance(hole, bool):
        found, holds = ("a hole", False) if hole else ("no hole", True)
        why = "a hole formed through the specimen; repeat on thicker material, a stack" if hole else ""
    return (Criterion("hole", "No hole through the specimen", found, "no hole", holds, why, parameter.source,
                      parameter.certainty),)  # fmt: skip


def _interval_criteria(edition: MethodEdition, course: TrackingCourse) -> Sequence[Criterion]:
    """The drops in their time, from the first to the last; asked only where a run went through and both are known."""
    if course.failed or course.last_drop_s is None or course.fallen is None or course.fallen < 2:
        return ()
    every, fifty = edition.parameter("drop_interval_s"), edition.parameter("fifty_drops_min")
    found = f"{course.fallen} drops in {digits(course.last_drop_s)} s"
    checks = [("interval", every, course.last_drop_s / (course.fallen - 1))]
    if course.fallen == FIFTY:
        checks.append(("fifty_drops", fifty, course.last_drop_s / 60))
    return tuple(
        Criterion(key, p.title, found, p.limit_text, p.admits(value),
                  "" if p.admits(value) else f"{found}, {p.limit_text} is asked", p.source, p.certainty)
        for key, p, value in checks
    )  # fmt: skip


def _clock_criteria(edition: MethodEdition, seen: Timeline, course: TrackingCourse) -> tuple[Criterion, ...]:
    """A number of drops that cannot have fallen in the time recorded leaves the trial unjudged; nothing else is said.

    Number N falls N - 1 intervals after the first, each no shorter and no longer than the edition allows. It is the
    last one until N + 1 falls, which may be never once all those asked for have fallen.
    """
    every = edition.parameter("drop_interval_s")
    shortest_s, longest_s = every.bounds
    trip_s, last_s, fallen, asked = seen.moment("trip"), course.last_drop_s, course.fallen, course.asked
    latest_s = max((t for t in (trip_s, last_s, seen.watch_ends_s) if t is not None), default=None)
    # How many had fallen by a moment, and the number of intervals that it must lie within, where there is one.
    counts: list[tuple[int, Decimal, int | None]] = []
    if course.trip_drop is not None and trip_s is not None:
        still_dripping = asked is None or course.trip_drop < asked
        counts.append((course.trip_drop, trip_s, course.trip_drop if still_dripping else None))
    if course.failed and fallen and last_s is not None:
        all_fell = asked is not None and fallen > asked
        counts.append((asked, last_s, None) if all_fell and asked else (fallen, last_s, fallen))
    if fallen and latest_s is not None and (course.failed or last_s is None):
        counts.append((fallen, latest_s, None))
    for drops, at_s, intervals in counts:
        early = shortest_s is not None and at_s < (drops - 1) * shortest_s
        late = longest_s is not None and intervals is not None and at_s > intervals * longest_s
        if early or late:
            found = f"{drops} drops in {with_unit(at_s, 's')}"
            why = f"{found} cannot be at {every.limit_text} from drop to drop; correct the number or the time"
            return (Criterion("drops_by_clock", "Drops agree with the clock", found, every.limit_text, None, why,
                              every.source, every.certainty),)  # fmt: skip
    if course.came_after_all and latest_s is None:
        why = "when the last drop fell is not recorded, so that the number of drops is held against no time"
        return (Criterion("drops_by_clock", "Drops agree with the clock", NOT_RECORDED, every.limit_text, None, why,
                          every.source, every.certainty),)  # fmt: skip
    return ()

"""One bar of the vertical test: afterflame t1, t2 and afterglow t3 in whole seconds, clamp, cotton, by class."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal
from functools import cached_property

from trials.domain.criteria import NOT_RECORDED, Criterion, digits, with_unit
from trials.domain.methods.base import MethodEdition
from trials.domain.timeline import BurnEvent, Timeline

HALF_UP, HALF_EVEN, AS_TIMED = "whole seconds, half up", "whole seconds, half to even", "as timed"
ROUNDINGS = (HALF_UP, HALF_EVEN, AS_TIMED)
NOT_APPLIED = "not applied"

_TIMES = {
    "t1": ("t1", "Afterflame t1"),
    "t2": ("t2", "Afterflame t2"),
    "glow": ("t2 + t3", "Afterflame and afterglow t2 + t3"),
}
"""How a time is called in a reason, and as a line."""

_NONE = Decimal(0)
_MODES = {HALF_UP: ROUND_HALF_UP, HALF_EVEN: ROUND_HALF_EVEN}


@dataclass(frozen=True)
class Aftertime:
    """A time after the flame was taken away, in s: as timed, and as the rule counts it.

    Not `exact`: it lasted that long at least, and `why` says what is not known. None: nothing is known of it.
    """

    raw_s: Decimal | None
    counted_s: Decimal | None
    exact: bool
    why: str = ""

    @cached_property
    def text(self) -> str:
        """The time for tables; the reason where there is none."""
        if self.counted_s is None:
            return NOT_APPLIED if self.why == NOT_APPLIED else NOT_RECORDED
        return digits(self.counted_s) if self.exact else f"at least {digits(self.counted_s)}"

    @property
    def known(self) -> tuple[Decimal | None, str, bool, str]:
        """All that a line on this time says: as counted, in words, whether exact, and why not."""
        return self.counted_s, self.text, self.exact, self.why


@dataclass(frozen=True)
class BarCourse:
    """What the rule looks at, in s: three times, when the bar had burned to the clamp and when the cotton caught.

    `unwatched` says why it is not known that somebody watched to the end; empty where somebody did.
    """

    t1: Aftertime
    t2: Aftertime
    t3: Aftertime
    clamp_s: Decimal | None
    cotton_s: Decimal | None
    drips: int
    unwatched: str
    second_on_s: Decimal | None
    second_off_s: Decimal | None
    flames_end_before_second_s: Decimal | None

    @property
    def watched(self) -> bool:
        """Whether somebody watched past the last application."""
        return not self.unwatched

    @cached_property
    def glow(self) -> Aftertime:
        """t2 + t3, as counted."""
        t2, t3 = self.t2, self.t3
        total = t2.counted_s + t3.counted_s if t2.counted_s is not None and t3.counted_s is not None else None
        return Aftertime(None, total, t2.exact and t3.exact, t2.why or t3.why)

    @property
    def not_applied(self) -> bool:
        """Whether there was no second application because the bar had burned to the clamp."""
        return self.t2.why == NOT_APPLIED


def bar_course(edition: MethodEdition, seen: Timeline) -> BarCourse:
    """Return the course of one bar; what began before the second application belongs to t1, the rest to t2.

    A time without a recorded end is known as "at least"; t3 counts from the end of the afterflame. Rounding is the
    edition's, each time by itself.
    """
    removed_s, on_s, off_s = seen.application_s, seen.moment("second_on"), seen.moment("second_off")
    clamp_s = seen.moment("burned_to_clamp")
    early = [flame for flame in seen.flames if on_s is None or _begun(flame) < on_s]
    late = [flame for flame in seen.flames if on_s is not None and (_begun(flame) >= on_s or _lasts(flame, off_s))]
    t1 = _aftertime(edition, "flame", early, removed_s, on_s)
    if on_s is None or off_s is None:
        burned = clamp_s is not None and on_s is None
        unknown = Aftertime(None, None, False, NOT_APPLIED if burned else "the second application is not recorded")
        t2 = t3 = unknown
    else:
        t2 = _aftertime(edition, "flame", late, off_s, None)
        glows = [glow for glow in seen.glows if glow.end_s is None or glow.end_s > off_s]
        if glows and (t2.raw_s is None or not t2.exact):
            t3 = Aftertime(_NONE, _NONE, False, "when the afterflame ended is not known, so that t3 is not")
        else:
            t3 = _aftertime(edition, "glow", glows, off_s + (t2.raw_s or _NONE), None)
    ends = [flame.end_s for flame in early if flame.end_s is not None]
    return BarCourse(
        t1=t1,
        t2=t2,
        t3=t3,
        clamp_s=clamp_s,
        cotton_s=seen.layer_ignites_s,
        drips=len(seen.drips_s),
        unwatched=seen.unwatched(removed_s, off_s),
        second_on_s=on_s,
        second_off_s=off_s,
        flames_end_before_second_s=max([*ends, removed_s]) if removed_s is not None else None,
    )


def counted_seconds(edition: MethodEdition, raw_s: Decimal) -> Decimal:
    """Return a time as the edition counts it: each rounded to the whole second, half up by default, or as timed."""
    mode = _MODES.get(str(edition.parameter("rounding").value))
    return raw_s if mode is None else raw_s.quantize(Decimal(1), mode)


def class_criteria(edition: MethodEdition, prefix: str, bar: BarCourse) -> tuple[Criterion, ...]:
    """Return the lines on a single bar for one class, whose parameters begin with `prefix` ("v0").

    Whole seconds come again from bar to bar and from class to class, so each line is remembered by what it says.
    """
    time = edition.remembered(_time_criterion)
    lines = [time("t1", f"{prefix}_each_s", *bar.t1.known)]
    if not bar.not_applied:
        lines.append(time("t2", f"{prefix}_each_s", *bar.t2.known))
        lines.append(time("glow", f"{prefix}_glow_s", *bar.glow.known))
    lines.append(edition.remembered(_clamp_criterion)(_at(bar.clamp_s), bar.not_applied))
    if edition.parameter(f"{prefix}_cotton").value is True:
        lines.append(edition.remembered(_cotton_criterion)(f"{prefix}_cotton", _at(bar.cotton_s)))
    lines.append(edition.remembered(_watch_criterion)(bar.unwatched))
    return tuple(lines)


def _lasts(event: BurnEvent, until_s: Decimal | None) -> bool:
    """Whether an event went on beyond a moment, as far as is known."""
    return event.end_s is None or (until_s is not None and event.end_s > until_s)


def _begun(event: BurnEvent) -> Decimal:
    """Where an event lies: its start, its end where no start is recorded."""
    if event.start_s is not None:
        return event.start_s
    return event.end_s if event.end_s is not None else _NONE


def _aftertime(
    edition: MethodEdition, what: str, events: Sequence[BurnEvent], from_s: Decimal | None, before_s: Decimal | None
) -> Aftertime:
    """The time from `from_s` to the last end; at least to what is known where an end is not or lies past `before_s`."""
    if from_s is None:
        return Aftertime(None, None, False, f"how long the {what} lasted is unknown without the moment of removal")
    until_s, why = from_s, ""
    for event in events:
        burning = what if event.start_s is None else f"{what} from {digits(event.start_s)} s"
        known_s, doubt = event.end_s, ""
        if event.end_s is None:
            known_s, doubt = event.start_s, f"the end of the {burning} is not recorded"
        elif before_s is not None and event.end_s > before_s:
            doubt = f"the {burning} has no end before the second application at {digits(before_s)} s"
            known_s = event.start_s
        elif event.put_out:
            doubt = f"the {burning} was put out by hand at {digits(event.end_s)} s"
        until_s = max(until_s, known_s if known_s is not None else from_s)
        why = why or doubt
    raw_s = until_s - from_s
    return Aftertime(raw_s, counted_seconds(edition, raw_s), not why, why)


def _time_criterion(
    edition: MethodEdition, key: str, limit: str, counted_s: Decimal | None, text: str, exact: bool, why: str
) -> Criterion:
    """The line on one time; one known as "at least" can break it, and is else unknown. `text` has the digits."""
    parameter, (name, title) = edition.parameter(limit), _TIMES[key]
    found = text if counted_s is None else f"{text} s"
    holds, reason = (True, "") if exact else (None, why)
    if counted_s is not None and not parameter.admits(counted_s):
        least, most = "" if exact else " at least", with_unit(edition.number(limit), "s")
        holds, reason = False, f"{name} of {with_unit(counted_s, 's')}{least} is over {most}"
    return Criterion(key, title, found, parameter.limit_text, holds, reason, parameter.source, parameter.certainty)


def _at(moment_s: Decimal | None) -> str:
    return "" if moment_s is None else f"at {digits(moment_s)} s"


def _clamp_criterion(edition: MethodEdition, at: str, not_applied: bool) -> Criterion:
    parameter = edition.parameter("burned_to_clamp")
    found, reason = "not to the clamp", ""
    if at:
        found, reason = f"to the clamp {at}", f"the bar had burned to the clamp {at}"
        reason += ", and t2 and t3 were not applied" if not_applied else ""
    return Criterion("burned_to_clamp", parameter.title, found, "must not", not at, reason, parameter.source,
                     parameter.certainty)  # fmt: skip


def _cotton_criterion(edition: MethodEdition, limit: str, at: str) -> Criterion:
    parameter = edition.parameter(limit)
    found, reason = (f"caught {at}", f"the cotton caught {at}") if at else ("not caught", "")
    return Criterion("cotton", "The cotton does not catch", found, "must not catch", not at, reason, parameter.source,
                     parameter.certainty)  # fmt: skip


def _watch_criterion(edition: MethodEdition, unwatched: str) -> Criterion:
    parameter = edition.parameter("watched")
    found, holds = (NOT_RECORDED, None) if unwatched else ("to the end", True)
    return Criterion("watched", parameter.title, found, "to the end", holds, unwatched, parameter.source,
                     parameter.certainty)  # fmt: skip

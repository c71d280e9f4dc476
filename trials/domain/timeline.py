"""The course of a burning trial: flames, glow, layer, drips and wire, paired from single timed rows."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from trials.domain.criteria import Value, digits
from trials.domain.records import Observation

FLAME_KINDS = ("bright", "colourless", "corona")
"""A row without a kind is a bright flame; a corona round the tip is ionised gas, recorded and never counted."""

BURNING_PAIRS = (("ignites", "flame_out"), ("glow_starts", "glow_ends"))

_CAN_BE_PUT_OUT = ("ignites", "flame_out", "glow_starts", "glow_ends", "layer_catches", "surroundings_catch",
                   "other_part_ignites")  # fmt: skip
"""Of what was put out, one of these must be recorded before; else a flame burned that nobody recorded."""


@dataclass(frozen=True)
class BurnEvent:
    """One flame or glow, in seconds from contact; a side that nobody recorded is None.

    `put_out` says that a person ended it, so that its own end is unknown and only "at least until" is known.
    """

    kind: str
    start_s: Decimal | None
    end_s: Decimal | None
    put_out: bool = False

    @property
    def counts(self) -> bool:
        """Whether a rule looks at it: a corona never counts."""
        return self.kind != "corona"


@dataclass(frozen=True)
class Timeline:
    """All that happened, in seconds from contact; tuples are in order of time.

    `contact_s` is contact on the bench clock itself (0 where it is not known), `findings` every row as
    (kind, s, value).
    """

    contact_s: Decimal
    application_s: Decimal | None
    contacts: int
    withdrawals: int
    events: tuple[BurnEvent, ...]
    drips_s: tuple[Decimal, ...]
    layer_caught_s: tuple[Decimal, ...]
    layer_out_s: tuple[Decimal, ...]
    heights: tuple[tuple[Decimal | None, Decimal], ...]
    watch_ends_s: Decimal | None
    findings: tuple[tuple[str, Decimal | None, Value], ...]
    warnings: tuple[str, ...]

    @cached_property
    def flames(self) -> tuple[BurnEvent, ...]:
        """The flames that count."""
        return tuple(event for event in self.events if event.counts and event.kind != "glow")

    @cached_property
    def glows(self) -> tuple[BurnEvent, ...]:
        """The glows."""
        return tuple(event for event in self.events if event.kind == "glow")

    @property
    def specimen_ignites_s(self) -> Decimal | None:
        """t_i of the specimen: start of its first counted flame."""
        return min((f.start_s for f in self.flames if f.start_s is not None), default=None)

    @property
    def layer_ignites_s(self) -> Decimal | None:
        """t_i of the layer."""
        return min(self.layer_caught_s, default=None)

    @cached_property
    def flames_end_s(self) -> Decimal | None:
        """t_e: end of the last counted flame; None without a flame or while one end is unknown."""
        return last_end(self.flames)

    @cached_property
    def glow_ends_s(self) -> Decimal | None:
        """End of the last glow; None without a glow or while one end is unknown."""
        return last_end(self.glows)

    @property
    def longest_flame_s(self) -> Decimal | None:
        """Longest single counted flame, touching and overlapping ones taken as one; None if any side is unknown."""
        spans = [(f.start_s, f.end_s) for f in self.flames if f.start_s is not None and f.end_s is not None]
        if not spans or len(spans) < len(self.flames):
            return None
        return max(end - start for start, end in merged_spans(spans))

    def unwatched(self, *applied_until_s: Decimal | None) -> str:
        """Why nobody is known to have watched past the last application, moments in s; "" where somebody did."""
        ends_s = self.watch_ends_s
        if ends_s is None:
            return "the end of the watch is not recorded"
        latest_s = max((t for t in applied_until_s if t is not None), default=ends_s)
        if ends_s >= latest_s:
            return ""
        return f"the watch ended at {digits(ends_s)} s, before the flame was taken away at {digits(latest_s)} s"

    def finding(self, kind: str) -> Value:
        """The value of the last standing row of an untimed kind; None where there is none."""
        return next((value for key, _, value in reversed(self.findings) if key == kind), None)

    def moment(self, kind: str) -> Decimal | None:
        """The first moment of a timed kind, in s from contact; None where no row of it stands."""
        return self._moments.get(kind)

    @cached_property
    def _moments(self) -> Mapping[str, Decimal]:
        return {key: t for key, t, _ in reversed(self.findings) if t is not None}


def last_end(events: Sequence[BurnEvent]) -> Decimal | None:
    """Return the latest end in s; None when there is no event or one has no end of its own."""
    ends = [event.end_s for event in events if event.end_s is not None and not event.put_out]
    return max(ends) if ends and len(ends) == len(events) else None


def merged_spans(spans: Iterable[tuple[Decimal, Decimal]]) -> tuple[tuple[Decimal, Decimal], ...]:
    """Return (start, end) spans in s with touching and overlapping ones joined, in order of time."""
    merged: list[tuple[Decimal, Decimal]] = []
    for start, end in sorted(spans):
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], end))
        else:
            merged.append((start, end))
    return tuple(merged)


def timeline_of(rows: Sequence[Observation]) -> Timeline:
    """Return the course of a trial from its standing rows (see `standing`), times shifted so that contact is 0.

    Wrong order is a warning for the event it concerns, never a refusal.
    """
    contacts = [row.t_s for row in rows if row.kind == "contact" and row.t_s is not None]
    contact_s = contacts[0] if len(contacts) == 1 else Decimal(0)
    moved = [(row.kind, None if row.t_s is None else row.t_s - contact_s, row.value) for row in rows]
    timed: _Timed = {}
    for kind, t, value in moved:
        if t is not None:
            timed.setdefault(kind, []).append((t, value))
    withdrawn = [row.t_s for row in rows if row.kind == "withdrawn" and row.t_s is not None]
    one_each = len(contacts) == 1 and len(withdrawn) == 1
    warnings: list[str] = []
    put_out = _times(timed, "put_out")
    events = _burn_events(timed, put_out, warnings)
    if put_out and not any(_begun_by(timed, kind, put_out[0]) for kind in _CAN_BE_PUT_OUT):
        warnings.append(f"Put out by hand at {digits(put_out[0])} s, yet nothing that burned is recorded before it.")
        events = (BurnEvent("bright", None, None, put_out=True), *events)
    caught, layer_out = _times(timed, "layer_catches"), _times(timed, "layer_out")
    watch_ends_s = max(_times(timed, "watch_ends"), default=None)
    _warn_of_order(moved, caught, layer_out, watch_ends_s, warnings)
    return Timeline(
        contact_s=contact_s,
        application_s=withdrawn[0] - contacts[0] if one_each else None,
        contacts=len(contacts),
        withdrawals=len(withdrawn),
        events=events,
        drips_s=_times(timed, "drip"),
        layer_caught_s=caught,
        layer_out_s=layer_out,
        heights=tuple((t, value) for kind, t, value in moved if kind == "flame_height" and isinstance(value, Decimal)),
        watch_ends_s=watch_ends_s,
        findings=tuple(moved),
        warnings=tuple(warnings),
    )


type _Moved = Sequence[tuple[str, Decimal | None, Value]]
type _Timed = dict[str, list[tuple[Decimal, Value]]]
"""Moments in s from contact and values by kind, in the order of the rows."""


def _times(timed: _Timed, kind: str) -> tuple[Decimal, ...]:
    return tuple([t for t, _ in timed.get(kind, ())])


def _begun_by(timed: _Timed, kind: str, t_s: Decimal) -> bool:
    return any(t <= t_s for t in _times(timed, kind))


def _burn_events(timed: _Timed, put_out_s: Sequence[Decimal], warnings: list[str]) -> tuple[BurnEvent, ...]:
    """Pair the starts and ends of each kind of flame and of glow, first start with first end after it."""
    events: list[BurnEvent] = []
    for start_kind, end_kind in BURNING_PAIRS:
        if start_kind not in timed and end_kind not in timed:
            continue
        kinds = FLAME_KINDS if start_kind == "ignites" else ("glow",)
        for flame in kinds:
            starts = _times_of_flame(timed, start_kind, flame)
            ends = _times_of_flame(timed, end_kind, flame)
            events += _paired(flame, starts, ends, put_out_s, warnings)
    key_s = Decimal("-Infinity")
    return tuple(sorted(events, key=lambda e: (key_s if e.start_s is None else e.start_s, e.end_s is None, e.kind)))


def _times_of_flame(timed: _Timed, kind: str, flame: str) -> list[Decimal]:
    rows = timed.get(kind, ())
    return sorted(t for t, value in rows if flame in ("glow", value if value is not None else "bright"))


def _paired(
    flame: str, starts: list[Decimal], ends: list[Decimal], put_out_s: Sequence[Decimal], warnings: list[str]
) -> list[BurnEvent]:
    """Pair starts with ends; what a person put out while it burned has no end of its own, recorded as out or not."""
    events: list[BurnEvent] = []
    waiting = list(starts)
    name = "glow" if flame == "glow" else f"{flame} flame"
    for end_s in ends:
        if waiting and waiting[0] <= end_s:
            start_s = waiting.pop(0)
            by_hand = any(start_s < one <= end_s for one in put_out_s)
            events.append(BurnEvent(flame, start_s, end_s, put_out=by_hand))
        else:
            warnings.append(f"The end of a {name} at {digits(end_s)} s has no start before it.")
            events.append(BurnEvent(flame, None, end_s))
    for start_s in waiting:
        hand_s = next((one for one in put_out_s if one >= start_s), None)
        events.append(BurnEvent(flame, start_s, hand_s, put_out=hand_s is not None))
    return events


def _warn_of_order(
    moved: _Moved,
    caught: Sequence[Decimal],
    layer_out: Sequence[Decimal],
    watch_ends_s: Decimal | None,
    warnings: list[str],
) -> None:
    for kind, t, _ in moved:
        if t is not None and t < 0:
            warnings.append(f"Recorded before contact: {kind.replace('_', ' ')}, {digits(t)} s.")
        if t is not None and watch_ends_s is not None and t > watch_ends_s:
            warnings.append(f"Recorded after the watch had ended: {kind.replace('_', ' ')}, {digits(t)} s.")
    if layer_out and not caught:
        warnings.append(f"The layer went out at {digits(layer_out[0])} s, yet it is not recorded that it caught.")
    elif layer_out and layer_out[0] < caught[0]:
        warnings.append(f"The layer went out at {digits(layer_out[0])} s, before it caught at {digits(caught[0])} s.")

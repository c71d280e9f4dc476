"""Criteria on what burned and for how long, shared by methods that watch flames, glow and a layer."""

from decimal import Decimal

from trials.domain.criteria import NOT_RECORDED, Criterion, digits, with_unit
from trials.domain.statements import Parameter
from trials.domain.timeline import BurnEvent, Timeline

ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")


def layer_criteria(parameter: Parameter, seen: Timeline) -> tuple[Criterion, ...]:
    """Return whether the layer stayed unlit, where the edition judges that.

    It fails the specimen even when the specimen shows no flame.
    """
    caught_s = seen.layer_ignites_s
    if parameter.value is not True:
        return ()
    found, reason = ("not caught", "") if caught_s is None else (f"caught at {digits(caught_s)} s", _caught(seen))
    return (Criterion("layer", "The layer does not catch", found, "must not catch", caught_s is None, reason,
                      parameter.source, parameter.certainty),)  # fmt: skip


def layer_words(seen: Timeline) -> str:
    """Return what is to be said of the layer behind a pass."""
    return "the layer did not catch" if seen.layer_ignites_s is None else "the layer is not judged"


def layer_remarks(parameter: Parameter, seen: Timeline) -> tuple[str, ...]:
    """Return that the layer caught where that is not judged."""
    if seen.layer_ignites_s is None or parameter.value is True:
        return ()
    return (f"The layer caught at {digits(seen.layer_ignites_s)} s; this is recorded and not judged.",)


def _caught(seen: Timeline) -> str:
    caught_s = seen.layer_ignites_s or Decimal(0)
    before = [drip for drip in seen.drips_s if drip <= caught_s]
    if not before:
        return f"the layer caught at {digits(caught_s)} s"
    which = ORDINALS[len(before) - 1] if len(before) <= len(ORDINALS) else f"{len(before)}th"
    at = f" at {digits(before[-1])} s" if before[-1] != caught_s else ""
    return f"the layer caught at {digits(caught_s)} s, after the {which} drip{at}"


def burning_criterion(parameter: Parameter, seen: Timeline, latest_s: Decimal | None, limit: str) -> Criterion:
    """Return whether flames and glow ended by `latest_s` (s from contact, inclusive); None while an end is unknown.

    What burned on past the limit is known to break it even when a person then put it out. The later of the last
    flame and the last glow is judged; a corona never counts.
    """
    events = (*seen.flames, *seen.glows)

    def criterion(found: str, holds: bool | None, reason: str) -> Criterion:
        title = "Flames and glow end in time"
        return Criterion("burning_ends", title, found, limit, holds, reason, parameter.source, parameter.certainty)

    if not events:
        return criterion("no flame, no glow", True, "")
    if latest_s is None:
        return criterion(_ends_text(seen), None, "the limit for flames and glow is unknown without the time in contact")
    late = [event for event in events if _known_until(event) > latest_s]
    if late:
        worst = max(late, key=lambda event: (_known_until(event), event.kind))
        return criterion(_ends_text(seen), False, _late_text(worst, latest_s))
    open_events = [event for event in events if event.end_s is None or event.put_out]
    if open_events:
        return criterion(_ends_text(seen), None, _open_text(open_events[0]))
    last_s = max(_known_until(event) for event in events)
    return criterion(_ends_text(seen), True, f"{digits(latest_s - last_s)} s to spare")


def application_criterion(parameter: Parameter, seen: Timeline) -> Criterion:
    """Return whether the source was applied for the right time, withdrawal minus contact, unrounded."""
    found, holds = NOT_RECORDED, None
    if seen.application_s is not None:
        found, holds = with_unit(seen.application_s, "s"), parameter.admits(seen.application_s)
        reason = "" if holds else f"the time in contact was {found}, outside {parameter.limit_text}"
    elif seen.contacts == 0:
        reason = "contact is not recorded"
    elif seen.withdrawals == 0:
        reason = "withdrawal is not recorded"
    else:
        reason = "the time in contact is not known while contact or withdrawal stand twice"
    return Criterion("application", parameter.title, found, parameter.limit_text, holds, reason, parameter.source,
                     parameter.certainty)  # fmt: skip


def consumed_criteria(parameter: Parameter, seen: Timeline) -> tuple[Criterion, ...]:
    """Return whether something of the specimen was left; empty when the edition or the course does not ask it."""
    consumed = seen.finding("consumed")
    if parameter.value is not True or not (seen.flames or seen.glows):
        return ()
    found, holds, reason = NOT_RECORDED, None, "whether anything of the specimen was left is not recorded"
    if isinstance(consumed, bool):
        found, holds = ("consumed", False) if consumed else ("remains", True)
        reason = "the specimen was consumed" if consumed else ""
    return (Criterion("consumed", "Specimen not consumed", found, "must not be consumed", holds, reason,
                      parameter.source, parameter.certainty),)  # fmt: skip


def surroundings_criteria(parameter: Parameter, seen: Timeline) -> tuple[Criterion, ...]:
    """Return a broken criterion when it is recorded that the surroundings caught fire and the edition judges it."""
    caught_s = seen.moment("surroundings_catch")
    if parameter.value is not True or caught_s is None:
        return ()
    found, reason = f"caught at {digits(caught_s)} s", f"the surroundings caught fire at {digits(caught_s)} s"
    return (Criterion("surroundings", "Surroundings do not catch fire", found, "must not catch", False, reason,
                      parameter.source, parameter.certainty),)  # fmt: skip


def scorching_criteria(parameter: Parameter, seen: Timeline) -> tuple[Criterion, ...]:
    """Return whether the board under the layer was left unscorched, where the edition judges that."""
    scorched = seen.finding("board_scorched")
    if parameter.value is not True:
        return ()
    found, holds, reason = NOT_RECORDED, None, "whether the board was scorched is not recorded"
    if isinstance(scorched, bool):
        found, holds = ("scorched", False) if scorched else ("not scorched", True)
        reason = "the board was scorched" if scorched else ""
    return (Criterion("board_scorched", "Board not scorched", found, "must not be scorched", holds, reason,
                      parameter.source, parameter.certainty),)  # fmt: skip


def watch_criterion(parameter: Parameter, seen: Timeline, latest_s: Decimal | None) -> Criterion:
    """Return whether somebody watched to `latest_s`; a watch cut short leaves the rest unknown, it fails nothing."""
    ends_s = seen.watch_ends_s
    found = NOT_RECORDED if ends_s is None else f"until {digits(ends_s)} s"
    limit = NOT_RECORDED if latest_s is None else f"until {digits(latest_s)} s at least"
    holds, reason = None, "the end of the watch is not recorded"
    if ends_s is not None and latest_s is not None:
        holds = True if ends_s >= latest_s else None
        reason = "" if holds else f"the watch ended at {digits(ends_s)} s, {digits(latest_s)} s is the least"
    return Criterion("watched", "Watched to the end", found, limit, holds, reason, parameter.source,
                     parameter.certainty)  # fmt: skip


def _known_until(event: BurnEvent) -> Decimal:
    """The last moment at which the event is known to have burned: its end, else its start."""
    if event.end_s is not None:
        return event.end_s
    return event.start_s if event.start_s is not None else Decimal(0)


def _name(event: BurnEvent) -> str:
    return "glow" if event.kind == "glow" else ("flame" if event.kind == "bright" else f"{event.kind} flame")


def _late_text(event: BurnEvent, latest_s: Decimal) -> str:
    until = digits(_known_until(event))
    what = f"the {_name(event)}"
    if event.end_s is None:
        return f"{what} began at {until} s, after the limit of {digits(latest_s)} s"
    over = f"{digits(_known_until(event) - latest_s)} s after the limit of {digits(latest_s)} s"
    return f"{what} was put out by hand at {until} s, {over}" if event.put_out else f"{what} ended at {until} s, {over}"


def _open_text(event: BurnEvent) -> str:
    since = "" if event.start_s is None else f" from {digits(event.start_s)} s"
    if event.put_out and event.end_s is not None:
        return f"the {_name(event)}{since} was put out by hand at {digits(event.end_s)} s, before the limit"
    return f"the end of the {_name(event)}{since} is not recorded"


def _ends_text(seen: Timeline) -> str:
    parts = []
    for name, events, end_s in (("flame", seen.flames, seen.flames_end_s), ("glow", seen.glows, seen.glow_ends_s)):
        if events:
            parts.append(f"{name} until {digits(end_s)} s" if end_s is not None else f"{name} without a known end")
    return ", ".join(parts)

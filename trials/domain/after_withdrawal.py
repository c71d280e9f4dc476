"""How long flames and glow last after the glow-wire is taken away, t_R, and the criterion on it."""

from decimal import Decimal

from trials.domain.burning_criteria import burning_criterion
from trials.domain.criteria import NOT_RECORDED, Criterion, digits, with_unit
from trials.domain.methods.base import MethodEdition
from trials.domain.timeline import BurnEvent, Timeline, merged_spans

UNTIL_ALL_IS_OUT, LONGEST_SINGLE = "until all is out", "longest single one"
MEANINGS = (UNTIL_ALL_IS_OUT, LONGEST_SINGLE)
KEY = "burn_after_withdrawal_s"


def after_withdrawal_s(meaning: str, seen: Timeline) -> Decimal | None:
    """Return t_R in s: 0 where nothing burned after withdrawal, None while a moment is not known.

    Either the time from withdrawal until the last flame and glow is out, or the longest single flame or glow counted
    from withdrawal, touching ones taken as one. A corona never counts; what was put out by hand has no end of its own.
    """
    taken_s = seen.application_s
    events = [event for event in seen.events if event.counts]
    if taken_s is None or any(event.end_s is None or event.put_out for event in events):
        return None
    ends = [event.end_s for event in events if event.end_s is not None and event.end_s > taken_s]
    if not ends:
        return Decimal(0)
    if meaning == UNTIL_ALL_IS_OUT:
        return max(ends) - taken_s
    if any(event.start_s is None for event in events):
        return None
    return max(max(end - start for start, end in merged_spans(spans)) for spans in _spans_after(events, taken_s))


def after_withdrawal_criterion(edition: MethodEdition, seen: Timeline) -> Criterion:
    """Return whether flames and glow after withdrawal are as short as asked, limit included."""
    parameter, meaning = edition.parameter(KEY), str(edition.parameter("t_r_is").value)
    limit_s = edition.number(KEY)
    if meaning == UNTIL_ALL_IS_OUT:
        latest_s = None if seen.application_s is None else seen.application_s + limit_s
        limit = "not known" if seen.application_s is None else f"{digits(seen.application_s)} s + {digits(limit_s)} s"
        return burning_criterion(parameter, seen, latest_s, limit)
    burned_s, least = after_withdrawal_s(meaning, seen), ""
    if burned_s is None and (known_s := _longest_known_s(seen)) is not None and not parameter.admits(known_s):
        burned_s, least = known_s, " at least"
    found = NOT_RECORDED if burned_s is None else f"{with_unit(burned_s, 's')}{least}"
    holds = None if burned_s is None else parameter.admits(burned_s)
    why = {
        None: "how long the longest flame or glow after withdrawal lasted is not known",
        True: "",
        False: f"the longest flame or glow after withdrawal lasted {found}, {with_unit(limit_s, 's')} allowed",
    }[holds]
    return Criterion("burning_ends", "Longest flame or glow after withdrawal", found, parameter.limit_text, holds, why,
                     parameter.source, parameter.certainty)  # fmt: skip


def _longest_known_s(seen: Timeline) -> Decimal | None:
    """The longest flame or glow after withdrawal as far as it is known: one put out by hand lasted until then."""
    if seen.application_s is None:
        return None
    spans = _spans_after([event for event in seen.events if event.counts], seen.application_s)
    return max((end - start for kind in spans for start, end in merged_spans(kind)), default=None)


def _spans_after(events: list[BurnEvent], taken_s: Decimal) -> list[list[tuple[Decimal, Decimal]]]:
    """Flames and glow apart, each as (start, end) from withdrawal on; kinds without one are left out."""
    kinds: list[list[tuple[Decimal, Decimal]]] = []
    for glow in (False, True):
        spans = [
            (max(event.start_s, taken_s), event.end_s)
            for event in events
            if event.start_s is not None and event.end_s is not None and event.end_s > taken_s
            if (event.kind == "glow") is glow
        ]
        if spans:
            kinds.append(spans)
    return kinds

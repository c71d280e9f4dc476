"""Burning after the flame was taken away: how long, whether in time, and the extent that may stand in for it."""

from dataclasses import replace
from decimal import Decimal

from trials.domain.criteria import NOT_RECORDED, Criterion, digits, with_unit
from trials.domain.methods.base import MethodEdition
from trials.domain.timeline import BurnEvent, Timeline

D = Decimal


def afterburn_s(seen: Timeline) -> Decimal | None:
    """Return t_b in s: from removal to the end of the last flame or glow, 0 when it ended before; None if unknown.

    Without any flame or glow there is none, which is unknown here and a word in the table.
    """
    events = (*seen.flames, *seen.glows)
    if seen.application_s is None or not events or any(event.end_s is None or event.put_out for event in events):
        return None
    return max(max(_known_until(event) for event in events) - seen.application_s, D(0))


def afterburn_criterion(edition: MethodEdition, seen: Timeline) -> Criterion:
    """Return whether flames and glow were out in time after removal, by the edition's limit, inclusive or not.

    What a person put out late has broken the limit; put out early it is unknown.
    """
    parameter = edition.parameter("burn_after_removal_s")
    limit_s, inclusive = edition.number(parameter.key), edition.parameter("limit_inclusive").value is True
    limit = f"at most {with_unit(limit_s, 's')}" if inclusive else f"below {with_unit(limit_s, 's')}"

    def criterion(found: str, holds: bool | None, reason: str = "") -> Criterion:
        return Criterion("afterburn", "Flames and glow end after removal", found, limit, holds, reason,
                         parameter.source, parameter.certainty)  # fmt: skip

    events, removed_s = (*seen.flames, *seen.glows), seen.application_s
    if not events:
        return criterion("no flame, no glow", True)
    if removed_s is None:
        return criterion(NOT_RECORDED, None, "how long it burned is unknown without the time of removal")
    worst = max(events, key=lambda event: (_known_until(event), event.kind))
    burned_s = max(_known_until(worst) - removed_s, D(0))
    what = "the glow" if worst.kind == "glow" else "the flame"
    if burned_s > limit_s or (burned_s == limit_s and not inclusive):
        least = " at least" if worst.end_s is None or worst.put_out else ""
        lasted = f"{digits(burned_s)} s{least}"
        return criterion(lasted, False, f"{what} lasted {lasted} after removal, {limit} is asked")
    unended = next((event for event in events if event.end_s is None or event.put_out), None)
    if unended is not None:
        name = "glow" if unended.kind == "glow" else "flame"
        why = "was put out by hand before the limit" if unended.put_out else "has no recorded end"
        return criterion(f"{name} without an end of its own", None, f"a {name} {why}")
    return criterion(with_unit(burned_s, "s"), True, f"{digits(limit_s - burned_s)} s to spare")


def criteria_with_extent(
    edition: MethodEdition, seen: Timeline, others: tuple[Criterion, ...]
) -> tuple[Criterion, ...]:
    """Return the criteria with the extent of burning among them, where the product standard sets a limit for it.

    Within the limit it decides alone; beyond it the others decide; unknown, it keeps a fail of the others open.
    """
    parameter = edition.parameter("extent_mm")
    if parameter.bounds == (None, None):
        return others
    extent, found, holds = seen.finding("extent"), NOT_RECORDED, None
    reason = "the extent of burning is not recorded"
    if isinstance(extent, Decimal):
        found, holds = with_unit(extent, parameter.unit), parameter.admits(extent)
        reason = "" if holds else f"the extent of burning of {found} is outside {parameter.limit_text}"
        if holds and any(event.put_out or event.end_s is None for event in (*seen.flames, *seen.glows)):
            holds, reason = None, f"the extent of {found} was not reached by itself: the burning has no end of its own"
    alone = holds is True or (holds is None and any(one.holds is False for one in others))
    extent_criterion = Criterion("extent", "Extent of burning", found, parameter.limit_text, holds, reason,
                                 parameter.source, parameter.certainty, enforced=alone)  # fmt: skip
    return (*(replace(one, enforced=not alone) for one in others), extent_criterion)


def _known_until(event: BurnEvent) -> Decimal:
    """The last moment at which the event is known to have burned: its end, else its start."""
    return event.end_s if event.end_s is not None else (event.start_s or D(0))

"""What the form for putting specimens in offers: the stages a method asks for, and which set is due for which."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from calibration.models import Instrument
from labsite.ledger.models import Place
from specimens.domain.conditioning_plans import Way, followed_way
from specimens.domain.conditioning_state import ConditioningState, Need
from specimens.models import OrderLine, Specimen
from specimens.queries.conditioning import members_at, method_needs, offer_of, outside_specimens, stay_facts
from specimens.queries.pieces import usable_specimens


@dataclass(frozen=True, slots=True)
class PlanCount:
    """How many specimens of a line follow one way of conditioning."""

    need: Need
    count: int


@dataclass(frozen=True, slots=True)
class StayOffer:
    """A line's specimens outside the chambers, and what is proposed: these specimens under this stage.

    `plans` counts the specimens of the line by the way they follow, where the method knows several; `undecided` are
    those that were in no chamber yet; `needed` is what the method asks for of all ways together.
    """

    needs: tuple[Need, ...]
    outside: tuple[Specimen, ...]
    proposed: Need
    specimens: tuple[Specimen, ...]
    plans: tuple[PlanCount, ...]
    undecided: int
    needed: int

    @property
    def share(self) -> int:
        """How many specimens each way needs."""
        return -(-self.needed // len(self.needs))


def stay_offer(line: OrderLine, at: datetime) -> StayOffer:
    """What may go in of a line at `at`; three queries."""
    needs, outside, offer = method_needs(line.method_key), tuple(outside_specimens(line)), offer_of(line)
    needed = max(line.specimens_ordered, 0 if offer is None else offer.specimens_needed)
    if len(needs) == 1 and needs[0].earlier is None:
        return StayOffer(needs, outside, needs[0], outside, (), 0, needed)
    pieces = list(usable_specimens(line))
    ways = _ways(needs, pieces, at)
    plans = tuple(PlanCount(need, sum(way.need.plan == need.plan for way in ways.values())) for need in needs)
    undecided = sum(piece.pk not in ways for piece in pieces)
    found = StayOffer(needs, outside, needs[0], outside, plans if len(needs) > 1 else (), undecided, needed)
    between = [piece for piece in outside if piece.pk in ways and ways[piece.pk].in_earlier]
    if between:
        stage = replace(ways[between[0].pk].need, earlier=None)
        same = [piece for piece in between if ways[piece.pk].need.plan == stage.plan]
        return replace(found, proposed=stage, specimens=tuple(same))
    least = min(plans, key=lambda one: one.count)
    fresh = [piece for piece in outside if piece.pk not in ways]
    missing = found.share - least.count if len(needs) > 1 else len(fresh)
    first = least.need if least.need.earlier is None else replace(least.need.earlier, plan=least.need.plan)
    return replace(found, proposed=first, specimens=tuple(fresh[:missing] if missing > 0 else fresh))


def _ways(needs: Sequence[Need], pieces: Sequence[Specimen], at: datetime) -> dict[int, Way]:
    """The way each specimen follows that was in a chamber under an atmosphere of one of them."""
    stays: dict[int, list[Any]] = {}
    for member in members_at(at).filter(specimen__in=pieces):
        stays.setdefault(member.specimen_id, []).append(stay_facts(member, at))
    ways = {piece: followed_way(needs, own) for piece, own in stays.items()}
    return {piece: way for piece, way in ways.items() if way.need in needs}


@dataclass(frozen=True, slots=True)
class NextStage:
    """The stage that follows the one a set is in: under what, and the chamber and recorder it was last done in.

    `complete` says that the set has all hours of the stage before.
    """

    need: Need
    complete: bool
    chamber: Place | None
    recorder: Instrument | None


def next_stage(line: OrderLine, states: Collection[ConditioningState], at: datetime) -> NextStage | None:
    """The stage that follows for specimens that stand like this; None where the stay is the last one, or lost."""
    plans = {state.plan for state in states if state.in_earlier and state.stay_counts}
    need = next((one for one in method_needs(line.method_key) if one.plan in plans and one.earlier), None)
    if need is None or need.atmosphere is None:
        return None
    used = members_at(at).filter(stay__atmosphere_key=need.atmosphere.key, stay__chamber__in_use=True).last()
    return NextStage(
        replace(need, earlier=None),
        all(state.stage_ready_at is not None for state in states),
        None if used is None else used.stay.chamber,
        None if used is None else used.stay.recorder,
    )


def recorder_of(chamber: Place | None, at: datetime) -> Instrument | None:
    """The recorder named when a set last went into a chamber."""
    if chamber is None:
        return None
    last = members_at(at).filter(stay__chamber=chamber).last()
    return None if last is None else last.stay.recorder

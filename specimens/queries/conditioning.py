"""Whether specimens are conditioned for their methods at a moment, computed from stays and climate records."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from labsite.ledger.numbering import NumberKind, read_number
from labsite.ledger.queries import laboratory_zone
from specimens.domain.atmospheres import ATMOSPHERES
from specimens.domain.conditioning_state import (
    ConditioningState,
    Need,
    StayFacts,
    conditioning_state,
    without_stay,
)
from specimens.domain.conditioning_words import set_text
from specimens.domain.offers import MethodOffer
from specimens.models import DeviationAnswer, OrderLine, Specimen, Stay, StaySpecimen
from specimens.queries.climate import Climate, Source, climates
from specimens.queries.methods import method_offers
from specimens.queries.orders import lines_in_work

__all__ = ["ConditioningState", "conditioning_states", "specimen_conditioning"]

_LEFT_OUT = Q(item__deviations__answer__decision=DeviationAnswer.Decision.REPLACE)
_NO_NEED = Need(None, Decimal(0))


def method_need(method_key: str) -> Need:
    """What a method edition asks for; nothing for an edition this program no longer offers."""
    offer = method_offers().get(method_key)
    if offer is None:
        return _NO_NEED
    atmosphere = ATMOSPHERES[offer.atmosphere_key] if offer.atmosphere_key else None
    return Need(atmosphere, offer.conditioning_hours, offer.use_within_hours, offer.use_within_enforced)


def specimen_conditioning(specimen_ids: Collection[int], at: datetime) -> dict[int, ConditioningState]:
    """The state of each specimen at `at`, from what was recorded by then; a constant number of queries."""
    keys = dict(Specimen.objects.filter(pk__in=specimen_ids).values_list("pk", "order_line__method_key"))
    return _states(keys, at)


def conditioning_states(line_ids: Collection[int], at: datetime) -> dict[int, ConditioningState]:
    """The state of each line at `at`: that of the least conditioned of its specimens; a constant number of queries.

    Specimens the client replaces do not count; a line nothing has come in for is not ready.
    """
    lines = dict(OrderLine.objects.filter(pk__in=line_ids).values_list("pk", "method_key"))
    specimens: dict[int, list[int]] = defaultdict(list)
    rows = Specimen.objects.filter(order_line__in=line_ids).exclude(_LEFT_OUT).values_list("pk", "order_line_id")
    for specimen, line in rows:
        specimens[line].append(specimen)
    keys = {specimen: lines[line] for line, many in specimens.items() for specimen in many}
    states = _states(keys, at)
    return {
        line: min((states[one] for one in specimens[line]), key=_least_first)
        if specimens[line]
        else without_stay(method_need(key), received=False)
        for line, key in lines.items()
    }


def _least_first(state: ConditioningState) -> tuple[bool, float, float]:
    return (state.ready, state.counted_s, state.use_by.timestamp() if state.use_by else float("inf"))


def members_at(at: datetime) -> QuerySet[StaySpecimen]:
    """Specimens' times in chambers that had begun by `at`, oldest first."""
    return (
        StaySpecimen.objects.filter(in_at__lte=at)
        .select_related("stay__chamber", "stay__recorder", "specimen", "in_by", "out_by")
        .order_by("in_at", "pk")
    )


def _states(keys: dict[int, str], at: datetime) -> dict[int, ConditioningState]:
    last = {member.specimen_id: member for member in members_at(at).filter(specimen__in=keys)}
    judged = stay_states(((last[one], method_need(key)) for one, key in keys.items() if one in last), at)
    return {one: judged[last[one].pk] if one in last else without_stay(method_need(key)) for one, key in keys.items()}


def stay_states(members: Iterable[tuple[StaySpecimen, Need]], at: datetime) -> dict[int, ConditioningState]:
    """The state that each time in a chamber led to by `at`, by the member's key; three queries at most.

    Specimens that went in and came out together share one computation.
    """
    pairs = list(members)
    if not pairs:
        return {}
    known = climates(
        {source_of(member.stay) for member, _ in pairs},
        from_at=min(member.in_at for member, _ in pairs),
        until_at=at,
        at=at,
    )
    zone = laboratory_zone()
    shared: dict[tuple[object, ...], ConditioningState] = {}
    states = {}
    for member, need in pairs:
        key = (member.stay_id, member.in_at, member.out_at, need)
        if key not in shared:
            shared[key] = _state(member, need, known[source_of(member.stay)], at, zone)
        states[member.pk] = shared[key]
    return states


def source_of(stay: Stay) -> Source:
    """The chamber and the recorder whose records speak for a stay."""
    return stay.chamber_id, stay.recorder_id


def _state(member: StaySpecimen, need: Need, climate: Climate, at: datetime, zone: ZoneInfo) -> ConditioningState:
    out_at = member.out_at if member.out_at is not None and member.out_at <= at else None
    atmosphere = ATMOSPHERES[member.stay.atmosphere_key]
    stay = StayFacts(member.stay.chamber.code, atmosphere, member.in_at, out_at)
    judged = climate.judged(atmosphere, member.in_at, out_at or at)
    return conditioning_state(need, stay, judged, record_until=climate.last_at, at=at, zone=zone)


def stays_with_line() -> QuerySet[Stay]:
    """Stays with chamber, recorder and order."""
    return Stay.objects.select_related("chamber", "recorder", "order_line__order__client")


def waiting_specimens() -> QuerySet[Specimen]:
    """Specimens of lines in work that were never in a chamber, by number, with line, order and client."""
    return (
        Specimen.objects.filter(stays=None, order_line__withdrawn_at=None)
        .exclude(_LEFT_OUT)
        .select_related("order_line__order__client")
        .order_by("number")
    )


def outside_specimens(line: OrderLine) -> QuerySet[Specimen]:
    """Specimens of a line that may be put into a chamber: those that count and are not in one, by number."""
    return (
        line.specimens.exclude(_LEFT_OUT)
        .exclude(stays__in=StaySpecimen.objects.filter(out_at=None))
        .select_related("item__receipt")
        .order_by("number")
    )


def inside_specimens(stay: Stay) -> QuerySet[Specimen]:
    """Specimens of a stay that are still inside, by number."""
    return Specimen.objects.filter(stays__stay=stay, stays__out_at=None).order_by("number")


def offer_of(line: OrderLine) -> MethodOffer | None:
    """The method edition of a line as offered, or None when the program does not know it any more."""
    return method_offers().get(line.method_key)


def grouped_sentences(specimens: Iterable[Specimen], states: dict[int, ConditioningState]) -> list[tuple[str, str]]:
    """(numbers, sentence) for specimens that stand alike."""
    groups: dict[str, list[str]] = defaultdict(list)
    for specimen in specimens:
        groups[states[specimen.pk].sentence].append(specimen.number)
    return [(set_text(numbers), sentence) for sentence, numbers in groups.items()]


def lines_of_number(typed: str) -> tuple[list[OrderLine], str]:
    """Lines in work that a typed order, item or specimen number belongs to, or why there are none."""
    try:
        number = read_number(typed)
    except ValueError as error:
        return [], str(error)
    orders = Q(order__number=number.digits)
    pieces = Q(specimens__number=number.digits) | Q(items__number=number.digits)
    lines = list(lines_in_work().filter(orders if number.kind is NumberKind.ORDER else pieces).distinct())
    return lines, "" if lines else f"“{typed}” is a sound number, but no line in work here has it."

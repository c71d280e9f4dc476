"""Whether specimens are conditioned for their methods at a moment, computed from stays and climate records."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from decimal import Decimal

from django.db.models import Q, QuerySet

from labsite.ledger.numbering import NumberKind, read_number
from labsite.ledger.queries import laboratory_zone
from specimens.domain.atmospheres import ATMOSPHERES
from specimens.domain.conditioning_plans import JudgedStay, followed_way, state_on_way
from specimens.domain.conditioning_state import ConditioningState, Need, StayFacts, without_stay
from specimens.domain.conditioning_words import set_text
from specimens.domain.offers import MethodOffer, PlanOffer
from specimens.models import DeviationAnswer, OrderLine, Specimen, Stay, StaySpecimen
from specimens.queries.climate import NO_OTHER_CORRECTIONS, Climate, Instead, Source, climates
from specimens.queries.methods import method_offers
from specimens.queries.orders import lines_in_work
from specimens.queries.pieces import usable_specimens

__all__ = ["ConditioningState", "conditioning_states", "specimen_conditioning"]

_LEFT_OUT = Q(item__deviations__answer__decision=DeviationAnswer.Decision.REPLACE)
_NO_NEED = Need(None, Decimal(0))


def method_needs(method_key: str) -> tuple[Need, ...]:
    """The ways of conditioning a method edition knows; one of nothing for an edition this program no longer offers."""
    offer = method_offers().get(method_key)
    return (_NO_NEED,) if offer is None else tuple(_need(plan) for plan in offer.plans)


def _need(plan: PlanOffer) -> Need:
    earlier = None
    if plan.earlier_atmosphere_key:
        atmosphere = ATMOSPHERES[plan.earlier_atmosphere_key]
        earlier = Need(atmosphere, plan.earlier_hours, most_hours=plan.earlier_most_hours)
    return Need(
        atmosphere=ATMOSPHERES[plan.atmosphere_key] if plan.atmosphere_key else None,
        hours=plan.hours,
        use_within_hours=plan.use_within_hours,
        use_within_enforced=plan.use_within_enforced,
        plan=plan.key,
        title=plan.title,
        earlier=earlier,
    )


def specimen_conditioning(
    specimen_ids: Collection[int], at: datetime, *, instead: Instead = NO_OTHER_CORRECTIONS
) -> dict[int, ConditioningState]:
    """The state of each specimen at `at`, from what was recorded by then; a constant number of queries.

    `instead`: corrections in place of a recorder's own, to ask what would have counted with them.
    """
    keys = dict(Specimen.objects.filter(pk__in=specimen_ids).values_list("pk", "order_line__method_key"))
    return _states(keys, at, instead)


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
        line: min((states[one] for one in specimens[line]), key=least_first)
        if specimens[line]
        else without_stay(*method_needs(key), received=False)
        for line, key in lines.items()
    }


def least_first(state: ConditioningState) -> tuple[bool, float, float, float]:
    """Sorts the least conditioned first."""
    last = state.use_by.timestamp() if state.use_by else float("inf")
    return (state.ready, state.counted_s, state.earlier_s, last)


def members_at(at: datetime) -> QuerySet[StaySpecimen]:
    """Specimens' times in chambers that had begun by `at`, oldest first."""
    return (
        StaySpecimen.objects.filter(in_at__lte=at)
        .select_related("stay__chamber", "stay__recorder", "specimen", "in_by", "out_by")
        .order_by("in_at", "pk")
    )


def _states(
    keys: dict[int, str], at: datetime, instead: Instead = NO_OTHER_CORRECTIONS
) -> dict[int, ConditioningState]:
    histories: dict[int, list[StaySpecimen]] = defaultdict(list)
    for member in members_at(at).filter(specimen__in=keys):
        histories[member.specimen_id].append(member)
    judged = stay_states(
        ((histories[one], method_needs(key)) for one, key in keys.items() if one in histories), at, instead
    )
    return {
        one: judged[histories[one][-1].pk] if one in histories else without_stay(*method_needs(key))
        for one, key in keys.items()
    }


def histories_of(members: Iterable[StaySpecimen], at: datetime) -> dict[int, list[StaySpecimen]]:
    """For each time in a chamber, by its key, the specimen's times up to and with it, oldest first; one query."""
    wanted = list(members)
    times: dict[int, list[StaySpecimen]] = defaultdict(list)
    for row in members_at(at).filter(specimen__in={member.specimen_id for member in wanted}):
        times[row.specimen_id].append(row)
    return {
        member.pk: [row for row in times[member.specimen_id] if (row.in_at, row.pk) <= (member.in_at, member.pk)]
        for member in wanted
    }


def stay_states(
    histories: Iterable[tuple[Sequence[StaySpecimen], tuple[Need, ...]]],
    at: datetime,
    instead: Instead = NO_OTHER_CORRECTIONS,
) -> dict[int, ConditioningState]:
    """The state that the last of a specimen's times in chambers led to by `at`, by its key; three queries at most.

    Each history is one specimen's, oldest first, with the ways its method knows. Specimens that went in and came out
    together share one computation.
    """
    pairs = [(list(history), needs) for history, needs in histories]
    if not pairs:
        return {}
    ways = [followed_way(needs, [stay_facts(member, at) for member in history]) for history, needs in pairs]
    judged_ones = [
        (history[-1], None if way.earlier is None else history[way.earlier], way)
        for (history, _), way in zip(pairs, ways, strict=True)
    ]
    members = [one for last, earlier, _ in judged_ones for one in (last, earlier) if one is not None]
    known = climates(
        {source_of(member.stay) for member in members},
        from_at=min(member.in_at for member in members),
        until_at=at,
        at=at,
        instead=instead,
    )
    zone = laboratory_zone()
    shared: dict[tuple[object, ...], ConditioningState] = {}
    states = {}
    for last, earlier, way in judged_ones:
        key = (_shared(last), None if earlier is None else _shared(earlier), way.need, way.in_earlier)
        if key not in shared:
            first = None if earlier is None else _judged(earlier, known[source_of(earlier.stay)], at)
            present = _judged(last, known[source_of(last.stay)], at)
            shared[key] = state_on_way(way, present, first, at=at, zone=zone)
        states[last.pk] = shared[key]
    return states


def _shared(member: StaySpecimen) -> tuple[object, ...]:
    return member.stay_id, member.in_at, member.out_at


def source_of(stay: Stay) -> Source:
    """The chamber and the recorder whose records speak for a stay."""
    return stay.chamber_id, stay.recorder_id


def stay_facts(member: StaySpecimen, at: datetime) -> StayFacts:
    """A time in a chamber as known at a moment."""
    out_at = member.out_at if member.out_at is not None and member.out_at <= at else None
    return StayFacts(member.stay.chamber.code, ATMOSPHERES[member.stay.atmosphere_key], member.in_at, out_at)


def _judged(member: StaySpecimen, climate: Climate, at: datetime) -> JudgedStay:
    stay = stay_facts(member, at)
    return JudgedStay(stay, climate.judged(stay.atmosphere, stay.in_at, stay.out_at or at), climate.last_at)


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


def between_stages() -> list[tuple[Need, list[Specimen]]]:
    """Specimens in work that came out of a stage another one follows, by line, with that next stage; two queries."""
    keys = [key for key, offer in method_offers().items() if any(plan.earlier_atmosphere_key for plan in offer.plans)]
    if not keys:
        return []
    rows = Specimen.objects.filter(order_line__method_key__in=keys, order_line__withdrawn_at=None)
    outside = rows.exclude(_LEFT_OUT).exclude(stays=None).exclude(stays__in=StaySpecimen.objects.filter(out_at=None))
    stays: dict[int, list[StayFacts]] = defaultdict(list)
    times = StaySpecimen.objects.filter(specimen__in=outside).select_related("stay__chamber")
    for member in times.order_by("in_at", "pk"):
        stays[member.specimen_id].append(stay_facts(member, member.out_at or member.in_at))
    found: dict[tuple[int, Need], list[Specimen]] = defaultdict(list)
    by_line = outside.select_related("order_line__order__client").order_by("order_line__order__number", "number")
    for specimen in by_line.distinct():
        way = followed_way(method_needs(specimen.order_line.method_key), stays[specimen.pk])
        if way.in_earlier:
            found[specimen.order_line_id, replace(way.need, earlier=None)].append(specimen)
    return [(need, specimens) for (_, need), specimens in found.items()]


def outside_specimens(line: OrderLine) -> QuerySet[Specimen]:
    """Specimens of a line that may be put into a chamber: those that count and are not in one, by number."""
    inside = StaySpecimen.objects.filter(out_at=None)
    return usable_specimens(line).exclude(stays__in=inside).select_related("item__receipt")


def inside_specimens(stay: Stay) -> QuerySet[Specimen]:
    """Specimens of a stay that are still inside, by number."""
    return Specimen.objects.filter(stays__stay=stay, stays__out_at=None).order_by("number")


def open_stays(specimen_ids: Collection[int]) -> dict[int, int]:
    """The stay that each of these specimens is inside for, by key; those in no chamber left out; one query."""
    rows = StaySpecimen.objects.filter(specimen__in=specimen_ids, out_at=None)
    return dict(rows.values_list("specimen", "stay"))


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

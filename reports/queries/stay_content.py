"""How specimens were conditioned before their trials: stays, hours that count, and every stretch that does not."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from reports.domain.content_trials import ConditioningContent, StretchContent
from reports.queries.item_content import local
from specimens.domain.atmospheres import ATMOSPHERES
from specimens.domain.conditioning import Stretch
from specimens.domain.conditioning_plans import followed_way
from specimens.models import StaySpecimen, StretchExplanation
from specimens.queries.climate import Climate, climates
from specimens.queries.conditioning import method_needs, stay_facts


def stays_content(contacts: Mapping[int, tuple[int, datetime]], zone: ZoneInfo) -> dict[int, ConditioningContent]:
    """How each trial's specimen was conditioned before contact, as its verdict was given on: the last stay, and the
    stage before it where its way has one.

    `contacts` gives the specimen and the moment of contact by the trial's key. Climate records count as known at
    contact, as for the verdict; a record attached later changes nothing here.
    """
    specimens = {specimen for specimen, _ in contacts.values()}
    rows = StaySpecimen.objects.filter(specimen__in=specimens).select_related(
        "stay__chamber", "stay__recorder", "specimen__order_line"
    )
    members = list(rows.order_by("in_at", "pk"))
    shared: dict[tuple[object, ...], ConditioningContent] = {}
    found = {}
    for trial, (specimen, contact_at) in contacts.items():
        own = [member for member in members if member.specimen_id == specimen and member.in_at <= contact_at]
        if not own:
            continue
        way = followed_way(
            method_needs(own[-1].specimen.order_line.method_key), [stay_facts(member, contact_at) for member in own]
        )
        earlier = None if way.earlier is None else own[way.earlier]
        key = (_span(own[-1], contact_at), None if earlier is None else _span(earlier, contact_at), contact_at)
        if key not in shared:
            before = None if earlier is None else _stay(earlier, contact_at, zone)
            shared[key] = replace(_stay(own[-1], contact_at, zone), way=way.need.title, earlier=before)
        found[trial] = shared[key]
    return found


def _span(member: StaySpecimen, contact_at: datetime) -> tuple[int, datetime, datetime]:
    return member.stay_id, member.in_at, _ended_at(member, contact_at) or contact_at


def _ended_at(member: StaySpecimen, contact_at: datetime) -> datetime | None:
    return member.out_at if member.out_at is not None and member.out_at <= contact_at else None


def _stay(member: StaySpecimen, contact_at: datetime, zone: ZoneInfo) -> ConditioningContent:
    stay, ended_at = member.stay, _ended_at(member, contact_at)
    atmosphere = ATMOSPHERES[stay.atmosphere_key]
    until_at = ended_at or contact_at
    source = (stay.chamber_id, stay.recorder_id)
    climate = climates([source], from_at=member.in_at, until_at=until_at, at=contact_at)[source]
    judged = climate.judged(atmosphere, member.in_at, until_at)
    return ConditioningContent(
        atmosphere=atmosphere.title,
        chamber=f"{stay.chamber.code}, {stay.chamber.name}",
        recorder=stay.recorder.code,
        in_at=local(member.in_at, zone),
        out_at=None if ended_at is None else local(ended_at, zone),
        counted_s=int(judged.counted_s),
        not_counted_s=int(judged.not_counted_s),
        stretches=tuple(_stretch(stretch, climate, stay.chamber_id, zone) for stretch in judged.not_counted),
        corrected_by=climate.corrected_by,
    )


def _stretch(stretch: Stretch, climate: Climate, chamber: int, zone: ZoneInfo) -> StretchContent:
    reason = climate.reason_at(stretch.from_at, stretch.until_at) or stretch.kind
    if stretch.furthest is not None:
        unit = "°C" if stretch.kind.startswith("temperature") else "% RH"
        reason = f"{reason}, furthest {stretch.furthest:.1f} {unit}"
    explained = StretchExplanation.objects.filter(
        chamber=chamber, from_at__lt=stretch.until_at, until_at__gt=stretch.from_at
    )
    words = "; ".join(row.text for row in explained.order_by("at", "pk"))
    return StretchContent(
        from_at=local(stretch.from_at, zone),
        until_at=local(stretch.until_at, zone),
        reason=f"{reason} ({words})" if words else reason,
    )

"""How specimens were conditioned before their trials: stays, hours that count, and every stretch that does not."""

from collections.abc import Mapping
from datetime import datetime
from zoneinfo import ZoneInfo

from reports.domain.content_trials import ConditioningContent, StretchContent
from reports.queries.item_content import local
from specimens.domain.atmospheres import ATMOSPHERES
from specimens.domain.conditioning import Stretch
from specimens.models import StaySpecimen, StretchExplanation
from specimens.queries.climate import Climate, climates


def stays_content(contacts: Mapping[int, tuple[int, datetime]], zone: ZoneInfo) -> dict[int, ConditioningContent]:
    """The last stay before contact for each trial, which is the one its verdict was given on.

    `contacts` gives the specimen and the moment of contact by the trial's key. Climate records count as known at
    contact, as for the verdict; a record attached later changes nothing here.
    """
    specimens = {specimen for specimen, _ in contacts.values()}
    rows = StaySpecimen.objects.filter(specimen__in=specimens).select_related("stay__chamber", "stay__recorder")
    members = list(rows.order_by("in_at", "pk"))
    shared: dict[tuple[int, datetime, datetime, datetime], ConditioningContent] = {}
    found = {}
    for trial, (specimen, contact_at) in contacts.items():
        own = [member for member in members if member.specimen_id == specimen and member.in_at <= contact_at]
        if not own:
            continue
        member = own[-1]
        ended_at = member.out_at if member.out_at is not None and member.out_at <= contact_at else None
        key = (member.stay_id, member.in_at, ended_at or contact_at, contact_at)
        if key not in shared:
            shared[key] = _stay(member, ended_at, contact_at, zone)
        found[trial] = shared[key]
    return found


def _stay(member: StaySpecimen, ended_at: datetime | None, contact_at: datetime, zone: ZoneInfo) -> ConditioningContent:
    stay = member.stay
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

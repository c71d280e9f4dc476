"""Putting specimens into a conditioned atmosphere, and taking them out."""

from collections.abc import Collection, Iterable
from datetime import datetime
from zoneinfo import ZoneInfo

from django.db import transaction

from calibration.models import Instrument, InstrumentKind
from calibration.queries.usability import usability
from labsite.ledger.actions import record_entry
from labsite.ledger.models import Place, User
from labsite.ledger.queries import laboratory_zone
from labsite.ledger.refusals import Refused
from specimens.actions.custody import note_custody
from specimens.domain.atmospheres import ATMOSPHERES
from specimens.domain.conditioning_words import atmosphere_text, moment_text, set_text
from specimens.models import Custody, OrderLine, Specimen, Stay, StaySpecimen


@transaction.atomic
def start_conditioning(
    *,
    by: User,
    at: datetime,
    order_line: OrderLine,
    specimens: Collection[Specimen],
    chamber: Place,
    atmosphere_key: str,
    recorder: Instrument,
    in_at: datetime | None = None,
    straight_from: Place | None = None,
) -> Stay:
    """Put specimens of one line into a chamber under a named atmosphere, watched by a recorder that may be used now.

    `in_at` is the moment they went in, now when it is left out; `straight_from` the chamber they were in until then.
    """
    in_at = at if in_at is None else in_at
    zone = laboratory_zone()
    line = OrderLine.objects.select_related("order").select_for_update(of=("self",)).get(pk=order_line.pk)
    locked = _locked(specimens)
    if line.withdrawn_at is not None:
        raise Refused(f"Line {line.position} of the order is withdrawn; nothing of it is conditioned.")
    if any(specimen.order_line_id != line.pk for specimen in locked):
        raise Refused("Put specimens of one order line in at a time.", field="specimens")
    _refuse_place(chamber, atmosphere_key)
    _refuse_recorder(recorder, at)
    if in_at > at:
        raise Refused(
            f"{moment_text(in_at, zone, at)} is still to come; it is {moment_text(at, zone, at)} now.", field="in_at"
        )
    latest = _latest_custody(locked)
    for specimen in locked:
        _refuse_early(specimen, latest.get(specimen.pk), in_at, at, zone)
    stay = Stay.objects.create(order_line=line, chamber=chamber, atmosphere_key=atmosphere_key, recorder=recorder)
    StaySpecimen.objects.bulk_create(
        StaySpecimen(stay=stay, specimen=specimen, in_at=in_at, in_by=by) for specimen in locked
    )
    # moments are typed to the minute: the change of hands does not lie before the one before it
    moved_at = max([in_at, *(row.at for row in latest.values())])
    note = f"put in at {atmosphere_text(ATMOSPHERES[atmosphere_key])}"
    if straight_from is not None:
        note += f", straight out of {straight_from.code}"
    note_custody(specimens=locked, by=by, at=moved_at, place=chamber, note=note)
    data = {
        "specimens": [specimen.number for specimen in locked],
        "after": {
            "chamber": chamber.code,
            "atmosphere": atmosphere_key,
            "recorder": recorder.code,
            "in": in_at.isoformat(),
        },
    }
    record_entry(book=line.order.book, act="put specimens into a chamber", by=by, at=at, data=data)
    return stay


@transaction.atomic
def take_out(
    *,
    by: User,
    at: datetime,
    stay: Stay,
    specimens: Collection[Specimen],
    place: Place,
    out_at: datetime | None = None,
) -> list[StaySpecimen]:
    """Take some or all specimens of a stay out and put them somewhere; `out_at` is now when it is left out."""
    if place.kind == Place.Kind.CHAMBER or not place.in_use:
        raise Refused(f"{place.code} is not a place in use outside the chambers; choose another.", field="place")
    members = _end_stay(by=by, at=at, stay=stay, specimens=specimens, place=place, out_at=out_at)
    locked = [member.specimen for member in members]
    moved_at = max([at if out_at is None else out_at, *(row.at for row in _latest_custody(locked).values())])
    note_custody(specimens=locked, by=by, at=moved_at, place=place, note=f"taken out of {stay.chamber.code}")
    return members


@transaction.atomic
def move_on(
    *,
    by: User,
    at: datetime,
    stay: Stay,
    specimens: Collection[Specimen],
    chamber: Place,
    atmosphere_key: str,
    recorder: Instrument,
    moved_at: datetime | None = None,
) -> Stay:
    """Take specimens of a stay out and put them straight into another chamber: both records, at one moment.

    No place lies between: the change of hands goes from the one chamber to the other. Returns the new stay.
    """
    if chamber.pk == stay.chamber_id:
        raise Refused(f"They are in {chamber.code} already; choose another place.", field="place")
    members = _end_stay(by=by, at=at, stay=stay, specimens=specimens, place=chamber, out_at=moved_at)
    return start_conditioning(
        by=by,
        at=at,
        order_line=stay.order_line,
        specimens=[member.specimen for member in members],
        chamber=chamber,
        atmosphere_key=atmosphere_key,
        recorder=recorder,
        in_at=max(member.out_at for member in members if member.out_at is not None),
        straight_from=stay.chamber,
    )


def _end_stay(
    *, by: User, at: datetime, stay: Stay, specimens: Collection[Specimen], place: Place, out_at: datetime | None
) -> list[StaySpecimen]:
    """Write that specimens came out, with the entry in the ledger; the change of hands is the caller's."""
    out_at = at if out_at is None else out_at
    zone = laboratory_zone()
    locked = _locked(specimens)
    if out_at > at:
        raise Refused(
            f"{moment_text(out_at, zone, at)} is still to come; it is {moment_text(at, zone, at)} now.", field="out_at"
        )
    inside = {
        member.specimen_id: member
        for member in StaySpecimen.objects.filter(stay=stay, specimen__in=locked).select_related("specimen")
    }
    for specimen in locked:
        _refuse_out(specimen, inside.get(specimen.pk), out_at, zone)
    members = [inside[specimen.pk] for specimen in locked]
    for member in members:
        member.out_at, member.out_by = max(out_at, member.in_at), by
    StaySpecimen.objects.bulk_update(members, ["out_at", "out_by"])
    data = {
        "specimens": [specimen.number for specimen in locked],
        "before": {"chamber": stay.chamber.code},
        "after": {"place": place.code, "out": out_at.isoformat()},
    }
    record_entry(book=stay.order_line.order.book, act="took specimens out of a chamber", by=by, at=at, data=data)
    return members


def _locked(specimens: Iterable[Specimen]) -> list[Specimen]:
    keys = [specimen.pk for specimen in specimens]
    if not keys:
        raise Refused("Choose at least one specimen.", field="specimens")
    rows = Specimen.objects.filter(pk__in=keys).select_related("item__receipt").select_for_update(of=("self",))
    return list(rows.order_by("number"))


def _refuse_place(chamber: Place, atmosphere_key: str) -> None:
    if chamber.kind != Place.Kind.CHAMBER or not chamber.in_use:
        raise Refused(f"{chamber.code} is not a conditioning chamber in use; choose another.", field="chamber")
    if atmosphere_key not in ATMOSPHERES:
        raise Refused(f"“{atmosphere_key}” is not an atmosphere of this program.", field="atmosphere_key")


def _refuse_recorder(recorder: Instrument, at: datetime) -> None:
    if recorder.kind != InstrumentKind.HYGROMETER:
        raise Refused(
            f"{recorder.code} does not record temperature and humidity; choose a hygrometer.", field="recorder"
        )
    found = usability(recorder, at)
    if not found.usable:
        raise Refused(
            f"{recorder.code} may not be used now: {found.clause}. Choose another recorder.", field="recorder"
        )


def _refuse_early(specimen: Specimen, latest: Custody | None, in_at: datetime, at: datetime, zone: ZoneInfo) -> None:
    """One chamber at a time, not before the parcel came in, not while the record says it was somewhere else."""
    number = set_text([specimen.number])
    last = specimen.stays.select_related("stay__chamber").order_by("in_at", "pk").last()
    if last is not None and last.out_at is None:
        since = moment_text(last.in_at, zone, at)
        raise Refused(f"{number} is in {last.stay.chamber.code} since {since}; take it out first.", field="specimens")
    receipt = specimen.item.receipt
    if in_at < _minute(receipt.came_at):
        came = moment_text(receipt.came_at, zone, at)
        raise Refused(f"{number} came in on {came} and cannot have gone into a chamber before that.", field="in_at")
    if latest is not None and _minute(latest.at) > in_at and latest.at > receipt.received_at:
        raise Refused(
            f"By the record {number} was handed to {latest.holder} on {moment_text(latest.at, zone, at)}; "
            "it cannot have gone into a chamber before that.",
            field="in_at",
        )


def _refuse_out(specimen: Specimen, member: StaySpecimen | None, out_at: datetime, zone: ZoneInfo) -> None:
    number = set_text([specimen.number])
    if member is None:
        raise Refused(f"{number} does not belong to this stay.", field="specimens")
    if member.out_at is not None:
        raise Refused(f"{number} is out since {moment_text(member.out_at, zone)} already.", field="specimens")
    if out_at < _minute(member.in_at):
        raise Refused(f"{number} went in on {moment_text(member.in_at, zone)}, after the moment typed.", field="out_at")


def _minute(at: datetime) -> datetime:
    """Moments are typed to the minute, so they are compared with the minute that others fell in."""
    return at.replace(second=0, microsecond=0)


def _latest_custody(specimens: Collection[Specimen]) -> dict[int, Custody]:
    rows = Custody.objects.filter(specimen__in=specimens).select_related("place", "person").order_by("at", "pk")
    return {row.specimen_id: row for row in rows if row.specimen_id is not None}

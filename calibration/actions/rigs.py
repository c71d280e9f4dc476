"""Registering rigs, and what is mounted on them."""

from datetime import datetime

from django.db import transaction

from calibration.actions.codes import check_code
from calibration.actions.commissioning import Occasion, open_commissioning
from calibration.models import Commissioning, Instrument, InstrumentKind, Mounting, Rig
from calibration.queries.known_facts import rig_facts
from labsite.ledger.actions import record_entry, take_next
from labsite.ledger.models import Place, User
from labsite.ledger.refusals import Refused

_READ_BY = {
    InstrumentKind.THERMOCOUPLE.value: InstrumentKind.INDICATOR,
    InstrumentKind.INDICATOR.value: InstrumentKind.THERMOCOUPLE,
}
"""What a thermocouple is read by, and the other way round."""


@transaction.atomic
def register_rig(*, by: User, at: datetime, code: str, name: str, kind: str, place: Place | None = None) -> Rig:
    """Enter a test apparatus; its code and kind stay, because records name them.

    Its list is opened with it: it is used once that is worked off and a named person releases it.
    """
    take_next("rigs")  # its lock lets only one registration at a time look for an equal code
    check_code(code, Rig.objects.values_list("code", flat=True))
    rig = Rig.objects.create(code=code, name=name, kind=kind, place=place)
    record_entry(book=rig.book, act="registered the rig", by=by, at=at, data={"after": rig_facts(rig)})
    open_commissioning(by=by, at=at, rig=rig, occasion=Occasion.NEW, own_reason=False)
    return rig


@transaction.atomic
def change_rig(*, by: User, at: datetime, rig: Rig, version: int, name: str, place: Place | None, in_use: bool) -> Rig:
    """Rename or move a rig or take it out of use; refused when somebody changed it since the form was opened.

    A move from one place to another opens its list, unless it is open already.
    """
    rig = Rig.objects.select_for_update(of=("self",)).get(pk=rig.pk)
    if rig.version != version:
        raise Refused(
            "Somebody else changed this while you typed. Your typing is kept below; compare, then keep it again."
        )
    before, place_before = rig_facts(rig), rig.place
    rig.name, rig.place, rig.in_use = name, place, in_use
    rig.version += 1
    rig.save()
    record_entry(book=rig.book, act="changed the rig", by=by, at=at, data={"before": before, "after": rig_facts(rig)})
    moved = place_before is not None and place is not None and place_before.pk != place.pk
    if moved and not Commissioning.objects.filter(rig=rig, released_at=None).exists():
        reason = f"Moved from {before['place']} to {rig.place.code if rig.place else ''}."
        open_commissioning(by=by, at=at, rig=rig, occasion=Occasion.MOVED, reason=reason)
    return rig


@transaction.atomic
def mount_instrument(*, by: User, at: datetime, rig: Rig, instrument: Instrument) -> Mounting:
    """Mount an instrument on a rig; it can be on one rig at a time."""
    instrument = Instrument.objects.select_for_update(of=("self",)).get(pk=instrument.pk)
    held = instrument.mountings.filter(removed_at=None).select_related("rig").first()
    if held is not None:
        where = "this rig" if held.rig_id == rig.pk else f"{held.rig.code}; take it off there first"
        raise Refused(f"{instrument.code} is already mounted on {where}.", field="instrument")
    _check_type(rig, instrument)
    mounting = Mounting.objects.create(rig=rig, instrument=instrument, mounted_at=at, mounted_by=by)
    _record_both(mounting, "mounted the instrument", by=by, at=at)
    return mounting


def _check_type(rig: Rig, instrument: Instrument) -> None:
    """A thermocouple on an indicator set to another type is wrong when hot and right in a cold room: it is refused."""
    other = _READ_BY.get(instrument.kind)
    if other is None or not instrument.thermocouple_type:
        return
    mounted = Instrument.objects.filter(kind=other, mountings__rig=rig, mountings__removed_at=None)
    types = {one.thermocouple_type: one.code for one in mounted.exclude(thermocouple_type="").order_by("-code")}
    if types and instrument.thermocouple_type not in types:
        said = " and ".join(f"{code} of type {kind}" for kind, code in sorted(types.items()))
        raise Refused(
            f"{instrument.code} is of type {instrument.thermocouple_type}, and on this rig is {said}. At room "
            "temperature both would agree; hot, the reading would be wrong by a hundred kelvins and more.",
            field="instrument",
        )


@transaction.atomic
def take_off(*, by: User, at: datetime, mounting: Mounting) -> Mounting:
    """Take an instrument off its rig."""
    Instrument.objects.select_for_update(of=("self",)).get(pk=mounting.instrument_id)
    mounting = Mounting.objects.select_related("instrument", "rig", "removed_by").get(pk=mounting.pk)
    if mounting.removed_at is not None:
        raise Refused(f"{mounting.instrument.code} was already taken off {mounting.rig.code} by {mounting.removed_by}.")
    mounting.removed_at, mounting.removed_by = at, by
    mounting.save(update_fields=["removed_at", "removed_by"])
    _record_both(mounting, "took off the instrument", by=by, at=at)
    return mounting


def _record_both(mounting: Mounting, act: str, *, by: User, at: datetime) -> None:
    """The same act stands in the instrument's book and in the rig's."""
    data = {"rig": mounting.rig.code, "instrument": mounting.instrument.code, "number": mounting.instrument.number}
    for book in (mounting.instrument.book, mounting.rig.book):
        record_entry(book=book, act=act, by=by, at=at, data=data)

"""Rigs: registering, mounting and taking off, in both books."""

from datetime import timedelta

import pytest

from calibration.actions.rigs import change_rig, mount_instrument, register_rig, take_off
from calibration.models import Mounting, Rig
from calibration.queries.rigs import instruments_on_rig
from labsite.ledger.models import Entry
from labsite.ledger.queries import ledger_faults
from labsite.ledger.refusals import Refused
from tests.factories.calibration import InstrumentFactory, RigFactory
from tests.factories.ledger import NOON, PlaceFactory

pytestmark = pytest.mark.django_db


def test_a_rig_is_registered_with_an_entry_and_its_code_once(person):
    lead = person("lead")
    rig = register_rig(by=lead, at=NOON, code="GW-1", name="Glow wire", kind="glow wire")
    registered, opened = Entry.objects.filter(book__name="rig:GW-1").order_by("sequence")
    assert registered.data["after"]["kind"] == "glow wire"
    assert (opened.act, opened.data["occasion"]) == ("opened the list before use", "new")
    with pytest.raises(Refused, match="reads like GW-1"):
        register_rig(by=lead, at=NOON, code="gw1", name="Another", kind="glow wire")
    assert list(Rig.objects.all()) == [rig]


def test_mounting_and_taking_off_stand_in_both_books(person):
    lead, rig, one = person("lead"), RigFactory.create(), InstrumentFactory.create()
    mounting = mount_instrument(by=lead, at=NOON, rig=rig, instrument=one)
    later = NOON + timedelta(hours=2)
    take_off(by=lead, at=later, mounting=mounting)
    assert [instruments_on_rig(rig, NOON + timedelta(hours=hour)) for hour in (-1, 0, 1, 2)] == [[], [one], [one], []]
    for book in (rig.book, one.book):
        entries = Entry.objects.filter(book__name=book).order_by("sequence")
        assert [entry.act for entry in entries] == ["mounted the instrument", "took off the instrument"]
        assert entries[0].data == {"rig": rig.code, "instrument": one.code, "number": one.number}
    assert list(ledger_faults()) == []


def test_an_instrument_is_on_one_rig_at_a_time(person):
    lead, rig, other, one = (
        person("lead"),
        RigFactory.create(code="GW-1"),
        RigFactory.create(code="GW-2"),
        InstrumentFactory.create(),
    )
    mounting = mount_instrument(by=lead, at=NOON, rig=rig, instrument=one)
    with pytest.raises(Refused, match="is already mounted on this rig"):
        mount_instrument(by=lead, at=NOON, rig=rig, instrument=one)
    with pytest.raises(Refused, match="is already mounted on GW-1; take it off there first"):
        mount_instrument(by=lead, at=NOON, rig=other, instrument=one)
    take_off(by=lead, at=NOON, mounting=mounting)
    assert mount_instrument(by=lead, at=NOON, rig=other, instrument=one).rig == other
    assert Mounting.objects.count() == 2


def test_taking_off_twice_is_refused(person):
    lead = person("lead", full_name="Lou Lead")
    mounting = mount_instrument(
        by=lead, at=NOON, rig=RigFactory.create(code="GW-1"), instrument=InstrumentFactory.create(code="TC-1")
    )
    take_off(by=lead, at=NOON, mounting=mounting)
    with pytest.raises(Refused, match="TC-1 was already taken off GW-1 by Lou Lead"):
        take_off(by=person("lead"), at=NOON, mounting=mounting)


def test_a_changed_rig_notices_a_faster_hand(person):
    lead, rig, place = person("lead"), RigFactory.create(name="Old name"), PlaceFactory.create()
    change_rig(by=lead, at=NOON, rig=rig, version=1, name="New name", place=place, in_use=False)
    entry = Entry.objects.get(book__name=rig.book)
    assert (entry.data["before"]["name"], entry.data["after"]["name"]) == ("Old name", "New name")
    assert (entry.data["after"]["place"], entry.data["after"]["in use"]) == (place.code, False)
    with pytest.raises(Refused, match="Somebody else changed this"):
        change_rig(by=lead, at=NOON, rig=rig, version=1, name="Third", place=None, in_use=True)


@pytest.mark.parametrize("first", ["thermocouple", "indicator"])
def test_a_thermocouple_and_an_indicator_set_to_another_type_are_not_mounted_together(person, first):
    # A type K tip on a meter set to type J shows 497.8 °C at 650 °C, and the right figure in a cold room.
    lead, rig = person("lead"), RigFactory.create()
    tip = InstrumentFactory.create(code="TC-1", thermocouple_type="K")
    meter = InstrumentFactory.create(code="IN-2", kind="indicator", thermocouple_type="J")
    before, after = (tip, meter) if first == "thermocouple" else (meter, tip)
    mount_instrument(by=lead, at=NOON, rig=rig, instrument=before)
    with pytest.raises(Refused) as refusal:
        mount_instrument(by=lead, at=NOON, rig=rig, instrument=after)
    assert refusal.value.field == "instrument"
    assert refusal.value.sentence.startswith(
        f"{after.code} is of type {after.thermocouple_type}, and on this rig is "
        f"{before.code} of type {before.thermocouple_type}."
    )
    assert instruments_on_rig(rig, NOON) == [before]


@pytest.mark.parametrize(("tip_type", "meter_types"), [("K", ["K"]), ("K", ["J", "K"]), ("", ["J"]), ("K", [""])])
def test_a_type_that_fits_one_indicator_or_is_not_stated_is_mounted(person, tip_type, meter_types):
    lead, rig = person("lead"), RigFactory.create()
    for meter_type in meter_types:
        meter = InstrumentFactory.create(kind="indicator", thermocouple_type=meter_type)
        mount_instrument(by=lead, at=NOON, rig=rig, instrument=meter)
    mount_instrument(by=lead, at=NOON, rig=rig, instrument=InstrumentFactory.create(thermocouple_type=tip_type))
    assert len(instruments_on_rig(rig, NOON)) == len(meter_types) + 1


def test_an_indicator_on_another_rig_or_taken_off_does_not_count(person):
    lead, rig, other = person("lead"), RigFactory.create(), RigFactory.create()
    for place in (rig, other):
        meter = InstrumentFactory.create(kind="indicator", thermocouple_type="J")
        mounting = mount_instrument(by=lead, at=NOON, rig=place, instrument=meter)
        if place is rig:
            take_off(by=lead, at=NOON, mounting=mounting)
    one = InstrumentFactory.create(thermocouple_type="K")
    mount_instrument(by=lead, at=NOON, rig=rig, instrument=one)
    assert instruments_on_rig(rig, NOON) == [one]

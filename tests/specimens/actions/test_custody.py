"""Handing pieces over."""

import pytest

from labsite.ledger.queries import entries_about
from labsite.ledger.refusals import Refused
from specimens.actions.custody import hand_over
from specimens.models import Custody
from specimens.queries.pieces import current_custody, current_item_custody
from tests.factories.ledger import NOON, PlaceFactory
from tests.factories.specimens import CustodyFactory, ItemFactory, SpecimenFactory

pytestmark = pytest.mark.django_db


def test_the_latest_hand_over_holds(person):
    technician, specimen = person("technician"), SpecimenFactory.create()
    CustodyFactory.create(specimen=specimen)
    hand_over(by=person("counter"), at=NOON, specimens=[specimen], person=technician, note="for GW-1")
    assert current_custody([specimen.pk])[specimen.pk].holder == technician.full_name
    entry = entries_about(specimen.order_line.order.book).get()
    assert entry.data == {
        "pieces": [specimen.number],
        "after": {"person": technician.full_name, "note": "for GW-1"},
    }


def test_an_item_goes_with_its_specimens_or_alone(person):
    by, specimen = person("counter"), SpecimenFactory.create()
    shelf, other = PlaceFactory.create(), PlaceFactory.create()
    hand_over(by=by, at=NOON, item=specimen.item, specimens=[specimen], place=shelf)
    hand_over(by=by, at=NOON, item=specimen.item, place=other)
    assert current_item_custody([specimen.item.pk])[specimen.item.pk].place == other
    assert current_custody([specimen.pk])[specimen.pk].place == shelf


def test_a_place_or_a_person_not_both_not_none(person):
    item, by = ItemFactory.create(), person("counter")
    for where in ({}, {"place": PlaceFactory.create(), "person": by}):
        with pytest.raises(Refused, match="one of the two, not both"):
            hand_over(by=by, at=NOON, item=item, **where)
    assert Custody.objects.count() == 0


def test_pieces_of_two_orders_are_not_handed_over_together(person):
    with pytest.raises(Refused, match="one order at a time"):
        hand_over(
            by=person("counter"),
            at=NOON,
            specimens=[SpecimenFactory.create(), SpecimenFactory.create()],
            place=PlaceFactory.create(),
        )

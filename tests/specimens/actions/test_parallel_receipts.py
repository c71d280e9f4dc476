"""Several people register parcels at the same moment: numbers stay unique and sound, on both databases."""

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal

import pytest
from django.db import connection

from labsite.ledger.models import Place, User
from labsite.ledger.numbering import read_number
from labsite.ledger.queries import ledger_faults
from specimens.actions.orders import LineIn, take_order
from specimens.actions.receipts import ItemIn, register_receipt
from specimens.models import Contact, Item, Order, OrderLine, Receipt, Specimen
from tests.factories.ledger import NOON, LaboratoryFactory, PlaceFactory, UserFactory
from tests.factories.specimens import ContactFactory, OrderFactory, OrderLineFactory

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("own_catalogue")]

PARCELS = 20


def _register(line: OrderLine, by: User, place: Place) -> None:
    item = ItemIn(
        order_line=line,
        description="Plate",
        material="PC",
        colour="white",
        counted=2,
        specimens=2,
        conditions=("as described",),
        place=place,
    )
    try:
        register_receipt(
            by=by, at=NOON, order=line.order, came_at=NOON, brought_by="x", parcels=1, outside="sound", items=[item]
        )
    finally:
        connection.close()


@pytest.mark.parametrize("orders", [1, 4])
def test_twenty_parcels_at_once(orders):
    LaboratoryFactory.create()
    by, place = UserFactory.create(roles=["counter"]), PlaceFactory.create()
    lines = [OrderLineFactory.create(order=OrderFactory.create(taken_by=by)) for _ in range(orders)]
    with ThreadPoolExecutor(max_workers=8) as pool:
        list(pool.map(lambda turn: _register(lines[turn % orders], by, place), range(PARCELS)))
    assert Receipt.objects.count() == PARCELS
    numbers = [*Item.objects.values_list("number", flat=True), *Specimen.objects.values_list("number", flat=True)]
    assert len(set(numbers)) == PARCELS * 3
    assert [read_number(number).digits for number in numbers] == numbers
    per_order = Counter(number[:6] for number in numbers)
    assert per_order == {line.order.number[:6]: PARCELS * 3 // orders for line in lines}
    for line in lines:
        serials = sorted(int(number[6:9]) for number in numbers if number.startswith(line.order.number[:6]))
        assert serials == list(range(1, PARCELS * 3 // orders + 1))
    assert list(ledger_faults()) == []


def _take(contact: Contact, by: User) -> str:
    line = LineIn("glow-wire-end-product@2021", Decimal(850), 1, "in the standard", "Plate")
    try:
        return take_order(by=by, at=NOON, contact=contact, lines=[line]).number
    finally:
        connection.close()


def test_ten_orders_at_once_get_ten_numbers_without_a_gap():
    LaboratoryFactory.create()
    by, contact = UserFactory.create(roles=["counter"]), ContactFactory.create()
    with ThreadPoolExecutor(max_workers=5) as pool:
        numbers = list(pool.map(lambda _: _take(contact, by), range(10)))
    assert sorted(number[:6] for number in numbers) == [f"26{serial:04d}" for serial in range(1, 11)]
    assert Order.objects.count() == 10
    assert list(ledger_faults()) == []

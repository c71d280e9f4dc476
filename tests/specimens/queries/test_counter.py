"""What the counter's page reads, in how many queries."""

from datetime import timedelta

import pytest

from specimens.queries.counter import counter_page, orders_page
from tests.factories.ledger import NOON
from tests.factories.specimens import (
    ContactFactory,
    ContractReviewFactory,
    DeviationFactory,
    ItemFactory,
    OrderFactory,
    OrderLineFactory,
    SpecimenFactory,
)

pytestmark = pytest.mark.django_db


def page(**changed):
    return counter_page(**{"at": NOON + timedelta(hours=1), "words": "", "before": "", **changed})


def test_each_order_stands_in_the_group_of_what_it_needs():
    unreviewed = OrderLineFactory.create().order
    expected = ContractReviewFactory.create(order=OrderLineFactory.create().order).order
    received = ContractReviewFactory.create(order=ItemFactory.create().order_line.order).order
    deviation = DeviationFactory.create()
    ContractReviewFactory.create(order=deviation.item.order_line.order)
    withdrawn = OrderLineFactory.create(withdrawn_at=NOON).order
    found = page()
    assert found["reviews"].rows == [unreviewed]
    assert found["expected"].rows == [expected]
    assert found["answers"].rows == [deviation]
    assert {receipt.order for receipt in found["received"].rows} == {received, deviation.item.order_line.order}
    assert withdrawn in found["page"].rows
    assert found["answer"] == "One order waits for a contract review, one for an answer from the client."


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_takes_a_constant_number_of_queries(count, django_assert_num_queries):
    for _ in range(count):
        OrderLineFactory.create()
        ContractReviewFactory.create(order=OrderLineFactory.create().order)
        DeviationFactory.create(item=SpecimenFactory.create().item)
    with django_assert_num_queries(5):
        found = page()
        for deviation in found["answers"].rows:
            assert deviation.item.order_line.order.client.name
            assert deviation.item.order_line.order.contact.name
        for order in (*found["reviews"].rows, *found["expected"].rows, *found["page"].rows):
            assert order.client.name
            assert order.taken_by.full_name
        for receipt in found["received"].rows:
            assert receipt.order.client.name
            assert receipt.received_by.full_name


def test_fifty_orders_a_page_and_pages_stay_while_orders_come_in():
    contact = ContactFactory.create()
    orders = [OrderFactory.create(contact=contact, taken_at=NOON + timedelta(minutes=n // 2)) for n in range(102)]
    newest_first = list(reversed(orders))
    first = orders_page()
    OrderFactory.create(contact=contact, taken_at=NOON + timedelta(days=1))
    second = orders_page(before=first.older or "")
    third = orders_page(before=second.older or "")
    assert first.rows + second.rows + third.rows == newest_first
    assert third.older is None


def test_a_full_last_page_promises_no_older_one():
    contact = ContactFactory.create()
    for n in range(50):
        OrderFactory.create(contact=contact, taken_at=NOON + timedelta(minutes=n))
    assert orders_page().older is None


@pytest.mark.parametrize("words", ["rosalind", "0041", "26-0001", "2600018"])
def test_orders_are_found_by_client_purchase_order_and_number(words):
    wanted = OrderFactory.create(
        contact=ContactFactory.create(client__name="Rosalind Fittings"), purchase_order="000417"
    )
    OrderFactory.create(purchase_order="9")
    assert orders_page(words=words).rows == [wanted]


def test_wildcards_are_plain_characters():
    OrderFactory.create(purchase_order="100")
    assert orders_page(words="%").rows == []
    assert orders_page(words="_").rows == []


CERTIFIED: list[int] = []


def certified_lines() -> list[int]:
    """What settings.CERTIFIED_LINES names in these tests."""
    return CERTIFIED


def test_an_order_stands_as_certified_once_all_its_live_lines_are(settings, signed_in):
    settings.CERTIFIED_LINES = f"{__name__}.certified_lines"
    first = ItemFactory.create().order_line
    second = OrderLineFactory.create(order=first.order, position=2)
    OrderLineFactory.create(order=first.order, position=3, withdrawn_at=NOON)
    ContractReviewFactory.create(order=first.order)
    stands = []
    for lines in ([], [first.pk], [first.pk, second.pk]):
        CERTIFIED[:] = lines
        table = signed_in("counter").get("/counter/").text.partition("All orders")[2]
        stands.append(("received</span>" in table, "certified</span>" in table))
    CERTIFIED.clear()
    assert stands == [(True, False), (True, False), (False, True)]

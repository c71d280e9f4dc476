"""Reads about orders, in how many queries."""

from decimal import Decimal

import pytest

from specimens.queries.orders import (
    line_facts,
    lines_in_work,
    order_by_number,
    order_page,
    reviewed_lines,
    unanswered_deviations,
)
from specimens.queries.pieces import current_custody, label_pieces
from tests.factories.ledger import NOON, PlaceFactory
from tests.factories.specimens import (
    ContractReviewFactory,
    CustodyFactory,
    DeviationFactory,
    ItemFactory,
    OrderFactory,
    OrderLineFactory,
    ReceiptFactory,
    SpecimenFactory,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("own_catalogue")]


def test_an_order_is_found_by_its_digits_only():
    order = OrderFactory.create()
    assert order_by_number(order.number) == order
    assert order_by_number("2600026") is None


def test_lines_in_work_leave_withdrawn_ones_out():
    line = OrderLineFactory.create()
    OrderLineFactory.create(order=line.order, withdrawn_at=NOON)
    assert list(lines_in_work()) == [line]


def test_a_line_says_how_it_is_tested_and_what_is_missing():
    line = OrderLineFactory.create(specimens_ordered=3, severity=Decimal(850))
    SpecimenFactory.create(item=ItemFactory.create(order_line=line))
    (facts,) = line_facts(line.order)
    assert (facts.method, facts.standard, facts.severity) == ("Glow wire, end product", "IEC 60695-2-11:2021", "850 °C")
    assert (facts.usable, facts.missing) == (1, 2)


def test_a_line_of_an_unknown_edition_is_shown_by_its_key():
    (facts,) = line_facts(OrderLineFactory.create(method_key="gone@1999", severity=Decimal("3.0")).order)
    assert (facts.method, facts.severity, facts.offer) == ("gone@1999", "3.0", None)


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_of_an_order_takes_a_constant_number_of_queries(count, django_assert_num_queries):
    order = OrderFactory.create()
    ContractReviewFactory.create(order=order)
    for _ in range(count):
        line, receipt = OrderLineFactory.create(order=order), ReceiptFactory.create(order=order)
        item = ItemFactory.create(order_line=line, receipt=receipt)
        SpecimenFactory.create(item=item)
        DeviationFactory.create(item=item)
    with django_assert_num_queries(9):
        page = order_page(order)
        for facts in page["receipts"]:
            assert facts.receipt.received_by.full_name
            for row in facts.items:
                assert len(row.specimens) == 1
                assert [deviation.raised_by.full_name for deviation in row.item.deviations.all()] != []
                assert row.item.order_line.position


@pytest.mark.parametrize("count", [1, 3])
def test_questions_about_many_lines_take_one_query_each(count, django_assert_num_queries):
    deviations = [DeviationFactory.create() for _ in range(count)]
    ids = [deviation.item.order_line_id for deviation in deviations]
    with django_assert_num_queries(2):
        assert reviewed_lines(ids) == set()
        found = unanswered_deviations(ids)
        assert [found[line][0].raised_by.full_name for line in ids] != []
    with django_assert_num_queries(1):
        assert len([line.order.client.name for line in lines_in_work()]) == count


@pytest.mark.parametrize("count", [1, 3])
def test_custody_of_many_specimens_takes_two_queries(count, django_assert_num_queries):
    specimens, shelf = [SpecimenFactory.create() for _ in range(count)], PlaceFactory.create(code="C-3", name="Shelf")
    for specimen in specimens:
        CustodyFactory.create(specimen=specimen, place=shelf)
    with django_assert_num_queries(2):
        found = current_custody([specimen.pk for specimen in specimens])
        assert [custody.holder for custody in found.values()] == ["C-3, Shelf"] * count


def test_labels_are_found_for_an_order_a_parcel_or_a_piece():
    first = SpecimenFactory.create()
    line = first.order_line
    second = SpecimenFactory.create(item=ItemFactory.create(order_line=line))
    number = line.order.number
    all_numbers = [first.item.number, first.number, second.item.number, second.number]
    assert [piece.number for piece in label_pieces(number)] == sorted(all_numbers)
    of_parcel = [piece.number for piece in label_pieces(number, receipt=second.item.receipt_id)]
    assert of_parcel == sorted([second.item.number, second.number])
    assert [piece.number for piece in label_pieces(number, piece=first.number)] == [first.number]
    assert label_pieces("2600026") == []

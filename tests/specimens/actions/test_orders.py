"""Taking orders, changing their lines, signing the contract review."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from labsite.ledger.queries import entries_about, ledger_faults
from labsite.ledger.refusals import Refused
from specimens.actions.orders import LineIn, add_line, sign_review, take_order, withdraw_line
from specimens.models import ContractReview, Order
from specimens.queries.orders import reviewed_lines
from tests.factories.ledger import NOON
from tests.factories.specimens import ContactFactory, OrderFactory, OrderLineFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("own_catalogue")]

LINE = LineIn(
    method_key="glow-wire-end-product@2021",
    severity=Decimal(850),
    specimens_ordered=3,
    decision_rule="in the standard",
    subject="Front plate",
)
SIGNED: dict[str, Any] = {
    "requirements_understood": True,
    "method_suitable": True,
    "capability": True,
    "agreed_with": "Aoife Brannigan",
    "agreed_on": date(2026, 3, 9),
}


def test_an_order_is_taken_with_its_lines_and_one_entry(person):
    by, contact = person("counter"), ContactFactory.create()
    order = take_order(by=by, at=NOON, contact=contact, purchase_order="000417", lines=[LINE, LINE])
    assert (order.number, order.client, order.purchase_order) == ("2600018", contact.client, "000417")
    assert list(order.lines.values_list("position", flat=True)) == [1, 2]
    assert [entry.act for entry in entries_about(order.book)] == ["took the order"]
    assert list(ledger_faults()) == []


def test_order_numbers_run_by_the_year_at_the_laboratory(person):
    by, contact = person("counter"), ContactFactory.create()
    new_year = NOON.replace(month=12, day=31, hour=23, minute=30)  # 00:30 on 1 January in Berlin
    numbers = [take_order(by=by, at=at, contact=contact, lines=[LINE]).number[:6] for at in (NOON, NOON, new_year)]
    assert numbers == ["260001", "260002", "270001"]


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"lines": []}, None),
        ({"promised_on": date(2026, 3, 9)}, "promised_on"),
    ],
)
def test_a_refused_order_leaves_nothing(person, changed, field):
    with pytest.raises(Refused) as refusal:
        take_order(
            **{"by": person("counter"), "at": NOON, "contact": ContactFactory.create(), "lines": [LINE], **changed}
        )
    assert refusal.value.field == field
    assert Order.objects.count() == 0


def test_a_line_the_edition_does_not_know_is_refused(person):
    order = OrderFactory.create()
    wrong = LineIn("glow-wire-end-product@2000", Decimal(775), 1, "in the standard", "Plate", product_standard="X")
    with pytest.raises(Refused, match="2-11:2000 has no 775 °C"):
        add_line(by=person("counter"), at=NOON, order=order, line=wrong)
    assert order.lines.count() == 0


def test_an_unknown_edition_is_refused(person):
    with pytest.raises(Refused, match="is not a method edition"):
        add_line(
            by=person("counter"),
            at=NOON,
            order=OrderFactory.create(),
            line=LineIn("x@1", Decimal(1), 1, "in the standard", "x"),
        )


def test_a_signed_review_covers_the_order_until_a_line_is_added_or_withdrawn(person):
    by = person("lead")
    line = OrderLineFactory.create()
    sign_review(by=by, at=NOON, order=line.order, version=1, **SIGNED)
    assert reviewed_lines([line.pk]) == {line.pk}
    added = add_line(by=by, at=NOON, order=line.order, line=LINE)
    assert reviewed_lines([line.pk, added.pk]) == set()
    sign_review(by=by, at=NOON, order=line.order, version=2, **SIGNED)
    assert reviewed_lines([line.pk, added.pk]) == {line.pk, added.pk}
    withdraw_line(by=by, at=NOON, line=added, reason="not wanted any more")
    assert reviewed_lines([line.pk, added.pk]) == set()
    assert [entry.act for entry in entries_about(line.order.book)] == [
        "signed the contract review",
        "added a line",
        "signed the contract review",
        "withdrew a line",
    ]


def test_a_review_of_lines_the_signer_did_not_see_is_refused(person):
    line = OrderLineFactory.create()
    add_line(by=person("counter"), at=NOON, order=line.order, line=LINE)
    with pytest.raises(Refused, match="A line was added or withdrawn since you opened this page"):
        sign_review(by=person("lead"), at=NOON, order=line.order, version=1, **SIGNED)
    assert ContractReview.objects.count() == 0


def test_an_order_without_live_lines_cannot_be_reviewed(person):
    line = OrderLineFactory.create(withdrawn_at=NOON)
    with pytest.raises(Refused, match="has no line to review"):
        sign_review(by=person("lead"), at=NOON, order=line.order, version=1, **SIGNED)


def test_a_review_is_signed_once_per_version(person):
    line, first = OrderLineFactory.create(), person("lead", full_name="Ines Okafor")
    sign_review(by=first, at=NOON, order=line.order, version=1, **SIGNED)
    with pytest.raises(Refused, match="Ines Okafor signed the review of this order already"):
        sign_review(by=person("lead"), at=NOON, order=line.order, version=1, **SIGNED)


def test_an_agreement_of_tomorrow_is_refused_and_one_of_today_is_not(person):
    # 23:30 UTC is the next day in Berlin: the laboratory's day counts.
    line, late = OrderLineFactory.create(), NOON.replace(hour=23, minute=30)
    tomorrow = SIGNED | {"agreed_on": date(2026, 3, 12)}
    with pytest.raises(Refused) as refusal:
        sign_review(by=person("lead"), at=late, order=line.order, version=1, **tomorrow)
    assert refusal.value.field == "agreed_on"
    today = SIGNED | {"agreed_on": date(2026, 3, 11)}
    assert sign_review(by=person("lead"), at=late, order=line.order, version=1, **today).agreed_on == date(2026, 3, 11)


def test_all_three_points_must_hold(person):
    line = OrderLineFactory.create()
    with pytest.raises(Refused, match="All three points must hold"):
        sign_review(by=person("lead"), at=NOON, order=line.order, version=1, **SIGNED | {"capability": False})


def test_who_took_the_order_may_sign_and_the_record_says_so(person):
    lead = person("lead")
    line = OrderLineFactory.create(order__taken_by=lead)
    sign_review(by=lead, at=NOON, order=line.order, version=1, **SIGNED)
    assert entries_about(line.order.book).get().data["after"]["signed by who took the order"] is True


def test_a_line_is_withdrawn_once(person):
    line, by = OrderLineFactory.create(), person("counter")
    withdraw_line(by=by, at=NOON, line=line, reason="x")
    with pytest.raises(Refused, match="Line 1 is withdrawn already"):
        withdraw_line(by=by, at=NOON + timedelta(hours=1), line=line, reason="x")

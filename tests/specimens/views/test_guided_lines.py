"""A line filled by the product-standard guide: nothing saved by itself, nothing typed lost, only known figures."""

import json
import uuid

import pytest

from specimens.models import Order, OrderLine
from tests.factories.specimens import ContactFactory, ContractReviewFactory, OrderLineFactory
from tests.specimens.typed import LINE, field_value, order_form

pytestmark = pytest.mark.django_db
ROW = "60335-1-30.2.3.2-750"
FLAME_LINE = json.dumps({"flame_line": {"value": "asks for the needle flame"}})
WORDS = "A flame longer than the line: asks for the needle flame (edition: not looked at)"


def line_form(**changed):
    return {"form_key": str(uuid.uuid4()), **LINE, **changed}


def chosen(page, value):
    return f'<option value="{value}" selected>' in page.text


def test_a_link_begins_an_order_with_a_row_and_saves_nothing(signed_in):
    page = signed_in("counter").get("/orders/new/", {"guide": ROW})
    assert page.status_code == 200
    assert chosen(page, "glow-wire-end-product@2021")
    assert chosen(page, "glow-wire-end-product/750")
    assert field_value(page.text, "line-0-product_standard") == "IEC 60335-1, 30.2.3.2"
    assert WORDS in page.text
    assert Order.objects.count() == 0


def test_a_row_fills_one_line_and_keeps_everything_typed(signed_in):
    first = LINE | {"subject": "Kept subject"}
    second = LINE | {"method_key": "glow-wire-end-product@2014", "severity": "", "product_standard": "EN 60335-2-9"}
    form = order_form("", first, second, guide=f"line-1 {ROW}")
    page = signed_in("counter").post("/orders/new/", form)
    assert page.status_code == 200
    assert 'class="why"' not in page.text
    assert field_value(page.text, "purchase_order") == "000417"
    assert field_value(page.text, "line-0-subject") == "Kept subject"
    assert field_value(page.text, "line-0-agreed_parameters") in ("", None)
    assert field_value(page.text, "line-1-product_standard") == "EN 60335-2-9"
    assert chosen(page, "glow-wire-end-product@2014")  # another edition of the same method stays as typed
    assert chosen(page, "glow-wire-end-product/750")
    assert page.text.count(WORDS) == 1
    assert Order.objects.count() == 0


def test_agreed_figures_are_kept_with_the_line_and_shown_at_the_review(signed_in):
    contact = ContactFactory.create()
    typed = LINE | {"severity": "glow-wire-end-product/750", "agreed_parameters": FLAME_LINE}
    signed_in("counter").post("/orders/new/", order_form(contact.pk, typed))
    line = OrderLine.objects.get()
    assert line.agreed_parameters == {"flame_line": {"value": "asks for the needle flame"}}
    review = signed_in("lead").get(f"/orders/{line.order.number}/review/")
    assert f"Agreed: {WORDS}" in review.text


def test_figures_can_be_left_out_again(signed_in):
    line = OrderLineFactory.create()
    answer = signed_in("counter").post(
        f"/orders/{line.order.number}/lines/new/", line_form(agreed_parameters=FLAME_LINE, agreed_left_out="on")
    )
    assert answer.status_code == 302
    assert OrderLine.objects.latest("pk").agreed_parameters == {}


@pytest.mark.parametrize(
    ("figures", "sentence"),
    [
        ('{"colour": {"value": "red"}}', "colour: 2-11:2021 has no figure of that name."),
        ('{"flame_line": {"value": "perhaps"}}', "is none of not looked at, asks for the needle flame, fails."),
        ('{"flame_line": "fails"}', "are no figures"),
        ("[]", "The agreed figures cannot be read"),
        ("{", "The agreed figures cannot be read"),
        ('{"force_n": {"\\ud800": "1"}}', "The agreed figures cannot be read"),
        ('{"\\u0000": {"high": "1"}}', "The agreed figures cannot be read"),
        ('{"force_n": {"value": "１"}}', "is not a number"),
        ('{"flame_line_s": {"high": "two"}}', "is not a number"),
    ],
)
def test_figures_the_edition_does_not_know_are_refused_with_a_sentence(signed_in, figures, sentence):
    line = OrderLineFactory.create()
    page = signed_in("counter").post(f"/orders/{line.order.number}/lines/new/", line_form(agreed_parameters=figures))
    assert page.status_code == 422
    assert sentence in page.text.replace("&#x27;", "'")
    assert field_value(page.text, "subject") == LINE["subject"]
    assert OrderLine.objects.count() == 1


def test_a_row_that_is_not_there_is_said(signed_in):
    page = signed_in("counter").get("/orders/new/", {"guide": "no-such-row"})
    assert page.status_code == 200
    assert "The guide has no such row." in page.text


def test_a_row_fills_a_further_line_of_an_order(signed_in):
    line = OrderLineFactory.create()
    page = signed_in("counter").post(
        f"/orders/{line.order.number}/lines/new/", line_form(subject="Kept", guide=" 60884-1-28-fixed")
    )
    assert page.status_code == 200
    assert field_value(page.text, "subject") == "Kept"
    assert chosen(page, "glow-wire-end-product/850")
    assert "Scorching of the board fails the specimen: yes (edition: no)" in page.text
    assert OrderLine.objects.count() == 1


def test_the_review_asks_the_guide_for_each_line_with_a_product_standard(signed_in):
    line = OrderLineFactory.create(product_standard="IEC 60670-1 & more")
    asked = f"/methods/guide/offer/?order={line.order.number}&amp;product_standard=IEC%2060670-1%20%26%20more"
    lead = signed_in("lead")
    assert asked in lead.get(f"/orders/{line.order.number}/review/").text
    ContractReviewFactory.create(order=line.order)
    assert asked not in lead.get(f"/orders/{line.order.number}/review/").text


@pytest.mark.parametrize("address", ["/orders/new/", "line"])
def test_a_row_that_is_not_there_is_told_as_not_done(signed_in, address):
    if address == "line":
        address = f"/orders/{OrderLineFactory.create().order.number}/lines/new/"
    page = signed_in("counter").get(address, {"guide": "nonsense"})
    assert page.status_code == 200
    assert "Not done</span>" in page.text
    assert ">Done</span>" not in page.text

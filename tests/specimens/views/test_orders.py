"""The counter's page and the pages of orders."""

import pytest

from specimens.models import ContractReview, Order, OrderLine
from tests.factories.ledger import NOON
from tests.factories.specimens import ContactFactory, ContractReviewFactory, OrderFactory, OrderLineFactory
from tests.specimens.typed import LINE, field_value, order_form

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("own_catalogue")]

REVIEW = {
    "requirements_understood": "on",
    "method_suitable": "on",
    "capability": "on",
    "agreed_with": "Aoife Brannigan",
    "agreed_on": "2026-03-10",
    "note": "",
}


def test_an_empty_counter_says_what_to_do_next(signed_in):
    page = signed_in("counter").get("/counter/")
    assert page.status_code == 200
    assert "No order is here yet." in page.text
    assert "Nothing needs a hand at the counter." in page.text


def test_an_order_is_taken_on_one_page(signed_in):
    contact = ContactFactory.create()
    line = LINE | {"severity": "glow-wire-end-product/775", "product_standard": "IEC 60335-1"}
    answer = signed_in("counter").post("/orders/new/", order_form(contact.pk, LINE, line))
    order = Order.objects.get()
    assert (answer.status_code, answer["Location"]) == (302, f"/orders/{order.number}/")
    assert (order.purchase_order, order.client) == ("000417", contact.client)
    lines = [(f"{row.severity:f}", row.product_standard) for row in order.lines.order_by("position")]
    assert lines == [("850", ""), ("775", "IEC 60335-1")]


def test_a_line_left_empty_is_no_line(signed_in):
    empty = dict.fromkeys(LINE, "") | {"decision_rule": ""}
    signed_in("counter").post("/orders/new/", order_form(ContactFactory.create().pk, LINE, empty))
    assert OrderLine.objects.count() == 1


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        ({"subject": ""}, "Write what is to be tested."),
        ({"method_key": ""}, "Choose the method and its edition."),
        ({"severity": ""}, "Choose the severity, or what is searched for."),
        ({"severity": "glow-wire-end-product/775"}, "name that standard."),
        ({"severity": "ball-pressure/125"}, "This severity belongs to another method than 2-11:2021."),
        ({"specimens_ordered": "0"}, "Write a whole number from 1 to 500."),
        ({"specimens_ordered": "three"}, "Write a whole number from 1 to 500."),
        (
            {"decision_rule": "simple acceptance"},
            "2-11:2021 is judged by “inherent in the standard”, not by “simple acceptance”.",
        ),
        (
            {
                "method_key": "ball-pressure@2014",
                "severity": "ball-pressure/125",
                "decision_rule": "client's own",
            },
            "Write the client’s own rule",
        ),
    ],
)
def test_a_refused_line_is_told_why_and_keeps_the_typing(signed_in, line, sentence):
    typed = LINE | {"product_standard": "", "subject": "Kept subject"} | line
    page = signed_in("counter").post("/orders/new/", order_form(ContactFactory.create().pk, typed))
    assert page.status_code == 422
    assert sentence in page.text
    assert field_value(page.text, "purchase_order") == "000417"
    assert field_value(page.text, "line-0-subject") == typed["subject"]
    assert field_value(page.text, "line-0-specimens_ordered") == typed["specimens_ordered"]
    assert Order.objects.count() == 0


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"contact": ""}, "Choose who orders"),
        ({"promised_on": "2020-01-31"}, "2020-01-31 is over; promise a day from today on."),
        ({"promised_on": "31.01.2027"}, "This is not a day. Write year, month, day"),
    ],
)
def test_a_refused_order_is_told_why_and_keeps_the_typing(signed_in, changed, sentence):
    page = signed_in("counter").post("/orders/new/", order_form(ContactFactory.create().pk, **changed))
    assert page.status_code == 422
    assert sentence in page.text
    assert field_value(page.text, "line-0-subject") == LINE["subject"]
    if "promised_on" in changed:
        assert field_value(page.text, "promised_on") == changed["promised_on"]


def test_one_more_line_keeps_what_was_typed_and_complains_of_nothing(signed_in):
    half = LINE | {"specimens_ordered": "many", "method_key": ""}
    page = signed_in("counter").post("/orders/new/", order_form("", half, add_row="1"))
    assert page.status_code == 200
    assert 'class="why"' not in page.text
    assert field_value(page.text, "line-TOTAL_FORMS") == "2"
    assert field_value(page.text, "line-0-specimens_ordered") == "many"
    assert field_value(page.text, "purchase_order") == "000417"
    assert Order.objects.count() == 0


def test_a_lead_reads_the_order_and_signs(signed_in):
    line = OrderLineFactory.create()
    lead = signed_in("lead")
    url = f"/orders/{line.order.number}/review/"
    page = lead.get(url)
    assert "You took this order yourself" not in page.text
    assert line.subject in page.text
    answer = lead.post(url, REVIEW | {"version": field_value(page.text, "version")})
    assert answer["Location"] == f"/orders/{line.order.number}/"
    assert ContractReview.objects.get().signed_by == lead.person
    assert "signed this review." in lead.get(url).text


def test_who_took_the_order_reads_so_before_signing(signed_in):
    lead = signed_in("lead")
    line = OrderLineFactory.create(order__taken_by=lead.person)
    assert "You took this order yourself" in lead.get(f"/orders/{line.order.number}/review/").text


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"capability": ""}, "Not ticked: agree another date or decline, then sign."),
        ({"agreed_with": ""}, "Write who at the client’s agreed."),
        ({"agreed_on": "2999-01-01"}, "2999-01-01 is still to come"),
        ({"version": "7"}, "A line was added or withdrawn since you opened this page."),
    ],
)
def test_a_refused_signature_keeps_the_typing(signed_in, changed, sentence):
    line = OrderLineFactory.create()
    typed = REVIEW | {"version": "1", "note": "Kept note"} | changed
    page = signed_in("lead").post(f"/orders/{line.order.number}/review/", typed)
    assert page.status_code == 422
    assert sentence in page.text
    assert "Kept note</textarea>" in page.text
    assert field_value(page.text, "version") == "1"
    assert ContractReview.objects.count() == 0


def test_a_line_is_added_and_withdrawn_and_the_page_says_what_that_means(signed_in):
    line = OrderLineFactory.create()
    ContractReviewFactory.create(order=line.order)
    client, base = signed_in("counter"), f"/orders/{line.order.number}"
    assert "asks for a new review of the whole order" in client.get(f"{base}/lines/new/").text
    assert client.post(f"{base}/lines/new/", LINE).status_code == 302
    assert "that signature no longer covers the order" in client.get(f"{base}/").text
    refused = client.post(f"{base}/lines/2/withdraw/", {"reason": ""})
    assert (refused.status_code, "Write why the line is withdrawn." in refused.text) == (422, True)
    assert client.post(f"{base}/lines/2/withdraw/", {"reason": "not wanted"}).status_code == 302
    assert OrderLine.objects.get(position=2).withdrawn_at is not None


@pytest.mark.parametrize("path", ["", "review/", "receive/", "lines/new/", "labels.pdf", "lines/1/withdraw/"])
def test_an_unknown_order_is_not_found(signed_in, path):
    assert signed_in("lead", "counter").get(f"/orders/2699990/{path}").status_code == 404


def test_older_orders_are_a_page_further(signed_in):
    contact = ContactFactory.create()
    numbers = [OrderFactory.create(contact=contact, taken_at=NOON).number for _ in range(51)]
    client = signed_in("quality")
    page = client.get("/counter/")
    assert f"before={numbers[1]}" in page.text
    assert f"/orders/{numbers[0]}/" not in page.text
    assert f"/orders/{numbers[0]}/" in client.get(f"/counter/?before={numbers[1]}").text
    assert "No order matches" in client.get("/counter/?q=nobody").text


def test_all_faults_of_all_lines_and_of_the_order_are_told_in_the_first_round(signed_in):
    lines = [
        LINE | {"severity": "ball-pressure/125", "decision_rule": "simple acceptance", "specimens_ordered": "0"},
        LINE | {"method_key": "ball-pressure@2014", "severity": "ball-pressure/125", "decision_rule": "client's own"},
    ]
    typed = order_form("", *lines) | {"promised_on": "2020-01-02"}
    page = signed_in("counter").post("/orders/new/", typed)
    form, rows = page.context["form"], page.context["lines"]
    assert {name: list(told) for name, told in form.errors.items()} == {
        "contact": ["Choose who orders; a new client is entered first."],
        "promised_on": ["2020-01-02 is over; promise a day from today on."],
    }
    assert [{name: list(told) for name, told in row.errors.items()} for row in rows] == [
        {
            "severity": ["This severity belongs to another method than 2-11:2021."],
            "specimens_ordered": ["Write a whole number from 1 to 500."],
            "decision_rule": ["2-11:2021 is judged by “inherent in the standard”, not by “simple acceptance”."],
        },
        {"decision_rule_note": ["Write the client’s own rule: the limit and how a value is held against it."]},
    ]


def test_levels_stand_under_their_method_and_name_the_list_that_narrows_them(signed_in):
    page = signed_in("counter").get("/orders/new/")
    field = page.context["lines"][0].fields["severity"]
    assert [group for group, _ in field.choices[1:]] == ["Glow-wire test on end products", "Ball pressure test"]
    assert field.widget.attrs["data-narrowed-by"] == "line-0-method_key"

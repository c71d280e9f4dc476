"""Lines without a level, the number of specimens, the client's own limit, and what pages say of them; real editions."""

import pytest

from labsite.ledger.queries import entries_about
from specimens.models import Order, OrderLine
from tests.factories.specimens import ContactFactory
from tests.specimens.typed import LINE, order_form

pytestmark = pytest.mark.django_db

SEARCH = LINE | {
    "method_key": "glow-wire-flammability-index@2021",
    "severity": "glow-wire-flammability-index/open",
    "specimens_ordered": "24",
}
BALL = LINE | {
    "method_key": "ball-pressure@2014",
    "severity": "ball-pressure/125",
    "decision_rule": "client's own",
    "own_limit": "1.80",
}


def taken(client, line):
    """The page after sending the form, and the line if there is one."""
    page = client.post("/orders/new/", order_form(ContactFactory.create().pk, line))
    return page, OrderLine.objects.order_by("pk").last()


def test_a_search_is_ordered_with_its_start_and_what_is_believed(signed_in):
    client = signed_in("counter")
    _, line = taken(
        client,
        SEARCH
        | {
            "start_severity": "glow-wire-flammability-index/650",
            "believed_severity": "850",
            "believed_spread": "25",
        },
    )
    assert (line.severity, line.start_severity, line.believed_severity, line.believed_spread) == (None, 650, 850, 25)
    page = client.get(f"/orders/{line.order.number}/").text
    assert "Index search, from 650 °C" in page
    assert 'Believed to be <span class="keep">850 ± 25 °C</span>; used to plan it, never judged' in page
    words = entries_about(line.order.book).get().data["after"]["lines"][0]
    assert (words["severity"], words["believed"]) == ("Index search, from 650 °C", "850 ± 25 °C")
    assert words["method"].startswith("IEC 60695-2-12:2021")


def test_a_value_believed_far_outside_the_levels_is_refused_and_kept(signed_in):
    line = LINE | {
        "method_key": "tracking@2020",
        "severity": "tracking/open",
        "specimens_ordered": "20",
        "believed_severity": "9000",
    }
    page, kept = taken(signed_in("counter"), line)
    assert (page.status_code, kept) == (422, None)
    assert "60112:2020 searches from 100 to 600 V; 9000 V is far outside." in page.text
    assert 'value="9000"' in page.text


def test_too_few_specimens_are_told_on_the_order_and_before_the_review_is_signed(signed_in):
    client = signed_in("counter")
    few = LINE | {"method_key": "tracking@2020", "severity": "tracking/open", "specimens_ordered": "4"}
    words = "4 ordered, and each level of the CTI search takes 5: it cannot come to its end with these."
    _, line = taken(client, few)
    assert words in client.get(f"/orders/{line.order.number}/").text
    lead = signed_in("lead")
    assert words in lead.get(f"/orders/{line.order.number}/review/").text
    _, enough = taken(client, few | {"specimens_ordered": "5"})
    assert "too few" not in lead.get(f"/orders/{enough.order.number}/review/").text


def test_a_search_needs_a_number_of_specimens_and_says_how_many_it_may_take(signed_in):
    page, line = taken(signed_in("counter"), SEARCH | {"specimens_ordered": ""})
    assert (page.status_code, line) == (422, None)
    assert "Write how many specimens are sent for the search; it takes 24 at most." in page.text


@pytest.mark.parametrize(
    ("method", "severity", "count"),
    [
        ("vertical-flame@2013", "vertical-flame/open", 10),
        ("glow-wire-flammability-index@2021", "glow-wire-flammability-index/850", 3),
        ("glow-wire-end-product@2021", "glow-wire-end-product/850", 1),
    ],
)
def test_left_empty_the_number_is_what_the_method_asks_for(signed_in, method, severity, count):
    line = LINE | {"method_key": method, "severity": severity, "specimens_ordered": ""}
    assert taken(signed_in("counter"), line)[1].specimens_ordered == count


def test_a_start_without_a_search_is_refused_and_kept(signed_in):
    typed = LINE | {"start_severity": "glow-wire-flammability-index/650"}
    page, line = taken(signed_in("counter"), typed)
    assert (page.status_code, line) == (422, None)
    assert "This start belongs to another method than 2-11:2021." in page.text
    assert '<option value="glow-wire-flammability-index/650" selected>' in page.text


def test_the_clients_own_limit_becomes_an_agreed_figure_with_its_digits(signed_in):
    client = signed_in("counter")
    _, line = taken(client, BALL)
    assert list(line.agreed_parameters.values()) == [{"high": "1.80"}]
    page = client.get(f"/orders/{line.order.number}/").text
    assert "1.80 mm" in page


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"own_limit": ""}, "write the client’s own limit; the method’s is at most 2.0 mm."),
        ({"own_limit": "-1"}, "a limit is above zero, not -1 mm."),
        (
            {"decision_rule": "simple acceptance"},
            "It holds by the rule “the client’s own limit” alone: choose it, or leave this empty.",
        ),
    ],
)
def test_an_own_limit_that_cannot_be_is_refused(signed_in, changed, sentence):
    page, line = taken(signed_in("counter"), BALL | changed)
    assert (page.status_code, line) == (422, None)
    assert sentence in page.text


def test_the_form_says_what_each_method_takes(signed_in):
    page = signed_in("counter").get("/orders/new/").text
    assert "3 at each level; a search takes 24 at most" in page
    assert "10, 5 each way" in page


def test_the_receiving_page_says_what_is_ordered(signed_in):
    client = signed_in("counter")
    _, line = taken(client, SEARCH | {"start_severity": "glow-wire-flammability-index/650"})
    assert "Index search, from 650 °C" in client.get(f"/orders/{line.order.number}/receive/").text


def test_the_only_contact_of_a_client_is_chosen_beforehand(signed_in):
    one, other = ContactFactory.create(), ContactFactory.create()
    client = signed_in("counter")
    page = client.get(f"/orders/new/?client={one.client_id}").text
    assert f'<option value="{one.pk}" selected>' in page
    ContactFactory.create(client=other.client)
    several = client.get(f"/orders/new/?client={other.client_id}").text
    assert f'<option value="{other.pk}" selected>' not in several
    assert Order.objects.count() == 0

"""The Find box leads to pages or says what was wrong with the number."""

import pytest
from django.test import Client
from django.urls import reverse

from calibration.models import Instrument
from labsite.ledger.numbering import grouped
from specimens.models import Item, Order, Specimen
from tests.factories.calibration import InstrumentFactory
from tests.factories.ledger import UserFactory

SENTENCES = [
    ("", "Type or scan the number of an order, an item, a specimen, an instrument or a certificate, or the code"),
    ("2604146", "The check digit of “2604146” does not fit: one digit is mistyped, or two changed places."),
    ("26-04", "“26-04” has 4 digits; orders have 7, items and specimens 10, instruments 6."),
    ("hello", "“hello” is not a number of this laboratory: only digits, hyphens and spaces can stand in one."),
    ("<b>", "“&lt;b&gt;” is not a number of this laboratory"),
]


@pytest.mark.parametrize(("typed", "sentence"), SENTENCES)
def test_it_says_what_was_wrong(signed_in, typed, sentence):
    answer = signed_in("counter").get(reverse("find"), {"number": typed})
    assert sentence in answer.text
    assert answer.status_code == (404 if typed else 200)


def test_a_sound_number_that_nobody_has(signed_in):
    answer = signed_in("counter").get(reverse("find"), {"number": "26-9999-7"})
    assert "“26-9999-7” is a sound number, but nothing here has it." in answer.text


@pytest.mark.usefixtures("told", "db")
def test_any_number_typed_or_scanned_leads_to_its_page():
    browser = Client()
    browser.force_login(UserFactory.create(roles=["counter"]))
    order, item = Order.objects.earliest("pk"), Item.objects.earliest("pk")
    specimen, instrument = Specimen.objects.earliest("pk"), Instrument.objects.get(code="TC-01")
    pages = {
        order.number: f"/orders/{order.number}/",
        "-".join(grouped(order.number)): f"/orders/{order.number}/",
        item.number: f"/items/{item.number}/",
        specimen.number: f"/specimens/{specimen.number}/",
        f" {specimen.number}\t": f"/specimens/{specimen.number}/",
        instrument.number: f"/instruments/{instrument.number}/",
        "tc01": f"/instruments/{instrument.number}/",
        grouped(order.number)[0]: f"/orders/{order.number}/",
        order.number[:-1]: f"/orders/{order.number}/",
        grouped(item.number)[0]: f"/items/{item.number}/",
        specimen.number[:-1]: f"/specimens/{specimen.number}/",
        "gw-1": "/rigs/GW-1/",
        "ch2": "/conditioning/CH-2/",
        "26-0001-c2": "/certificates/26-0001-C2/",
        "260001C1": "/certificates/26-0001-C1/",
    }
    found = {typed: browser.get(reverse("find"), {"number": typed}).headers.get("Location") for typed in pages}
    assert found == pages


@pytest.mark.django_db
def test_a_serial_number_leads_to_its_instrument_unless_two_share_it(signed_in):
    browser = signed_in("quality")
    one, _ = InstrumentFactory.create(serial_number="HV 00417"), InstrumentFactory.create(serial_number="HV 00418")
    found = browser.get(reverse("find"), {"number": "hv-00417"})
    assert found.headers.get("Location") == f"/instruments/{one.number}/"
    InstrumentFactory.create(serial_number="HV00417")
    assert browser.get(reverse("find"), {"number": "hv-00417"}).status_code == 404

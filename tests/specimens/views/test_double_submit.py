"""A form that is sent twice counts once, also when both sendings arrive together."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection
from django.test import Client

from labsite.ledger.models import User
from specimens.models import Order, Receipt, Specimen
from tests.factories.ledger import LaboratoryFactory, PlaceFactory, UserFactory
from tests.factories.specimens import ContactFactory, OrderLineFactory
from tests.specimens.typed import ITEM, order_form, parcel_form

pytestmark = pytest.mark.usefixtures("own_catalogue")


@pytest.mark.django_db
def test_the_second_sending_leads_to_what_the_first_made(signed_in):
    client, form = signed_in("counter"), order_form(ContactFactory.create().pk)
    first, second = client.post("/orders/new/", form), client.post("/orders/new/", form)
    assert (first.status_code, second.status_code) == (302, 302)
    assert first["Location"] == second["Location"] == f"/orders/{Order.objects.get().number}/"


@pytest.mark.django_db
def test_a_refused_form_may_be_sent_again_with_its_key(signed_in):
    client, form = signed_in("counter"), order_form(ContactFactory.create().pk)
    assert client.post("/orders/new/", form | {"line-0-subject": ""}).status_code == 422
    assert client.post("/orders/new/", form).status_code == 302
    assert Order.objects.count() == 1


def _twice_at_once(person: User, url: str, form: dict[str, str]) -> list[str]:
    def send(browser: Client) -> str:
        try:
            return browser.post(url, form)["Location"]
        finally:
            connection.close()

    browsers = [Client(), Client()]
    for browser in browsers:
        browser.force_login(person)
    with ThreadPoolExecutor(max_workers=2) as pool:
        return list(pool.map(send, browsers))


@pytest.mark.django_db(transaction=True)
def test_two_sendings_at_once_make_one_order():
    LaboratoryFactory.create()
    person = UserFactory.create(roles=["counter"])
    addresses = _twice_at_once(person, "/orders/new/", order_form(ContactFactory.create().pk))
    assert addresses == [f"/orders/{Order.objects.get().number}/"] * 2


@pytest.mark.django_db(transaction=True)
def test_two_sendings_at_once_register_one_parcel():
    LaboratoryFactory.create()
    person, line = UserFactory.create(roles=["counter"]), OrderLineFactory.create()
    row = ITEM | {"order_line": str(line.pk), "place": str(PlaceFactory.create().pk)}
    addresses = _twice_at_once(person, f"/orders/{line.order.number}/receive/", parcel_form(row))
    assert addresses == [f"/orders/{line.order.number}/?receipt={Receipt.objects.get().pk}"] * 2
    assert Specimen.objects.count() == 3

"""Clients and the people there."""

import pytest

from labsite.ledger.queries import entries_about
from labsite.ledger.refusals import Refused
from specimens.actions.clients import add_client, add_contact, change_client, change_contact
from specimens.models import Client
from tests.factories.ledger import NOON
from tests.factories.specimens import ClientFactory, ContactFactory

pytestmark = pytest.mark.django_db

FACTS = {"name": "Rosalind Fittings Ltd", "address": "Harbour Road 1", "country": "", "remarks": ""}
CONTACT = {"contact_name": "Aoife Brannigan", "contact_email": "a@example.test", "contact_phone": ""}


def test_a_client_comes_with_a_first_contact(person):
    client = add_client(by=person("counter"), at=NOON, **FACTS, **CONTACT)
    assert client.contacts.get().name == "Aoife Brannigan"
    assert [entry.act for entry in entries_about(client.book)] == ["entered the client"]


def test_the_same_client_is_not_entered_twice(person):
    add_client(by=person("counter"), at=NOON, **FACTS, **CONTACT)
    with pytest.raises(Refused, match="is entered already"):
        add_client(by=person("counter"), at=NOON, **FACTS | {"name": "ROSALIND fittings ltd"}, **CONTACT)
    assert Client.objects.count() == 1


def test_the_second_editor_is_told_who_changed_what(person):
    client = ClientFactory.create(**FACTS)
    first = person("counter", full_name="Tuula Lehtinen")
    change_client(by=first, at=NOON, client=client, version=1, **FACTS | {"address": "Quay 9"})
    with pytest.raises(Refused) as refusal:
        change_client(by=person("counter"), at=NOON, client=client, version=1, **FACTS | {"name": "Rosalind Ltd"})
    assert refusal.value.sentence == (
        "Tuula Lehtinen changed this client at 11:00 on 10 Mar, while you typed (address: Harbour Road 1 → Quay 9). "
        "Your typing is kept below; keep it again to put it in place of theirs."
    )
    client.refresh_from_db()
    assert (client.name, client.address, client.version) == ("Rosalind Fittings Ltd", "Quay 9", 2)


def test_contacts_are_added_and_changed_with_an_entry(person):
    by, contact = person("counter"), ContactFactory.create()
    add_contact(by=by, at=NOON, client=contact.client, name="Bo", email="", phone="")
    change_contact(by=by, at=NOON, contact=contact, version=1, name="Ann", email="", phone="+00")
    contact.refresh_from_db()
    assert (contact.name, contact.phone) == ("Ann", "+00")
    assert [entry.act for entry in entries_about(contact.client.book)] == ["entered a contact", "changed a contact"]
    with pytest.raises(Refused, match="changed this client at"):
        change_contact(by=by, at=NOON, contact=contact, version=1, name="Eve", email="", phone="")

"""What is done about clients and the people there."""

from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from labsite.ledger.actions import record_entry
from labsite.ledger.models import User
from labsite.ledger.queries import entries_about
from labsite.ledger.refusals import Refused
from specimens.domain.entry_words import entry_words
from specimens.models import Client, Contact


@transaction.atomic
def add_client(
    *,
    by: User,
    at: datetime,
    name: str,
    address: str,
    country: str,
    remarks: str,
    contact_name: str,
    contact_email: str,
    contact_phone: str,
) -> Client:
    """Enter a client with the first person to talk to."""
    if Client.objects.filter(name__iexact=name, address=address).exists():
        raise Refused(f"“{name}” at this address is entered already; look it up under Clients.", field="name")
    client = Client.objects.create(name=name, address=address, country=country, remarks=remarks)
    contact = Contact.objects.create(client=client, name=contact_name, email=contact_email, phone=contact_phone)
    after = _client(client) | {"contact": _contact(contact)}
    record_entry(book=client.book, act="entered the client", by=by, at=at, data={"after": after})
    return client


@transaction.atomic
def change_client(
    *, by: User, at: datetime, client: Client, version: int, name: str, address: str, country: str, remarks: str
) -> Client:
    """Change a client's facts; certificates already issued keep the old ones. Refused when someone was quicker."""
    client = _locked(client, version)
    before = _client(client)
    client.name, client.address, client.country, client.remarks = name, address, country, remarks
    client.version += 1
    client.save()
    data = {"before": before, "after": _client(client)}
    record_entry(book=client.book, act="changed the client", by=by, at=at, data=data)
    return client


@transaction.atomic
def add_contact(*, by: User, at: datetime, client: Client, name: str, email: str, phone: str) -> Contact:
    """Enter one more person at a client's."""
    contact = Contact.objects.create(client=client, name=name, email=email, phone=phone)
    record_entry(book=client.book, act="entered a contact", by=by, at=at, data={"after": _contact(contact)})
    return contact


@transaction.atomic
def change_contact(
    *, by: User, at: datetime, contact: Contact, version: int, name: str, email: str, phone: str
) -> Contact:
    """Change a person at a client's; `version` is the client's. Refused when someone was quicker."""
    client = _locked(contact.client, version)
    contact = Contact.objects.select_for_update().get(pk=contact.pk)
    before = _contact(contact)
    contact.name, contact.email, contact.phone = name, email, phone
    contact.save()
    client.version += 1
    client.save(update_fields=["version"])
    data = {"before": before, "after": _contact(contact)}
    record_entry(book=client.book, act="changed a contact", by=by, at=at, data=data)
    return contact


def _locked(client: Client, version: int) -> Client:
    """The client's row, locked; refused with who changed what when it is not the one the form was opened with."""
    client = Client.objects.select_for_update().get(pk=client.pk)
    if client.version == version:
        return client
    last = entries_about(client.book).last()
    if last is None:
        raise Refused("Somebody changed this client while you typed. Your typing is kept; compare, then keep it again.")
    when = timezone.localtime(last.at)
    raise Refused(
        f"{last.by} changed this client at {when:%H:%M} on {when.day} {when:%b}, while you typed "
        f"({entry_words(last.data)}). Your typing is kept below; keep it again to put it in place of theirs."
    )


def _client(client: Client) -> dict[str, Any]:
    return {"name": client.name, "address": client.address, "country": client.country, "remarks": client.remarks}


def _contact(contact: Contact) -> dict[str, Any]:
    return {"name": contact.name, "mail": contact.email, "phone": contact.phone}

"""Making and revoking the secret addresses under which calendars read the due days."""

import secrets
from datetime import datetime

from django.db import transaction

from calibration.models import CalendarAddress
from calibration.queries.calendars import KEEPERS, secret_sha256
from labsite.ledger.actions import record_entry
from labsite.ledger.models import User
from labsite.ledger.refusals import Refused

MOST = 5
"""So many addresses in use a person may have: one for each calendar they read."""


@transaction.atomic
def make_calendar_address(*, by: User, at: datetime) -> tuple[CalendarAddress, str]:
    """Make an address for the person; its secret is returned here and known nowhere else afterwards."""
    person = User.objects.select_for_update().get(pk=by.pk)
    if person.calendar_addresses.filter(revoked_at=None).count() >= MOST:
        raise Refused(f"You have {MOST} calendar addresses in use. Revoke one of them first.")
    secret = secrets.token_urlsafe(32)
    address = CalendarAddress.objects.create(person=person, secret_sha256=secret_sha256(secret), made_at=at)
    record_entry(book=_book(person), act="made a calendar address", by=by, at=at, data={"address": address.pk})
    return address, secret


@transaction.atomic
def revoke_calendar_address(*, by: User, at: datetime, address: CalendarAddress) -> CalendarAddress:
    """End an address at once; its owner, an administrator and the quality keeper may."""
    address = CalendarAddress.objects.select_for_update(of=("self",)).select_related("person").get(pk=address.pk)
    if address.person_id != by.pk and not by.may(*KEEPERS):
        raise Refused("This calendar address belongs to somebody else.")
    if address.revoked_at is not None:
        raise Refused("This calendar address is already revoked.")
    address.revoked_at, address.revoked_by = at, by
    address.save(update_fields=["revoked_at", "revoked_by"])
    data = {"address": address.pk}
    record_entry(book=_book(address.person), act="revoked a calendar address", by=by, at=at, data=data)
    return address


def note_reading(address: CalendarAddress, *, at: datetime) -> None:
    """Keep when the address was last read; no act of a person, so no entry."""
    CalendarAddress.objects.filter(pk=address.pk).update(last_read_at=at)


def _book(person: User) -> str:
    return f"person:{person.username}"

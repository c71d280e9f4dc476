"""Calendar addresses: whose they are, and which one a secret opens."""

import hashlib

from django.db.models import F, QuerySet

from calibration.models import CalendarAddress
from labsite.ledger.models import Role, User

KEEPERS = (Role.ADMINISTRATOR, Role.QUALITY)
"""They revoke anybody's address."""


def secret_sha256(secret: str) -> str:
    """What is kept of a secret."""
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()


def address_opened_by(secret: str) -> CalendarAddress | None:
    """The address a secret opens: not revoked, and its person still signs in here; None for any other."""
    live = CalendarAddress.objects.filter(revoked_at=None, person__is_active=True)
    return live.filter(secret_sha256=secret_sha256(secret)).select_related("person").first()


def addresses_shown_to(person: User) -> QuerySet[CalendarAddress]:
    """The addresses somebody may revoke: their own, or all of them; those in use first, newest first."""
    addresses = CalendarAddress.objects.select_related("person", "revoked_by")
    shown = addresses if person.may(*KEEPERS) else addresses.filter(person=person)
    return shown.order_by(F("revoked_at").desc(nulls_first=True), "-made_at", "-pk")

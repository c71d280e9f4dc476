"""Confirming an edition's figures against the laboratory's own copy of the standard."""

from datetime import datetime

from django.db import transaction

from labsite.ledger.actions import record_entry
from labsite.ledger.models import Role, User
from labsite.ledger.refusals import Refused
from trials.models import EditionConfirmation
from trials.queries.methods import edition_by_key, parameters_sha256


@transaction.atomic
def confirm_edition(*, method_key: str, seen_sha256: str, note: str, by: User, at: datetime) -> EditionConfirmation:
    """Record that a lead compared exactly the figures shown (`seen_sha256`) with the laboratory's copy."""
    edition = edition_by_key(method_key)
    if not by.may(Role.LEAD):
        raise Refused("Only a lead confirms the figures of an edition.")
    present = parameters_sha256(edition)
    if seen_sha256 != present:
        raise Refused("The figures changed since this page was opened. They are shown anew below; compare them again.")
    row = EditionConfirmation.objects.create(
        method_key=method_key, parameters_sha256=present, confirmed_at=at, confirmed_by=by, note=note.strip()
    )
    data = {"after": {"figures": present, "standard": edition.standard, "note": row.note}}
    record_entry(book=f"method:{method_key}", act="confirmed the edition", by=by, at=at, data=data)
    return row

"""Handing items and specimens over: every change of hands is a record."""

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction

from labsite.ledger.actions import record_entry
from labsite.ledger.models import Place, User
from labsite.ledger.refusals import Refused
from specimens.models import Custody, Item, Specimen


@transaction.atomic
def hand_over(
    *,
    by: User,
    at: datetime,
    item: Item | None = None,
    specimens: Iterable[Specimen] = (),
    place: Place | None = None,
    person: User | None = None,
    note: str = "",
) -> None:
    """Hand an item, specimens of one order, or both, to a place or to a person, with an entry in the order's book."""
    pieces = list(specimens)
    if (place is None) == (person is None):
        raise Refused("Choose a place or a person: one of the two, not both.", field="place")
    if item is None and not pieces:
        raise Refused("There is nothing to hand over.")
    orders = {specimen.order_line.order for specimen in pieces} | ({item.receipt.order} if item else set())
    if len(orders) != 1:
        raise Refused("Hand over pieces of one order at a time.")
    if item is not None:
        Custody.objects.create(item=item, place=place, person=person, at=at, by=by, note=note)
    note_custody(specimens=pieces, by=by, at=at, place=place, person=person, note=note)
    numbers = ([item.number] if item else []) + [specimen.number for specimen in pieces]
    holder = {"place": place.code} if place is not None else {"person": str(person)}
    data = {"pieces": numbers, "after": {**holder, "note": note}}
    record_entry(book=orders.pop().book, act="handed over", by=by, at=at, data=data)


def note_custody(
    *,
    specimens: Iterable[Specimen],
    by: User,
    at: datetime,
    place: Place | None = None,
    person: User | None = None,
    note: str = "",
) -> None:
    """Write where specimens are from now on, as part of another act that writes its own entry in the ledger."""
    Custody.objects.bulk_create(
        Custody(specimen=specimen, place=place, person=person, at=at, by=by, note=note) for specimen in specimens
    )

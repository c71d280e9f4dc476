"""Reads every app needs: the laboratory, its places, the people, the entries about a thing."""

from collections.abc import Iterator
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from labsite.ledger.domain import Link, chain_faults
from labsite.ledger.models import Book, Entry, Laboratory, Place, Role, User
from labsite.ledger.refusals import Refused

REGISTER = "register"
"""The book that lists all other books, so that a whole missing book is noticed."""


def laboratory_or_none() -> Laboratory | None:
    """The laboratory, or None before the first run is finished."""
    return Laboratory.objects.filter(pk=1).first()


def the_laboratory() -> Laboratory:
    """The laboratory; refused with a sentence before the first run is finished."""
    found = laboratory_or_none()
    if found is None:
        raise Refused("The laboratory’s name and zone are not set yet; an administrator sets them on the first page.")
    return found


def laboratory_zone() -> ZoneInfo:
    """The zone in which this laboratory's days begin and end."""
    return the_laboratory().zone_info


def laboratory_day(at: datetime) -> date:
    """The calendar day at the laboratory at the instant `at`."""
    return at.astimezone(laboratory_zone()).date()


def places_of_kind(kind: Place.Kind) -> QuerySet[Place]:
    """Places in use of one kind, by code."""
    return Place.objects.filter(kind=kind, in_use=True).order_by("code")


def places_in_use() -> QuerySet[Place]:
    """All places in use, by code."""
    return Place.objects.filter(in_use=True).order_by("code")


def people_in_role(role: Role) -> QuerySet[User]:
    """Active people who hold `role`, by name."""
    return User.objects.filter(is_active=True, role_holdings__role=role).order_by("full_name")


def entries_about(book: str) -> QuerySet[Entry]:
    """The entries of one book, oldest first."""
    return Entry.objects.filter(book__name=book).select_related("by", "book").order_by("sequence")


def ledger_faults() -> Iterator[str]:
    """One sentence for each fault in any chain, and for each book the register does not know."""
    registered = {entry["book"] for entry in Entry.objects.filter(book__name=REGISTER).values_list("data", flat=True)}
    books = {book.name: book for book in Book.objects.all()}
    for name in sorted(registered - books.keys()):
        yield f"{name}: the whole book is missing."
    for name in sorted(books.keys() - registered - {REGISTER}):
        yield f"{name}: the book was never entered in the register."
    for name in sorted(books):
        book = books[name]
        yield from chain_faults(name, _links(book), length=book.length, head=book.head)


def _links(book: Book) -> Iterator[Link]:
    entries = Entry.objects.filter(book=book).select_related("by").order_by("sequence").iterator(chunk_size=2000)
    for entry in entries:
        yield Link(
            book=book.name,
            sequence=entry.sequence,
            at=entry.at,
            by=entry.by.username,
            act=entry.act,
            data=entry.data,
            previous_hash=entry.previous_hash,
            hash=entry.hash,
        )

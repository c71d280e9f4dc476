"""What every action of every app uses: an entry in the ledger, a number from a series, a file kept."""

import hashlib
from datetime import datetime
from typing import Any

from django.db import transaction

from labsite.ledger.domain import link_hash
from labsite.ledger.models import Book, Entry, Series, StoredFile, User
from labsite.ledger.queries import REGISTER


def record_entry(*, book: str, act: str, by: User, at: datetime, data: dict[str, Any] | None = None) -> Entry:
    """Append one entry to the chain of `book`. Call it inside the action's own transaction.

    `data` holds before and after values as text, numbers, lists or objects that JSON knows.
    """
    with transaction.atomic():
        return _append(_locked_book(book, by=by, at=at), act=act, by=by, at=at, data=data or {})


def _locked_book(name: str, *, by: User, at: datetime) -> Book:
    book, opened = Book.objects.get_or_create(name=name)
    if opened and name != REGISTER:
        _append(_locked_book(REGISTER, by=by, at=at), act="opened a book", by=by, at=at, data={"book": name})
    return Book.objects.select_for_update().get(pk=book.pk)


def _append(book: Book, *, act: str, by: User, at: datetime, data: dict[str, Any]) -> Entry:
    sequence = book.length + 1
    digest = link_hash(book.name, sequence, at, by.username, act, data, book.head)
    entry = Entry.objects.create(
        book=book, sequence=sequence, at=at, by=by, act=act, data=data, previous_hash=book.head, hash=digest
    )
    book.length, book.head = sequence, digest
    book.save(update_fields=["length", "head"])
    return entry


def take_next(series: str, *, count: int = 1) -> int:
    """Take `count` numbers of a series and return the first; parallel takers wait for each other.

    Call it inside the action's transaction: numbers of a transaction that fails were never shown to anyone.
    """
    with transaction.atomic():
        Series.objects.get_or_create(name=series)
        row = Series.objects.select_for_update().get(name=series)
        first = row.last + 1
        row.last += count
        row.save(update_fields=["last"])
        return first


def keep_file(*, name: str, media_type: str, content: bytes, by: User, at: datetime) -> StoredFile:
    """Keep a file byte for byte; its fingerprint goes into the caller's ledger entry."""
    return StoredFile.objects.create(
        name=_safe_name(name),
        media_type=media_type,
        size=len(content),
        sha256=hashlib.sha256(content).hexdigest(),
        content=content,
        by=by,
        at=at,
    )


def _safe_name(name: str) -> str:
    """A name without control characters or folders; only shown and offered at download, never a path."""
    plain = "".join(character for character in name if character.isprintable() and character not in "/\\")
    return plain.strip()[-255:] or "file"

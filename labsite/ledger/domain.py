"""The arithmetic of the ledger: what is hashed, and how a broken chain is recognised."""

import hashlib
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any


@dataclass(frozen=True, slots=True)
class Link:
    """One entry as it is hashed."""

    book: str
    sequence: int
    at: datetime
    by: str
    act: str
    data: dict[str, Any]
    previous_hash: str
    hash: str


def link_hash(book: str, sequence: int, at: datetime, by: str, act: str, data: dict[str, Any], previous: str) -> str:
    """SHA-256 over the canonical JSON of an entry and the hash before it, in hexadecimal.

    The moment is written in UTC to the microsecond, so that both databases give the same text.
    """
    body = {
        "book": book,
        "sequence": sequence,
        "at": at.astimezone(UTC).isoformat(timespec="microseconds"),
        "by": by,
        "act": act,
        "data": data,
        "previous": previous,
    }
    text = json.dumps(body, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def chain_faults(book: str, links: Iterable[Link], *, length: int, head: str) -> Iterator[str]:
    """One sentence for each thing wrong with a chain: changed, missing, swapped or cut off.

    `links` come in the order of their sequence numbers; `length` and `head` are what the book says of itself.
    """
    expected, previous, last_hash = 1, "", ""
    for link in links:
        if link.sequence != expected:
            missing = (
                f"entry {expected}" if link.sequence == expected + 1 else f"entries {expected} to {link.sequence - 1}"
            )
            yield f"{book}: {missing} missing before entry {link.sequence} ({link.act})."
        elif link.previous_hash != previous:
            before = link.sequence - 1
            yield f"{book}: entry {link.sequence} ({link.act}) does not follow entry {before}: swapped or replaced."
        found = link_hash(link.book, link.sequence, link.at, link.by, link.act, link.data, link.previous_hash)
        if found != link.hash:
            yield f"{book}: entry {link.sequence} ({link.act}) was changed after it was written."
        expected, previous, last_hash = link.sequence + 1, link.hash, link.hash
    if expected - 1 < length:
        yield f"{book}: entries {expected} to {length} missing at the end."
    elif expected - 1 > length:
        yield f"{book}: {expected - 1 - length} entries more than the book was told of."
    elif last_hash != head:
        yield f"{book}: the last entry is not the one the book ended with."

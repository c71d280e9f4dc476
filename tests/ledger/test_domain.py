"""The hash chain. Its digest is checked against hashlib over the documented canonical text."""

import hashlib
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

from hypothesis import given
from hypothesis import strategies as st

from labsite.ledger.domain import Link, chain_faults, link_hash

AT = datetime(2026, 3, 10, 11, 0, tzinfo=UTC)


def chain(length: int, book: str = "order:1") -> list[Link]:
    links: list[Link] = []
    for sequence in range(1, length + 1):
        previous = links[-1].hash if links else ""
        at, data = AT + timedelta(minutes=sequence), {"n": str(sequence)}
        digest = link_hash(book, sequence, at, "ida", "wrote", data, previous)
        links.append(Link(book, sequence, at, "ida", "wrote", data, previous, digest))
    return links


def faults(links: list[Link], length: int, head: str) -> list[str]:
    return list(chain_faults("order:1", links, length=length, head=head))


def test_hash_is_sha256_of_the_canonical_text():
    text = (
        '{"act":"wrote","at":"2026-03-10T11:00:00.000000+00:00",'
        '"book":"order:1","by":"ida","data":{"a":"ä"},"previous":"","sequence":1}'
    )
    assert link_hash("order:1", 1, AT, "ida", "wrote", {"a": "ä"}, "") == hashlib.sha256(text.encode()).hexdigest()


def test_hash_does_not_depend_on_the_zone_the_moment_is_written_in():
    elsewhere = AT.astimezone(timezone(timedelta(hours=5, minutes=30)))
    assert link_hash("b", 1, AT, "i", "a", {}, "") == link_hash("b", 1, elsewhere, "i", "a", {}, "")


@given(st.integers(0, 8))
def test_whole_chain_has_no_fault(length):
    links = chain(length)
    assert faults(links, length, links[-1].hash if links else "") == []


@given(st.integers(3, 8), st.data())
def test_a_changed_entry_is_named(length, data):
    links = chain(length)
    place = data.draw(st.integers(0, length - 1))
    links[place] = replace(links[place], data={"n": "forged"})
    assert faults(links, length, links[-1].hash) == [
        f"order:1: entry {place + 1} (wrote) was changed after it was written."
    ]


@given(st.integers(3, 8), st.data())
def test_a_missing_entry_is_named(length, data):
    links = chain(length)
    head = links[-1].hash
    place = data.draw(st.integers(0, length - 2))
    del links[place]
    assert faults(links, length, head) == [f"order:1: entry {place + 1} missing before entry {place + 2} (wrote)."]


def test_missing_entries_at_the_end_are_named():
    links = chain(5)
    assert faults(links[:3], 5, links[-1].hash) == ["order:1: entries 4 to 5 missing at the end."]


def test_swapped_entries_are_named():
    links = chain(4)
    second, third = links[1], links[2]
    links[1], links[2] = replace(third, sequence=2), replace(second, sequence=3)
    found = faults(links, 4, links[-1].hash)
    assert found[0] == "order:1: entry 2 (wrote) does not follow entry 1: swapped or replaced."
    assert "order:1: entry 2 (wrote) was changed after it was written." in found


def test_a_replaced_last_entry_is_noticed_by_the_books_head():
    links = chain(3)
    forged = link_hash("order:1", 3, AT, "eve", "wrote", {}, links[1].hash)
    head = links[-1].hash
    links[2] = Link("order:1", 3, AT, "eve", "wrote", {}, links[1].hash, forged)
    assert faults(links, 3, head) == ["order:1: the last entry is not the one the book ended with."]

"""Ledger entries in plain words: one act a line, the many acts of one trial as one line."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from labsite.ledger.numbering import grouped, read_number

LONGEST = 400
"""Of more letters than this the rest opens on request."""
MANY = 2
"""Of more numbers than this only the first and the last are written."""
_HASH = re.compile(r"[0-9a-f]{64}")
_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d.*")
_PIECE = re.compile(r"[0-9]{10}")
_DAY = re.compile(r"\d{4}-\d\d-\d\d")
_FOR_MACHINES = frozenset({"authorisation", "looked at", "rule version", "sha256", "keys", "outcome"})
"""Members of an entry that say nothing to a reader; they stay in the ledger."""


@dataclass(frozen=True, slots=True)
class EntryFact:
    """One entry of a book as it was written."""

    at: datetime
    by: str
    act: str
    data: dict[str, Any]


@dataclass(frozen=True, slots=True)
class EntryRow:
    """One act, or the acts of one person on one trial, in plain words."""

    at: datetime
    by: str
    act: str
    words: str

    @property
    def head(self) -> str:
        """The words, or as many as fit into `LONGEST` letters."""
        return self._parted[0]

    @property
    def rest(self) -> str:
        """What the head leaves out; empty where nothing is."""
        return self._parted[1]

    @property
    def _parted(self) -> tuple[str, str]:
        if len(self.words) <= LONGEST:
            return self.words, ""
        end = max(self.words.rfind(" ", 0, LONGEST), LONGEST // 2)
        return self.words[:end], self.words[end:].lstrip()


@dataclass(frozen=True, slots=True)
class Reading:
    """How values are read: `names` gives words for keys such as a method edition's, `zone` where moments are told."""

    names: Mapping[str, str]
    zone: ZoneInfo


def entry_rows(entries: Sequence[EntryFact], reading: Reading) -> list[EntryRow]:
    """Return the entries in their order; neighbours by one person on one trial are one row with each act once."""
    rows = []
    for (trial, by), group in groupby(entries, key=lambda one: (one.data.get("trial"), one.by)):
        many = list(group)
        if trial is None or len(many) == 1:
            rows += [EntryRow(one.at, one.by, one.act, entry_words(one.data, reading)) for one in many]
            continue
        acts = dict.fromkeys(one.act for one in many)
        counts = {act: sum(one.act == act for one in many) for act in acts}
        told = "; ".join(act if counts[act] == 1 else f"{act}, {counts[act]} times" for act in acts)
        rows.append(EntryRow(many[0].at, by, told, f"trial {trial}, until {_moment(many[-1].at, reading)}"))
    return rows


def entry_words(data: dict[str, Any], reading: Reading | None = None) -> str:
    """Return the values after an act, and where both are given only those that changed, with the old one beside.

    With a `reading`, keys and moments are told in words and what only machines read is left out.
    """
    before, after = data.get("before"), data.get("after")
    if isinstance(before, dict) and isinstance(after, dict):
        changed = {
            key: f"{_plain(before.get(key), reading)} → {_plain(value, reading)}"
            for key, value in after.items()
            if before.get(key) != value
        }
        rest = {key: value for key, value in data.items() if key not in ("before", "after")}
        words = "; ".join(_pairs({**changed, **rest}, reading))
    else:
        words = "; ".join(_pairs({**data, **after} if isinstance(after, dict) else data, reading, skip="after"))
    return words


def _pairs(data: dict[str, Any], reading: Reading | None, skip: str = "") -> Iterator[str]:
    for key, value in data.items():
        words = _plain(value, reading)
        if key != skip and words and not (reading and key in _FOR_MACHINES):
            yield f"{key.replace('_', ' ') if reading else key}: {words}"


def _plain(value: Any, reading: Reading | None) -> str:
    if isinstance(value, dict):
        return ", ".join(_pairs(value, reading))
    if isinstance(value, list):
        if len(value) > MANY and all(isinstance(part, str) and part.isdigit() for part in value):
            return f"{_plain(value[0], reading)} to {_plain(value[-1], reading)} ({len(value)})"
        return " | ".join(_plain(part, reading) for part in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    text = "" if value is None else str(value)
    return text if reading is None else _read(text, reading)


def _read(text: str, reading: Reading) -> str:
    if _HASH.fullmatch(text):
        return ""
    if _MOMENT.fullmatch(text) or _DAY.fullmatch(text):
        try:
            at = datetime.fromisoformat(text)
        except ValueError:
            return text
        if at.tzinfo is not None:
            return _moment(at, reading)
        return f"{at.day} {at:%b %Y}" if _DAY.fullmatch(text) else text
    return reading.names.get(text) or _grouped(text)


def _grouped(text: str) -> str:
    """A piece's number as people read it; any other text as it is."""
    if not _PIECE.fullmatch(text):
        return text
    try:
        return "-".join(grouped(read_number(text).digits))
    except ValueError:
        return text


def _moment(at: datetime, reading: Reading) -> str:
    local = at.astimezone(reading.zone)
    return f"{local.day} {local:%b %Y %H:%M}"

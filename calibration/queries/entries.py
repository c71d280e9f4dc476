"""What the ledger says about an instrument or a rig, as lines for the foot of its page."""

from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from calibration.domain.status import shown
from labsite.ledger.queries import entries_about


@dataclass(frozen=True, slots=True)
class LedgerLine:
    """One entry: when, who, what, and the detail that matters."""

    at: datetime
    by: str
    act: str
    detail: str


def ledger_lines(book: str, at: datetime) -> list[LedgerLine]:
    """The entries of a book up to `at`, latest first; one read."""
    entries = entries_about(book).filter(at__lte=at)
    lines = [LedgerLine(entry.at, str(entry.by), entry.act, _detail(entry.data)) for entry in entries]
    return lines[::-1]


def _detail(data: dict[str, Any]) -> str:
    before, after = data.get("before"), data.get("after")
    if isinstance(before, dict) and isinstance(after, dict):
        changed = sorted(name for name in after if after[name] != before.get(name))  # jsonb keeps no order
        changes = [f"{name}: {_value(before.get(name))} → {_value(after[name])}" for name in changed]
        return "; ".join(changes + _named(data))
    if "rig" in data:
        return f"{data['instrument']}, {data['rig']}"
    return "; ".join(_named(after if isinstance(after, dict) else data))


def _named(facts: dict[str, Any]) -> list[str]:
    named = ("calibrated on", "certificate number", "happened on", "check", "sentence", "reason")
    return [f"{name}: {_value(facts[name])}" for name in named if facts.get(name)]


def _value(value: object) -> str:
    words = {True: "yes", False: "no", "": "nothing", None: "nothing"}
    if isinstance(value, (bool, str, type(None))) and value in words:
        return words[value]
    with suppress(ValueError):
        if isinstance(value, str) and len(value) == len("2026-03-02"):
            return shown(date.fromisoformat(value))
    return str(value)

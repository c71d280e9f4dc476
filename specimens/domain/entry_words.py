"""A ledger entry's data as one line of plain words."""

from collections.abc import Iterator
from typing import Any

LONGEST = 400
MANY = 2
"""Of more numbers than this only the first and the last are written."""


def entry_words(data: dict[str, Any]) -> str:
    """The values after an act, and where both are given only those that changed, with the old one beside."""
    before, after = data.get("before"), data.get("after")
    if isinstance(before, dict) and isinstance(after, dict):
        changed = {
            key: f"{_plain(before.get(key))} → {_plain(value)}"
            for key, value in after.items()
            if before.get(key) != value
        }
        rest = {key: value for key, value in data.items() if key not in ("before", "after")}
        words = "; ".join(_pairs({**changed, **rest}))
    else:
        words = "; ".join(_pairs({**data, **after} if isinstance(after, dict) else data, skip="after"))
    return words if len(words) <= LONGEST else f"{words[: LONGEST - 1]}…"


def _pairs(data: dict[str, Any], skip: str = "") -> Iterator[str]:
    for key, value in data.items():
        words = _plain(value)
        if key != skip and words:
            yield f"{key}: {words}"


def _plain(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(_pairs(value))
    if isinstance(value, list):
        if len(value) > MANY and all(isinstance(part, str) and part.isdigit() for part in value):
            return f"{value[0]} to {value[-1]} ({len(value)})"
        return " | ".join(_plain(part) for part in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else str(value)

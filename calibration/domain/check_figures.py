"""Figures a method gives for a check, offered to whoever plans it."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class CheckFigures:
    """What a reading is to be, which errors are allowed, and whose figures these are; `rig_kind` is the rig's word."""

    kind: str
    rig_kind: str
    reference: Decimal
    error_low: Decimal | None
    error_high: Decimal | None
    unit: str
    source: str


def merged_figures(figures: Iterable[CheckFigures]) -> tuple[CheckFigures, ...]:
    """Return the figures with equal ones as one that names all their sources, in the order they came."""
    merged: dict[CheckFigures, list[str]] = {}
    for one in figures:
        sources = merged.setdefault(replace(one, source=""), [])
        if one.source not in sources:
            sources.append(one.source)
    return tuple(replace(one, source=", ".join(sources)) for one, sources in merged.items())

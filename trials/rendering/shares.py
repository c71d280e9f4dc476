"""What each row of an uncertainty budget contributes, drawn as bars."""

from collections.abc import Sequence
from decimal import Decimal

from calibration.domain.budgets import Share
from calibration.domain.rounding import rounded
from labsite.ledger import svg

_ROW, _TOP, _LEFT, _LONGEST = 26.0, 16.0, 34.0, 56.0
_NAME_CHARACTERS = 30


def share_bars(shares: Sequence[Share]) -> str:
    """One bar a row, the largest first, as long as its part of the combined variance."""
    ordered = sorted(shares, key=lambda one: one.part, reverse=True)
    parts = []
    for index, one in enumerate(ordered):
        y = _TOP + index * _ROW
        end = _LEFT + float(one.part) * _LONGEST
        parts.append(svg.text(_short(one.row.name), _LEFT, y + 4, "end", dx=-8))
        parts.append(svg.line("busy", _LEFT, y, max(end, _LEFT + 0.3), y))
        parts.append(svg.text(_percent(one.part), max(end, _LEFT + 0.3), y + 4, "strong", dx=6))
    height = _TOP + len(ordered) * _ROW
    words = ", ".join(f"{one.row.name} {_percent(one.part)}" for one in ordered)
    return svg.plot("".join(parts), height=height, label=f"Shares of the variance: {words}.")


def _percent(part: Decimal) -> str:
    percent = part * 100
    if 0 < percent < Decimal("0.1"):
        return "below 0.1 %"
    return f"{rounded(percent, Decimal('0.1'))} %"


def _short(name: str) -> str:
    return name if len(name) <= _NAME_CHARACTERS else f"{name[: _NAME_CHARACTERS - 1]}…"

"""Who was inside a chamber, as bars: hours that count are solid, the rest hatched, a tick where they were enough."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from specimens.domain.conditioning import Stretch
from specimens.domain.conditioning_words import duration_text
from specimens.rendering.climate_axis import LabelRows, WallAxis
from specimens.rendering.climate_ink import LABEL_PERCENT, ScreenInk

_ROW_PX, _BAR_PX = 34.0, 10.0


@dataclass(frozen=True, slots=True)
class StayBar:
    """One set's time inside; `not_counted` None where no hour of it counts."""

    words: str
    in_at: datetime
    out_at: datetime | None
    not_counted: Sequence[Stretch] | None
    ready_at: datetime | None
    needed_s: float


def stays_drawing(
    bars: Sequence[StayBar], from_at: datetime, until_at: datetime, zone: ZoneInfo, *, now: datetime
) -> str:
    """The bars of a window as SVG text for a page."""
    ink, axis = ScreenInk(), WallAxis(from_at, until_at, zone)
    body = "".join(_bar(ink, axis, bar, row * _ROW_PX + 8, min(now, until_at)) for row, bar in enumerate(bars))
    height = len(bars) * _ROW_PX + 6
    if from_at <= now <= until_at:
        body += ink.line("knotline", axis.x(now), 0, axis.x(now), height - 6)
    return ink.whole(body, height=height, label="Who was inside, and which hours count")


def _bar(ink: ScreenInk, axis: WallAxis, bar: StayBar, top: float, now: datetime) -> str:
    x1, x2 = axis.x(bar.in_at), axis.x(min(bar.out_at or now, now))
    parts = [ink.line("axis thin", 0, top + _BAR_PX / 2, x1, top + _BAR_PX / 2)] if x1 > 0 else []
    parts.append(ink.rect("solid", x1, top, x2, _BAR_PX))
    holes = (
        [(x1, x2)] if bar.not_counted is None else [(axis.x(s.from_at), axis.x(s.until_at)) for s in bar.not_counted]
    )
    for begin, end in holes:
        left, right = max(begin, x1), min(max(end, begin + 0.2), x2)
        if right > left:
            parts.append(ink.rect("paper", left, top - 3, right, _BAR_PX + 6))
            parts.append(ink.rect("hatched", left, top, right, _BAR_PX))
    y, rows = top + 25, LabelRows()
    start = max(0.0, min(x1, 100 - len(bar.words) * LABEL_PERCENT - 1))
    rows.take(y, start, start + len(bar.words) * LABEL_PERCENT + 1)
    parts.append(ink.text(bar.words, start, y))
    if bar.ready_at is not None and bar.needed_s and axis.from_at <= bar.ready_at <= axis.until_at:
        x, words = axis.x(bar.ready_at), f"{duration_text(bar.needed_s)} in band"
        parts.append(ink.line("knotline", x, top - 5, x, top + 15))
        found = rows.place(words, x, x, (y,))
        if found is not None:
            parts.append(ink.text(words, found[0], y, f"tiny {found[2]}".strip()))
    return "".join(parts)

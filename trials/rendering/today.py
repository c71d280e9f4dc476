"""The day's line: what becomes ready or due between 08:00 and 18:00 at the laboratory."""

from collections.abc import Sequence
from datetime import datetime

from labsite.ledger.numbering import grouped
from labsite.ledger.svg import TimeAxis, circle, line, plot, text
from trials.queries.queue import QueueRow
from trials.rendering.labels import Labels

FIRST_HOUR, LAST_HOUR = 8, 18
NARROW_PX = 740
_LINE_Y = 62
_LEVELS = (40, 18)


def today_svg(rows: Sequence[QueueRow], now: datetime) -> str:
    """The drawing as SVG; empty when nothing becomes ready or due today, or outside the day's hours."""
    if not rows:
        return ""
    local = now.astimezone(rows[0].work.facts.at.tzinfo)
    start = local.replace(hour=FIRST_HOUR, minute=0, second=0, microsecond=0)
    end = local.replace(hour=LAST_HOUR, minute=0, second=0, microsecond=0)
    moments = (
        sorted((row.urgent_at, row) for row in rows if row.urgent_at is not None and start <= row.urgent_at <= end)
        if start <= local <= end
        else []
    )
    if not moments:
        return ""
    axis, labels = TimeAxis(start, end), Labels(NARROW_PX)
    marks = _hours(axis, local)
    now_x = axis.x(local)
    marks += [
        line("knotline", now_x, 20, now_x, 72),
        labels.place(f"now {local:%H:%M}", now_x, (14,), "strong", anchors="end start", dx=2),
    ]
    for at, row in moments:
        marks += _mark(axis.x(at), at, row, labels)
    words = "; ".join(f"{at:%H:%M} {_words(row)}" for at, row in moments)
    return plot("".join(marks), height=92, label=f"Today from 08:00 to 18:00: {words}")


def _hours(axis: TimeAxis, local: datetime) -> list[str]:
    marks = [
        line("axis thin", axis.x(local), _LINE_Y, 100, _LINE_Y),
        line("knotline", 0, _LINE_Y, axis.x(local), _LINE_Y),
    ]
    for hour in range(FIRST_HOUR, LAST_HOUR + 1):
        x = axis.x(local.replace(hour=hour, minute=0, second=0, microsecond=0))
        even = hour % 2 == 0
        marks.append(line("axis", x, _LINE_Y, x, _LINE_Y + (7 if even else 4)))
        if even:
            side = {FIRST_HOUR: "tiny", LAST_HOUR: "tiny end"}.get(hour, "tiny mid")
            marks.append(text(f"{hour:02d}:00", x, 85, side))
    return marks


def _mark(x: float, at: datetime, row: QueueRow, labels: Labels) -> list[str]:
    loop = '<path class="h-line" d="M-8 13H-1C9 13 12 0 5 0S0 13 9 13H16"/>'
    knot = (
        f'<svg x="{x:.2f}%" y="49" width="1" height="1" overflow="visible">{loop}</svg>'
        if row.is_hand
        else circle("ring", x, _LINE_Y, 4)
    )
    css = "h-text halo" if row.is_hand else "halo"
    return [
        line("grid", x, 22, x, _LINE_Y - 5),
        knot,
        labels.place(f"{at:%H:%M} {_words(row)}", x, _LEVELS, css, dx=3, must=False),
    ]


def _words(row: QueueRow) -> str:
    body, _ = grouped(row.work.line.order.number)
    number = f"{body}/{row.work.line.position}"
    return f"latest for {number}" if row.is_hand else f"{number} ready"

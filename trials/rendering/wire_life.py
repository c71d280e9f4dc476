"""The wear of a wire's tip over time, drawn: its measures, the limits, and when it was cleaned."""

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta, tzinfo
from decimal import Decimal
from itertools import pairwise

from labsite.ledger import svg
from trials.domain.criteria import digits
from trials.domain.wire_life import TipMeasure
from trials.queries.wire_life import WireLife

_TOP, _BOTTOM, _HEIGHT = 20.0, 128.0, 158.0
_NEW = Decimal(100)
_LABEL_APART_PX = 13.0


def wire_plot(life: WireLife, zone: tzinfo) -> str:
    """Share of the first measure over time; dashed lines are the editions' limits, short strokes are cleanings."""
    axis = _axis(life, zone)
    low, high = _span(life)

    def y(percent: Decimal) -> float:
        return _BOTTOM - float((percent - low) / (high - low)) * (_BOTTOM - _TOP)

    parts = [svg.line("axis", 0, y(_NEW), 100, y(_NEW)), svg.text("100 % new", 0, y(_NEW) - 5, "halo", dx=4)]
    parts.extend(_limits(life, y))
    parts.extend(svg.line("grid", axis.x(at), _BOTTOM - 2, axis.x(at), _BOTTOM + 8) for at in life.cleaned)
    points = [(axis.x(one.at), y(one.shown_percent)) for one in life.measures]
    parts.extend(svg.line("knotline", before[0], before[1], after[0], after[1]) for before, after in pairwise(points))
    parts.extend(svg.circle("dot", x, height, 4) for x, height in points)
    if life.measures:
        last = life.measures[-1]
        words = f"{digits(last.shown_percent)} %"
        side = "strong halo end" if axis.x(last.at) > 50 else "strong halo"
        parts.append(svg.text(words, axis.x(last.at), y(last.shown_percent) + 17, side))
    parts.append(svg.text(_day(life.wire.fitted_at, zone), 0, _HEIGHT - 6, "tiny"))
    parts.append(svg.text(_day(axis.end, zone), 100, _HEIGHT - 6, "tiny end"))
    return svg.plot("".join(parts), height=_HEIGHT, label=_in_words(life, zone))


def _axis(life: WireLife, zone: tzinfo) -> svg.TimeAxis:
    end = max(life.at, life.wire.fitted_at + timedelta(hours=1))
    return svg.TimeAxis(life.wire.fitted_at.astimezone(zone), end.astimezone(zone), 2, 98)


def _span(life: WireLife) -> tuple[Decimal, Decimal]:
    shares = [one.shown_percent for one in life.measures] + [one.percent for one in life.limits] + [_NEW]
    room = (max(shares) - min(shares)) * Decimal("0.12") or Decimal(1)
    return min(shares) - room, max(shares) + room


def _limits(life: WireLife, y: Callable[[Decimal], float]) -> Iterator[str]:
    """Each limit with its editions' number; names stand in the sentence below the drawing."""
    for one in life.limits:
        yield svg.line("limit", 0, y(one.percent), 100, y(one.percent))
        words = f"limit {digits(one.percent)} %"
        yield svg.text(words, 0, y(one.percent) + _LABEL_APART_PX, "halo", dx=4)


def _day(at: datetime, zone: tzinfo) -> str:
    local = at.astimezone(zone)
    return f"{local.day} {local:%b %Y}"


def _in_words(life: WireLife, zone: tzinfo) -> str:
    listed = "; ".join(_measure(one, zone) for one in life.measures) or "not measured yet"
    limits = " and ".join(f"{digits(one.percent)} %" for one in life.limits) or "none"
    return f"Tip of wire {life.wire.code} against its first measure: {listed}. Limits: {limits}."


def _measure(one: TipMeasure, zone: tzinfo) -> str:
    return f"{_day(one.at, zone)} {digits(one.shown_percent)} %"

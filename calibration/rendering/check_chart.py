"""A control chart of checks: points in time, what was allowed, where results are expected; struck-out ones hollow."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from itertools import pairwise

from calibration.domain.check_chart import ChartPoint, CheckChart
from calibration.domain.figures import signed
from calibration.domain.rounding import rounded
from calibration.domain.status import shown
from labsite.ledger import svg

_TOP, _BOTTOM, _HEIGHT = 22.0, 214.0, 246.0
_RIGHT_PERCENT = 80.0
_LABEL_STEP = 15.0
_DECIMALS_MORE = 1


@dataclass(frozen=True, slots=True)
class _Line:
    """A level across the chart with the words at its right end."""

    value: Decimal
    css: str
    words: str


@dataclass(frozen=True, slots=True)
class _Scale:
    axis: svg.TimeAxis
    low: Decimal
    high: Decimal

    def y(self, value: Decimal) -> float:
        return _BOTTOM - float((value - self.low) / (self.high - self.low)) * (_BOTTOM - _TOP)


def check_plot(chart: CheckChart, *, title: str) -> str:
    """The chart as SVG, its result in words in the label; empty without points."""
    if not chart.points:
        return ""
    lines = _lines(chart)
    scale = _scale(chart, lines)
    body = [*_field(chart, scale), *_levels(lines, scale), *_marks(chart, scale), *_days(scale)]
    return svg.plot("".join(body), height=_HEIGHT, label=_in_words(chart, title))


def spread(heights: Iterable[float], step: float = _LABEL_STEP) -> list[float]:
    """Heights of labels, given lowest number first, moved apart so that two are never closer than `step` pixels."""
    placed: list[float] = []
    for height in heights:
        placed.append(max(height, placed[-1] + step) if placed else height)
    floor = _BOTTOM + _LABEL_STEP
    for index in reversed(range(len(placed))):
        placed[index] = min(placed[index], floor)
        floor = placed[index] - step
    return placed


def _lines(chart: CheckChart) -> list[_Line]:
    unit = f" {chart.unit}" if chart.unit else ""
    lines = [
        _Line(value, "limit", f"limit {signed(value)}{unit}") for value in (chart.low, chart.high) if value is not None
    ]
    place = _place(chart)
    if chart.control is not None:
        lines.append(_Line(chart.control.centre, "knotline", f"mean {_rounded(chart.control.centre, place)}{unit}"))
        ends = (chart.control.low, chart.control.high)
        lines += [_Line(value, "axis thin", f"control {_rounded(value, place)}{unit}") for value in ends]
    elif chart.known is not None:
        known = chart.known
        lines.append(_Line(known.centre, "knotline", f"certificate {_rounded(known.centre, place)}{unit}"))
        warnings, actions = (known.warning_low, known.warning_high), (known.low, known.high)
        lines += [_Line(value, "axis thin", f"2 u {_rounded(value, place)}{unit}") for value in warnings]
        lines += [_Line(value, "axis", f"3 u {_rounded(value, place)}{unit}") for value in actions]
    return lines


def _place(chart: CheckChart) -> Decimal:
    """One decimal more than the checks have, four at most."""
    exponents = [point.value.as_tuple().exponent for point in chart.points]
    decimals = max(-each if isinstance(each, int) else 0 for each in exponents)
    return Decimal(1).scaleb(-min(max(decimals, 0) + _DECIMALS_MORE, 4))


def _rounded(value: Decimal, place: Decimal) -> str:
    return signed(rounded(value, place))


def _scale(chart: CheckChart, lines: list[_Line]) -> _Scale:
    values = [Decimal(0), *(point.value for point in chart.points), *(line.value for line in lines)]
    low, high = min(values), max(values)
    margin = (high - low) * Decimal("0.08") or Decimal(1)
    first, last = chart.points[0].at, chart.points[-1].at
    room = max(timedelta(hours=12), (last - first) * 0.04)
    return _Scale(svg.TimeAxis(first - room, last + room, 0.0, _RIGHT_PERCENT), low - margin, high + margin)


def _field(chart: CheckChart, scale: _Scale) -> Iterator[str]:
    """What the plan or the permitted error allows; an open side reaches the edge."""
    if chart.low is None and chart.high is None:
        return
    top = _TOP if chart.high is None else scale.y(chart.high)
    bottom = _BOTTOM if chart.low is None else scale.y(chart.low)
    yield svg.rect("field", 0, top, _RIGHT_PERCENT, bottom - top)


def _levels(lines: list[_Line], scale: _Scale) -> Iterator[str]:
    zero = scale.y(Decimal(0))
    yield svg.line("grid", 0, zero, _RIGHT_PERCENT, zero)
    ordered = sorted(lines, key=lambda line: -line.value)
    heights = spread([scale.y(line.value) for line in ordered])
    for line, height in zip(ordered, heights, strict=True):
        y = scale.y(line.value)
        yield svg.line(line.css, 0, y, _RIGHT_PERCENT, y)
        yield svg.line("grid", _RIGHT_PERCENT, y, _RIGHT_PERCENT + 1.5, height)
        yield svg.text(line.words, _RIGHT_PERCENT + 1.5, height + 4, "", dx=4)


def _marks(chart: CheckChart, scale: _Scale) -> Iterator[str]:
    standing = chart.standing
    for earlier, later in pairwise(standing):
        ends = (scale.axis.x(earlier.at), scale.y(earlier.value), scale.axis.x(later.at), scale.y(later.value))
        yield svg.line("axis", *ends)
    for point in chart.points:
        x, y = scale.axis.x(point.at), scale.y(point.value)
        if point.struck:
            yield svg.circle("ring", x, y, 4)
            continue
        if not point.passed:
            yield svg.circle("ring", x, y, 8)
        yield svg.circle("dot", x, y, 4)


def _days(scale: _Scale) -> Iterator[str]:
    yield svg.text(shown(scale.axis.start.date()), 0, _HEIGHT - 6, "tiny")
    yield svg.text(shown(scale.axis.end.date()), _RIGHT_PERCENT, _HEIGHT - 6, "tiny end")


def _in_words(chart: CheckChart, title: str) -> str:
    unit = f" {chart.unit}" if chart.unit else ""
    listed = "; ".join(
        f"{shown(point.at.date())} {signed(point.value)}{unit}, {_said(point)}" for point in chart.points
    )
    return f"{title}. {listed}"


def _said(point: ChartPoint) -> str:
    if point.struck:
        return "struck out"
    return "passed" if point.passed else "failed"

"""The drift of an instrument at one place of its range, drawn from its calibrations."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

from calibration.domain.drift import Drift, Point, Visit
from calibration.domain.figures import signed
from calibration.domain.status import shown
from calibration.domain.units import difference_unit
from labsite.ledger import svg

_TOP, _BOTTOM, _HEIGHT = 26.0, 196.0, 226.0


@dataclass(frozen=True, slots=True)
class _Scale:
    """Maps a day to percent and an error to pixels."""

    axis: svg.TimeAxis
    low: Decimal
    high: Decimal

    def x(self, day: date) -> float:
        return self.axis.x(_start(day))

    def y(self, error: Decimal) -> float:
        return _BOTTOM - float((error - self.low) / (self.high - self.low)) * (_BOTTOM - _TOP)


def drift_plot(drift: Drift, *, code: str, permitted: Decimal | None = None) -> str:
    """Error over time: rings as found, dots as left, a bar for the expanded uncertainty where it is known.

    `permitted` is the largest error permitted at this place, drawn as a field between two lines.
    """
    scale = _scale(drift, permitted)
    zero = scale.y(Decimal(0))
    parts = [*_limits(permitted, drift.unit, scale), *_years(scale.axis), svg.line("axis", 0, zero, 100, zero)]
    parts.append(svg.text(f"0 {difference_unit(drift.unit)}", 0, zero - 6, "halo", dx=4))
    for earlier, later in zip(drift.visits, drift.visits[1:], strict=False):
        start, end = _points(earlier)[-1], _points(later)[0]
        parts.append(
            svg.line(
                "knotline",
                scale.x(earlier.calibrated_on),
                scale.y(start.error),
                scale.x(later.calibrated_on),
                scale.y(end.error),
            )
        )
    for visit in drift.visits:
        parts.extend(_visit(visit, scale, permitted))
    last = drift.visits[-1]
    newest = _points(last)[-1]
    words = f"{signed(newest.error)} {difference_unit(drift.unit)}"
    css = "h-text halo end" if _beyond(newest, permitted) else "strong halo end"
    parts.append(svg.text(words, scale.x(last.calibrated_on), scale.y(newest.error) - 10, css, dx=-4))
    return svg.plot("".join(parts), height=_HEIGHT, label=_in_words(drift, code, permitted))


def _limits(permitted: Decimal | None, unit: str, scale: _Scale) -> Iterator[str]:
    if permitted is None:
        return
    high, low = scale.y(permitted), scale.y(-permitted)
    yield svg.rect("field", 0, high, 100, low - high)
    for y, value, below in ((high, permitted, -6), (low, -permitted, 16)):
        yield svg.line("limit", 0, y, 100, y)
        yield svg.text(f"{signed(value)} {difference_unit(unit)} permitted", 0, y + below, "halo", dx=4)


def _beyond(point: Point, permitted: Decimal | None) -> bool:
    return permitted is not None and abs(point.error) > permitted


def _visit(visit: Visit, scale: _Scale, permitted: Decimal | None) -> Iterator[str]:
    x = scale.x(visit.calibrated_on)
    for point in _points(visit):
        if point.uncertainty:
            yield svg.line(
                "axis", x, scale.y(point.error - point.uncertainty), x, scale.y(point.error + point.uncertainty)
            )
    if visit.found and visit.left:
        yield svg.line("limit", x, scale.y(visit.found.error), x, scale.y(visit.left.error))
    if visit.found:
        beyond = _beyond(visit.found, permitted)
        yield svg.circle("h-dot" if beyond else "ring", x, scale.y(visit.found.error), 6 if beyond else 5)
    if visit.left:
        yield svg.circle("h-dot" if _beyond(visit.left, permitted) else "dot", x, scale.y(visit.left.error), 4)


def _points(visit: Visit) -> list[Point]:
    """As found, then as left; a visit has at least one."""
    return [point for point in (visit.found, visit.left) if point is not None]


def _scale(drift: Drift, permitted: Decimal | None) -> _Scale:
    first, last = drift.visits[0].calibrated_on, drift.visits[-1].calibrated_on
    room = max(timedelta(days=20), (last - first) * 0.06)
    points = [point for visit in drift.visits for point in _points(visit)]
    reach = permitted or Decimal(0)
    low = min(-reach, *(point.error - (point.uncertainty or 0) for point in points))
    high = max(reach, *(point.error + (point.uncertainty or 0) for point in points))
    margin = (high - low) * Decimal("0.15") or Decimal(1)
    return _Scale(svg.TimeAxis(_start(first) - room, _start(last) + room), low - margin, high + margin)


def _years(axis: svg.TimeAxis) -> Iterator[str]:
    """A hairline at each new year; without one between, the first and the last day are named instead."""
    years = range(axis.start.year + 1, axis.end.year + 1)
    step = 1 + len(years) // 12
    for year in years[::step]:
        x = axis.x(_start(date(year, 1, 1)))
        yield svg.line("grid", x, 8, x, _BOTTOM + 6)
        yield svg.text(str(year), x, _HEIGHT - 8, "tiny mid")
    if not years:
        yield svg.text(shown(axis.start.date()), 0, _HEIGHT - 8, "tiny")
        yield svg.text(shown(axis.end.date()), 100, _HEIGHT - 8, "tiny end")


def _start(day: date) -> datetime:
    return datetime.combine(day, time.min, tzinfo=UTC)


def _in_words(drift: Drift, code: str, permitted: Decimal | None) -> str:
    unit = difference_unit(drift.unit)
    listed = "; ".join(
        f"{shown(visit.calibrated_on)}: "
        + ", ".join(f"{_kind(point)} {signed(point.error)} {unit}" for point in _points(visit))
        for visit in drift.visits
    )
    limits = "" if permitted is None else f", permitted ±{permitted:f} {unit}"
    return f"Error of {code} at {drift.reference:f} {drift.unit}{limits}. {listed}"


def _kind(point: Point) -> str:
    return "as left" if point.as_left else "as found"

"""The drift at one place with its limits and the straight line that goes on from the newest calibration."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from itertools import pairwise

from calibration.domain.drift_forecast import Forecast
from calibration.domain.figures import signed
from calibration.domain.interval_policy import DAYS_A_MONTH
from calibration.domain.rounding import rounded
from calibration.domain.status import shown
from calibration.domain.units import difference_unit
from labsite.ledger import svg

_TOP, _BOTTOM, _HEIGHT = 26.0, 196.0, 226.0
_AHEAD_MONTHS, _FURTHEST_MONTHS = 24, 60
_STEPS = 12
_SHOWN = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class _Scale:
    """Maps a day to percent and an error to pixels; what lies beyond the drawing is held at its edge."""

    axis: svg.TimeAxis
    reach: Decimal

    def x(self, day: date) -> float:
        return self.axis.x(_start(day))

    def y(self, error: Decimal) -> float:
        held = min(max(error, -self.reach), self.reach)
        return _BOTTOM - float((held + self.reach) / (2 * self.reach)) * (_BOTTOM - _TOP)


def forecast_plot(forecast: Forecast, *, code: str) -> str:
    """Error over time between its limits; dotted ahead: the line, and how far from it the next error may lie."""
    end = _end(forecast)
    errors = [abs(error) for _, found, left in forecast.history for error in (found, left)]
    reach = max(*errors, forecast.permitted) * Decimal("1.15")
    room = max(timedelta(days=20), (end - forecast.start) * 0.04)
    scale = _Scale(svg.TimeAxis(_start(forecast.start) - room, _start(end) + room), reach)
    parts = [
        *_limits(forecast, scale),
        *_years(scale.axis),
        *_ahead(forecast, end, scale),
        *_history(forecast, scale),
    ]
    return svg.plot("".join(parts), height=_HEIGHT, label=_in_words(forecast, code))


def _limits(forecast: Forecast, scale: _Scale) -> Iterator[str]:
    high, zero, low = (scale.y(error) for error in (forecast.permitted, Decimal(0), -forecast.permitted))
    unit = difference_unit(forecast.unit)
    yield svg.rect("field", 0, high, 100, low - high)
    for y, value in ((high, forecast.permitted), (low, -forecast.permitted)):
        yield svg.line("limit", 0, y, 100, y)
        yield svg.text(f"{signed(value)} {unit}", 0, y - 5, "halo", dx=4)
    yield svg.line("axis", 0, zero, 100, zero)


def _ahead(forecast: Forecast, end: date, scale: _Scale) -> Iterator[str]:
    days = [forecast.newest + (end - forecast.newest) * step / _STEPS for step in range(_STEPS + 1)]
    bands = [forecast.band_at(day) for day in days]
    for (day, band), (next_day, next_band) in pairwise(zip(days, bands, strict=True)):
        for css, error, next_error in zip(("axis thin", "knotline thin", "axis thin"), band, next_band, strict=True):
            beyond = abs(error) > scale.reach and abs(next_error) > scale.reach
            if not beyond:
                yield svg.line(css, scale.x(day), scale.y(error), scale.x(next_day), scale.y(next_error))
    reached = forecast.reached_on
    if forecast.too_wide:
        yield svg.text("too scattered for a forecast", 100, _TOP - 8, "strong halo end", dx=-4)
    if reached is not None and reached <= end:
        x = scale.x(reached)
        yield svg.line("todo", x, _TOP, x, _BOTTOM)
        yield svg.text(f"from {shown(reached)} on it may be out", x, _TOP - 8, "strong halo end", dx=-4)


def _history(forecast: Forecast, scale: _Scale) -> Iterator[str]:
    for (day, _, left), (next_day, found, _) in pairwise(forecast.history):
        yield svg.line("knotline", scale.x(day), scale.y(left), scale.x(next_day), scale.y(found))
    for day, found, left in forecast.history:
        x = scale.x(day)
        yield svg.circle("ring", x, scale.y(found))
        if left != found:
            yield svg.line("limit", x, scale.y(found), x, scale.y(left))
            yield svg.circle("dot", x, scale.y(left), 4)


def _years(axis: svg.TimeAxis) -> Iterator[str]:
    years = range(axis.start.year + 1, axis.end.year + 1)
    for year in years[:: 1 + len(years) // 12]:
        x = axis.x(_start(date(year, 1, 1)))
        yield svg.line("grid", x, 8, x, _BOTTOM + 6)
        yield svg.text(str(year), x, _HEIGHT - 8, "tiny mid")


def _end(forecast: Forecast) -> date:
    months = _AHEAD_MONTHS if forecast.months is None else min(forecast.months + 3, _FURTHEST_MONTHS)
    return forecast.newest + timedelta(days=int(max(months, 6) * DAYS_A_MONTH))


def _start(day: date) -> datetime:
    return datetime.combine(day, time.min, tzinfo=UTC)


def _in_words(forecast: Forecast, code: str) -> str:
    unit = difference_unit(forecast.unit)
    listed = "; ".join(
        f"{shown(day)}: as found {signed(found)} {unit}" + (f", as left {signed(left)} {unit}" if left != found else "")
        for day, found, left in forecast.history
    )
    slope = signed(rounded(forecast.line.slope * 12, _SHOWN))
    reached = forecast.reached_on
    ahead = "no limit is foretold to be reached" if reached is None else f"from {shown(reached)} on it may be out"
    if forecast.too_wide:
        ahead = "the errors scatter too much for a forecast"
    return (
        f"Error of {code} at {forecast.reference:f} {forecast.unit} between limits of ±{forecast.permitted:f} {unit}. "
        f"{listed}. The line moves by {slope} {unit} a year; {ahead}."
    )

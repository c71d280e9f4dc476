"""When will an instrument's drift reach its limit: a straight line through its errors, with room for the next point."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from calibration.domain.drift import SAME_PLACE
from calibration.domain.interval_policy import DAYS_A_MONTH, POLICY, IntervalPolicy
from calibration.domain.interval_review import Place, Visit
from calibration.domain.straight_line import FEWEST, Line, fitted

HORIZON_MONTHS = 120
"""Beyond ten years a straight line says nothing."""


@dataclass(frozen=True, slots=True)
class Forecast:
    """The drift at one place. `months` after the newest calibration, the last whole one at which limit and line with
    its expansion stay apart: None where nothing is reached within ten years, `too_wide` where they meet already.

    The line runs in months from `start`; `offset` is what adjustments have added to the error since. `newest` is the
    day of the newest calibration; `history` holds day, error as found and error as left of each.
    """

    reference: Decimal
    unit: str
    permitted: Decimal
    count: int
    line: Line
    start: date
    newest: date
    offset: Decimal
    months: int | None
    too_wide: bool
    probability: float
    history: tuple[tuple[date, Decimal, Decimal], ...]

    @property
    def reached_on(self) -> date | None:
        """The first day that is not held to be within, counted in mean months; None where none is foretold."""
        if self.months is None:
            return None
        return self.newest + timedelta(days=int((self.months + 1) * DAYS_A_MONTH))

    def band_at(self, day: date) -> tuple[Decimal, Decimal, Decimal]:
        """Where the error is expected on a day: lowest, on the line, highest."""
        x = _months(self.start, day)
        middle, half = self.line.at(x) + self.offset, self.line.half_width(x, self.probability)
        return middle - half, middle, middle + half


def forecasts(visits: Sequence[Visit], policy: IntervalPolicy = POLICY) -> tuple[Forecast, ...]:
    """The drift at each place of the newest calibration with a permitted error and at least three errors, by reference.

    `visits` are oldest first. What an adjustment took away is added again, so that the line follows the drift and not
    the screwdriver. Source: ILAC-G24:2022 / OIML D 10:2022, method 2, control chart.
    """
    found = [_forecast(place, visits, policy) for place in visits[-1].places] if visits else []
    return tuple(sorted((one for one in found if one), key=lambda one: (one.unit, one.reference)))


def _forecast(newest: Place, visits: Sequence[Visit], policy: IntervalPolicy) -> Forecast | None:
    history = _history(newest, visits)
    if newest.permitted is None or newest.permitted <= 0 or len({day for day, _, _ in history}) < FEWEST:
        return None
    start, last = history[0][0], history[-1][0]
    points, offset = _undisturbed(history)
    line = fitted([(_months(start, day), error) for day, error in points])
    since = _months(start, last)
    months = months_within(line, newest.permitted, since=since, offset=offset, probability=policy.probability)
    too_wide = months is not None and months < 0
    return Forecast(
        reference=newest.reference,
        unit=newest.unit,
        permitted=newest.permitted,
        count=len(history),
        line=line,
        start=start,
        newest=last,
        offset=offset,
        months=None if too_wide else months,
        too_wide=too_wide,
        probability=policy.probability,
        history=tuple(history),
    )


def months_within(
    line: Line, permitted: Decimal, *, since: Decimal, offset: Decimal = Decimal(0), probability: float = 0.95
) -> int | None:
    """How many whole months after `since` the line and its expansion stay within the permitted error on either side.

    -1 where they are beyond at `since` already, None where they are not in ten years. The expansion is that for one
    next point. `line` runs in months.
    """
    for months in range(HORIZON_MONTHS + 1):
        x = since + months
        if abs(line.at(x) + offset) + line.half_width(x, probability) > permitted:
            return months - 1
    return None


def _history(newest: Place, visits: Sequence[Visit]) -> list[tuple[date, Decimal, Decimal]]:
    """Day, error as found and as left of each calibration at the place.

    One that does not say how the instrument came in begins the history anew, one that does not say how it left ends it.
    """
    history: list[tuple[date, Decimal, Decimal]] = []
    for visit in visits:
        place = _nearest(newest, visit.places)
        if place is None:
            continue
        if place.found is None or place.left is None:
            history = [] if place.left is None else [(visit.calibrated_on, place.left, place.left)]
            continue
        history.append((visit.calibrated_on, place.found, place.left))
    return history


def _undisturbed(history: Sequence[tuple[date, Decimal, Decimal]]) -> tuple[list[tuple[date, Decimal]], Decimal]:
    """Days and errors as if nobody had adjusted, and the sum of the adjustments."""
    points = []
    adjusted = Decimal(0)
    for day, found, left in history:
        points.append((day, found - adjusted))
        adjusted += left - found
    return points, adjusted


def _nearest(newest: Place, places: Sequence[Place]) -> Place | None:
    near = [place for place in places if place.unit == newest.unit and _same(place.reference, newest.reference)]
    return min(near, key=lambda place: abs(place.reference - newest.reference), default=None)


def _same(one: Decimal, other: Decimal) -> bool:
    return abs(one - other) <= SAME_PLACE * max(abs(one), abs(other))


def _months(start: date, day: date) -> Decimal:
    return Decimal((day - start).days) / DAYS_A_MONTH

"""What is permitted of instruments at a moment, and how their calibrations stand against it."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db.models import QuerySet

from calibration.domain.conformity import Conformity, ErrorLimit, conformity
from calibration.domain.corrections import StatedPoint
from calibration.domain.drift import Point
from calibration.models import Calibration, CalibrationPoint, Instrument, InstrumentLimit
from calibration.queries.drift import point_of

type Limits = dict[str, InstrumentLimit]


@dataclass(frozen=True, slots=True)
class InstrumentLimits:
    """The limits of one instrument by unit, and everything that was ever stated or ended, newest first."""

    in_force: Limits
    history: tuple[InstrumentLimit, ...]

    @property
    def lines(self) -> list[tuple[InstrumentLimit, str]]:
        """Each limit in force, with what it permits in words."""
        return [(row, error_limit(row).words) for row in self.in_force.values()]

    @property
    def earlier(self) -> list[tuple[InstrumentLimit, str]]:
        """What held before, and what ended a limit, newest first."""
        present = {row.pk for row in self.in_force.values()}
        return [(row, "" if row.ended else error_limit(row).words) for row in self.history if row.pk not in present]

    def permitted(self, unit: str, value: Decimal) -> Decimal | None:
        """The largest error permitted at a value; None where no limit holds there."""
        row = self.in_force.get(unit)
        return None if row is None else error_limit(row).permitted(value)

    @property
    def error_limits(self) -> dict[str, ErrorLimit]:
        """The limits in force as the computing takes them."""
        return {unit: error_limit(row) for unit, row in self.in_force.items()}


def instrument_limits(instrument: Instrument, at: datetime) -> InstrumentLimits:
    """What was stated by `at`; the newest row of a unit holds unless it ends it; one read."""
    rows = tuple(_stated([instrument.pk], at).select_related("made_by").order_by("-made_at", "-pk"))
    return InstrumentLimits(_in_force(rows[::-1]), rows)


def limits_of(instrument_ids: Iterable[int], at: datetime) -> dict[int, Limits]:
    """The limits in force of many instruments by primary key and unit; one read."""
    by_instrument = defaultdict(list)
    for row in _stated(list(instrument_ids), at).order_by("made_at", "pk"):
        by_instrument[row.instrument_id].append(row)
    return defaultdict(dict, {key: _in_force(rows) for key, rows in by_instrument.items()})


def error_limit(row: InstrumentLimit) -> ErrorLimit:
    """A stored limit as the computing takes it."""
    return ErrorLimit(
        unit=row.unit,
        absolute=row.absolute,
        relative=row.relative,
        low=row.low,
        high=row.high,
        rule=row.decision_rule,
        guard_factor=Decimal(1) if row.guard_factor is None else row.guard_factor,
        source=row.source,
    )


def conformity_of(calibration: Calibration, limits: dict[str, ErrorLimit]) -> Conformity:
    """A calibration with its points, prefetched, against limits; no read.

    Where it was not adjusted and only its as-left points are entered, they say how it came in.
    """
    rows = sorted(calibration.points.all(), key=lambda row: row.pk)
    found = any(row.kind == CalibrationPoint.Kind.AS_FOUND for row in rows)
    as_it_was = calibration.adjusted is False and not found
    return conformity([_stated_point(row, as_found=as_it_was) for row in rows], limits)


def came_back(history: Sequence[Calibration], limits: dict[str, ErrorLimit]) -> str:
    """Why the instrument must not be used, where its newest calibration found it out of its limits, as a clause.

    Empty unless that calibration awaits verification or was rejected. `history` is newest first, as known then.
    """
    newest = next((row for row in history if row.decision != Calibration.Decision.MISTAKEN), None)
    if newest is None or newest.decision == Calibration.Decision.ACCEPTED:
        return ""
    return conformity_of(newest, limits).came_back


def limits_with_people() -> QuerySet[InstrumentLimit]:
    """Limits for a page of their own."""
    return InstrumentLimit.objects.select_related("instrument", "made_by")


def _stated(instrument_ids: list[int], at: datetime) -> QuerySet[InstrumentLimit]:
    return InstrumentLimit.objects.filter(instrument_id__in=instrument_ids, made_at__lte=at)


def _in_force(oldest_first: Iterable[InstrumentLimit]) -> Limits:
    newest = {row.unit: row for row in oldest_first}
    return {unit: row for unit, row in sorted(newest.items()) if not row.ended}


def _stated_point(row: CalibrationPoint, *, as_found: bool) -> StatedPoint:
    point = point_of(row)
    if as_found:
        point = Point(False, point.reference, point.indication, point.unit, point.uncertainty)
    return StatedPoint(point, row.coverage_factor)

"""The history of one instrument as the interval review reads it, and what it proposes."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.conf import settings
from django.db.models import QuerySet
from django.utils.module_loading import import_string

from calibration.domain.due import usable_until
from calibration.domain.interval_proposal import Proposal, Uses, proposal
from calibration.domain.interval_review import Place, Visit
from calibration.models import Calibration, CalibrationPoint, Instrument, IntervalDecision
from calibration.queries.limits import InstrumentLimits, instrument_limits
from labsite.ledger.queries import laboratory_zone


@dataclass(frozen=True, slots=True)
class IntervalReview:
    """The calibration whose interval is looked at, what its history proposes, and what was decided so far."""

    calibration: Calibration
    proposal: Proposal
    decisions: tuple[IntervalDecision, ...]


def interval_review(
    instrument: Instrument, history: Iterable[Calibration], in_force_id: int | None, at: datetime
) -> IntervalReview | None:
    """The review as of `at`, or None where no accepted calibration speaks for the instrument; four reads at most.

    `history` holds the calibrations as known at `at` with their intervals in force and their points; `in_force_id`
    is the one the instrument rests on.
    """
    accepted = [row for row in history if row.decision == Calibration.Decision.ACCEPTED]
    accepted.sort(key=lambda row: (row.calibrated_on, row.entered_at, row.pk))
    newest = next((row for row in accepted if row.pk == in_force_id), None)
    if newest is None:
        return None
    limits = instrument_limits(instrument, at)
    visits = [_visit(row, limits) for row in accepted]
    uses = _uses(instrument, visits, at)
    found = proposal(visits, newest.interval_in_force, newest.unit_in_force, uses)
    return IntervalReview(newest, found, tuple(interval_decisions(instrument, at)))


def interval_decisions(instrument: Instrument, at: datetime) -> QuerySet[IntervalDecision]:
    """What was decided on the instrument's intervals up to `at`, latest first."""
    decisions = IntervalDecision.objects.filter(calibration__instrument=instrument, at__lte=at)
    return decisions.select_related("by", "calibration").order_by("-at", "-pk")


def offered_interval(instrument: Instrument, at: datetime) -> dict[str, int | str]:
    """What the form of the next calibration begins with: the newest accepted one's interval in force; one read."""
    rows = instrument.calibrations.with_interval_at(at).filter(
        decision=Calibration.Decision.ACCEPTED, decided_at__lte=at, entered_at__lte=at
    )
    newest = rows.order_by("calibrated_on", "entered_at", "pk").last()
    return {} if newest is None else {"interval": newest.interval_in_force, "interval_unit": newest.unit_in_force}


def _visit(calibration: Calibration, limits: InstrumentLimits) -> Visit:
    points = list(calibration.points.all())
    places = sorted({(point.unit, Decimal(point.reference)) for point in points})
    return Visit(
        calibration.calibrated_on,
        tuple(
            Place(
                reference=reference,
                unit=unit,
                found=_found(points, unit, reference, calibration.adjusted),
                left=_left(points, unit, reference, calibration.adjusted),
                permitted=limits.permitted(unit, reference),
            )
            for unit, reference in places
        ),
    )


def _found(points: Sequence[CalibrationPoint], unit: str, reference: Decimal, adjusted: bool | None) -> Decimal | None:
    """The error as found; of several readings the one furthest off. Not adjusted means found as it was left."""
    kinds = [CalibrationPoint.Kind.AS_FOUND, *([CalibrationPoint.Kind.AS_LEFT] if adjusted is False else [])]
    return next((error for kind in kinds if (error := _error(points, unit, reference, kind)) is not None), None)


def _left(points: Sequence[CalibrationPoint], unit: str, reference: Decimal, adjusted: bool | None) -> Decimal | None:
    """The error as left. Without such a point it is that as found, unless the certificate says it was adjusted."""
    kinds = [CalibrationPoint.Kind.AS_LEFT, *([] if adjusted else [CalibrationPoint.Kind.AS_FOUND])]
    return next((error for kind in kinds if (error := _error(points, unit, reference, kind)) is not None), None)


def _error(points: Sequence[CalibrationPoint], unit: str, reference: Decimal, kind: str) -> Decimal | None:
    errors = [point.error for point in points if (point.unit, point.reference, point.kind) == (unit, reference, kind)]
    return max(errors, key=abs, default=None)


def _uses(instrument: Instrument, visits: Sequence[Visit], at: datetime) -> Uses:
    """Uses between calibrations and since the newest, each counted from the end of its day; one read."""
    zone = laboratory_zone()

    def day_ends(day: date) -> datetime:
        return usable_until(day, zone)

    ends = [day_ends(visit.calibrated_on) for visit in visits]
    periods = list(zip(ends, [*ends[1:], max(at, ends[-1])], strict=True))
    counted: list[int] = import_string(settings.INSTRUMENT_USES)(instrument.pk, periods)
    held = [None if visit.share is None else visit.share <= 1 for visit in visits[1:]]
    return Uses(since=counted[-1], before=tuple(zip(counted[:-1], held, strict=True)))

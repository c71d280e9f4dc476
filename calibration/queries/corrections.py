"""The corrections that calibrations state, by calibration and unit: a constant number of reads for any number."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from calibration.domain.corrections import CorrectionTable, StatedPoint, correction_table
from calibration.models import Calibration, CalibrationPoint, InstrumentLimit
from calibration.queries.drift import point_of


@dataclass(frozen=True, slots=True)
class CalibrationCorrections:
    """What one calibration adds to readings, by unit. `chain_with` is the code of the indicator it was made with."""

    calibration_id: int
    code: str
    calibrated_on: date
    tables: dict[str, CorrectionTable]
    chain_with: str = ""


def calibration_corrections(
    calibration_ids: Iterable[int], at: datetime, *, as_found: bool = False
) -> dict[int, CalibrationCorrections]:
    """The corrections of these calibrations, with the drift allowances that held at `at`; three reads at most."""
    rows = Calibration.objects.filter(pk__in=set(calibration_ids)).select_related("instrument", "chain_with")
    calibrations = {row.pk: row for row in rows}
    points = _points(calibrations)
    # without points there is nothing to allow for, and no third read
    allowances = drift_allowances({row.instrument_id for row in calibrations.values()} if points else (), at)
    return {
        pk: CalibrationCorrections(
            calibration_id=pk,
            code=row.instrument.code,
            calibrated_on=row.calibrated_on,
            tables=_tables(points[pk], allowances[row.instrument_id], as_found=as_found),
            chain_with=row.chain_with.code if row.chain_with else "",
        )
        for pk, row in calibrations.items()
    }


def drift_allowances(instrument_ids: Iterable[int], at: datetime) -> dict[int, dict[str, Decimal]]:
    """By instrument and unit, how far the error may wander until the next calibration, as stated by `at`; one read."""
    found: dict[int, dict[str, Decimal]] = defaultdict(dict)
    rows = InstrumentLimit.objects.filter(instrument_id__in=set(instrument_ids), made_at__lte=at)
    for row in rows.order_by("made_at", "pk"):
        found[row.instrument_id].pop(row.unit, None)
        if row.drift_allowance is not None and not row.ended:
            found[row.instrument_id][row.unit] = row.drift_allowance
    return found


def _points(calibration_ids: Iterable[int]) -> dict[int, list[StatedPoint]]:
    found = defaultdict(list)
    for row in CalibrationPoint.objects.filter(calibration_id__in=list(calibration_ids)).order_by("pk"):
        found[row.calibration_id].append(StatedPoint(point_of(row), row.coverage_factor))
    return found


def _tables(points: list[StatedPoint], allowances: dict[str, Decimal], *, as_found: bool) -> dict[str, CorrectionTable]:
    units = sorted({one.point.unit for one in points})
    tables = {
        unit: correction_table(points, unit, as_found=as_found, drift_allowance=allowances.get(unit)) for unit in units
    }
    return {unit: table for unit, table in tables.items() if table is not None}

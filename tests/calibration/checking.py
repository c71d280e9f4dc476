"""Shared by the tests of checks: a force gauge with a plan, a certificate with points, a recorded check."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

from calibration.actions.check_judging import CheckValues
from calibration.actions.check_plans import plan_check
from calibration.actions.checks import record_check
from calibration.models import Calibration, CheckPlan, Instrument, InstrumentKind, IntermediateCheck
from calibration.queries.check_subjects import Subject
from tests.factories.calibration import CalibrationFactory, InstrumentFactory
from tests.factories.ledger import NOON, UserFactory

D = Decimal


def gauge(**fields: Any) -> Instrument:
    """A force gauge."""
    return InstrumentFactory.create(kind=InstrumentKind.FORCE_GAUGE, **fields)


def certified(
    instrument: Instrument, *points: tuple[str, str, str | None, str | None], unit: str = "°C"
) -> Calibration:
    """An accepted calibration with points of (reference, indication, U, k)."""
    made = CalibrationFactory.create(instrument=instrument, accepted=True)
    for reference, indication, expanded, factor in points:
        made.points.create(
            reference=reference, indication=indication, unit=unit, expanded_uncertainty=expanded, coverage_factor=factor
        )
    return made


def planned(thing: Any, kind: str, **fields: Any) -> CheckPlan:
    """A plan of monthly checks with limits of ± 10."""
    values: dict[str, Any] = {
        "by": UserFactory.create(),
        "at": NOON - timedelta(days=40),
        "every_days": 30,
        "unit": "°C",
        "procedure": "as written beside the rig",
        "source": "our own practice",
        "error_low": D(-10),
        "error_high": D(10),
    }
    return plan_check(subject=Subject(thing), kind=kind, **(values | fields))


def recorded(thing: Any, kind: str, *, by: Any = None, at: Any = NOON, **values: Any) -> IntermediateCheck:
    """A check recorded at noon; `checked_at`, `compared_with` and `remarks` aside, the rest is what was typed."""
    kept = {name: values.pop(name) for name in ("checked_at", "compared_with", "remarks") if name in values}
    by = by or UserFactory.create()
    return record_check(by=by, at=at, subject=Subject(thing), kind=kind, values=CheckValues(**values), **kept)

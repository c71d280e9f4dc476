"""Which earlier calibration a new one is compared with: the newest accepted before it, as known then."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from calibration.models import CalibrationPoint
from calibration.queries.correction_changes import changed_corrections
from tests.factories.calibration import CalibrationFactory, InstrumentFactory
from tests.factories.ledger import NOON

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def calibration(instrument, day, indication, **facts):
    made = CalibrationFactory.create(
        instrument=instrument, calibrated_on=day, entered_at=NOON - 20 * DAY if "accepted" in facts else NOON, **facts
    )
    CalibrationPoint.objects.create(calibration=made, reference="850.0", indication=indication, unit="°C")
    CalibrationPoint.objects.create(calibration=made, reference="650.0", indication="650.0", unit="°C")
    return made


def test_the_newest_accepted_one_before_is_compared_with():
    instrument = InstrumentFactory.create()
    calibration(instrument, date(2024, 1, 10), "840.0", accepted=True)
    calibration(instrument, date(2025, 1, 10), "849.0", accepted=True)
    new = calibration(instrument, date(2026, 1, 10), "858.0")
    assert [(one.reading, one.before, one.after) for one in changed_corrections(new, NOON)] == [
        (Decimal("858.0"), None, Decimal("-8.00"))
    ]


def test_the_first_one_changes_nothing():
    assert changed_corrections(calibration(InstrumentFactory.create(), date(2026, 1, 10), "858.0"), NOON) == ()

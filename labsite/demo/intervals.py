"""The demo's reference thermocouple with its papers of five years: its drift, what is proposed, what was decided."""

from datetime import datetime, timedelta
from decimal import Decimal

from calibration.actions.calibrations import PointValues, decide_calibration, enter_calibration
from calibration.actions.instruments import register_instrument
from calibration.actions.intervals import decide_interval
from calibration.actions.limits import set_limit
from calibration.models import Calibration, Instrument, InstrumentKind
from labsite.demo.equipment import ACCREDITATION, CALIBRATED_BY
from labsite.ledger.models import Place, User
from labsite.ledger.queries import laboratory_day

CODE = "TC-09"
YEARS = (("850.4", "960.5"), ("850.9", "960.9"), ("851.3", "961.5"), ("851.9", "962.0"), ("852.3", "962.5"))
"""Indications at 850 and 960 °C, a year between each, the newest last."""
NEWEST_DAYS_AGO = 70


def tell_intervals(people: dict[str, User], *, at: datetime, now: datetime) -> Instrument:
    """Register it with its papers at `at`, and let the quality keeper decide on its interval two days before `now`."""
    hugo = people["hugo"]
    one = register_instrument(
        by=hugo,
        at=at,
        code=CODE,
        kind=InstrumentKind.THERMOCOUPLE,
        description="Reference thermocouple type K, 1.0 mm, class 1",
        maker="Maker of invented instruments",
        model_name="Model TC",
        serial_number="INV-0901",
        range_text="0 to 1000 °C",
        place=Place.objects.get(code="K-1"),
    )
    set_limit(
        by=hugo,
        at=at,
        instrument=one,
        unit="°C",
        absolute=Decimal("1.5"),
        relative=Decimal("0.004"),
        low=Decimal(0),
        high=Decimal(1000),
        source="Class 1 of IEC 60584-1:2013",
    )
    for place, indications in enumerate(YEARS):
        days_ago = NEWEST_DAYS_AGO + 365 * (len(YEARS) - 1 - place)
        entered_at = at + timedelta(minutes=5 * place + 5)
        _calibrated(one, hugo, days_ago=days_ago, indications=indications, at=entered_at, now=now)
    decide_interval(
        by=hugo,
        at=now - timedelta(days=2),
        calibration=one.calibrations.latest("calibrated_on"),
        interval=12,
        interval_unit=Calibration.IntervalUnit.MONTHS,
        reason="The others are compared with it; a year stays until the next calibration confirms the slope.",
    )
    return one


def _calibrated(
    one: Instrument, by: User, *, days_ago: int, indications: tuple[str, ...], at: datetime, now: datetime
) -> None:
    calibrated_on = laboratory_day(now) - timedelta(days=days_ago)
    calibration = enter_calibration(
        by=by,
        at=at,
        instrument=one,
        calibrated_on=calibrated_on,
        interval=12,
        interval_unit=Calibration.IntervalUnit.MONTHS,
        calibrated_by=CALIBRATED_BY,
        accreditation_number=ACCREDITATION,
        certificate_number=f"{ACCREDITATION}-{calibrated_on:%y%m}-{one.code}",
        points=[
            PointValues(
                kind="as found",
                reference=Decimal(reference),
                indication=Decimal(indication),
                unit="°C",
                expanded_uncertainty=Decimal("1.1"),
                coverage_factor=Decimal(2),
            )
            for reference, indication in zip(("850.0", "960.0"), indications, strict=True)
        ],
    )
    decide_calibration(
        by=by,
        at=at + timedelta(minutes=1),
        calibration=calibration,
        decision=Calibration.Decision.ACCEPTED,
        reason="Taken over from the paper file; figures compared with the certificate.",
    )

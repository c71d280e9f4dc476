"""The demo’s certificate that came as data: of a spare thermocouple, its figures entered, not yet decided on."""

from datetime import datetime, timedelta
from string import Template

from django.conf import settings

from calibration.actions.calibrations import PointValues, enter_calibration
from calibration.actions.certificate_files import DataFile, read_data_file
from calibration.actions.instruments import register_instrument
from calibration.models import Calibration, CalibrationPoint, InstrumentKind
from labsite.ledger.models import Place, User
from labsite.ledger.queries import laboratory_day

CODE, SERIAL = "TC-11", "INV-0911"


def tell_digital_certificate(people: dict[str, User], *, at: datetime, now: datetime) -> Calibration:
    """Register the spare at `at`; yesterday hugo entered what its certificate says, for somebody to decide on."""
    hugo = people["hugo"]
    instrument = register_instrument(
        by=hugo,
        at=at,
        code=CODE,
        kind=InstrumentKind.THERMOCOUPLE,
        description="Type K, 0.5 mm sheath, spare for the glow-wire rigs",
        maker="Maker of invented instruments",
        model_name="Model TC",
        serial_number=SERIAL,
        range_text="0 to 1100 °C",
        resolution_text="",
        place=Place.objects.get(code="K-1"),
    )
    data = _certificate(now)
    said = data.certificate
    return enter_calibration(
        by=hugo,
        at=now - timedelta(days=1),
        instrument=instrument,
        calibrated_on=said.ended_on,
        interval=12,
        interval_unit=Calibration.IntervalUnit.MONTHS,
        calibrated_by=said.laboratory,
        accreditation_number=said.laboratory_code,
        certificate_number=said.identifier,
        issued_on=said.issued_on,
        serial_on_certificate=said.items[0].serial,
        points=_points(data),
        data_file=data,
    )


def _certificate(now: datetime) -> DataFile:
    today = laboratory_day(now)
    days = {"received": 20, "begun": 13, "ended": 12, "issued": 10, "again": -353}
    pattern = settings.FIXTURES_DIR / "demo" / "thermocouple_certificate.xml"
    text = Template(pattern.read_text(encoding="utf-8")).substitute(
        number=f"INV-0417-{today:%y}-{CODE}",
        code=CODE,
        serial=SERIAL,
        **{name: (today - timedelta(days=ago)).isoformat() for name, ago in days.items()},
    )
    return read_data_file(f"{CODE}.xml", text.encode(), serial_number=SERIAL)


def _points(data: DataFile) -> list[PointValues]:
    return [
        PointValues(
            kind=CalibrationPoint.Kind.AS_LEFT if point.as_left else CalibrationPoint.Kind.AS_FOUND,
            reference=point.reference,
            indication=point.indication,
            unit=point.unit,
            expanded_uncertainty=point.expanded_uncertainty,
            coverage_factor=point.coverage_factor,
            coverage_probability=point.coverage_probability,
        )
        for point in data.certificate.points
    ]

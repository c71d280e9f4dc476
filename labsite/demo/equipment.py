"""The demo's rigs and their instruments: one due this week, one overdue, one out of service."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from functools import cache

from django.core.files.uploadedfile import SimpleUploadedFile

from calibration.actions.calibrations import PointValues, decide_calibration, enter_calibration
from calibration.actions.instruments import change_service, register_instrument
from calibration.actions.rigs import mount_instrument, register_rig
from calibration.models import Calibration, Instrument, InstrumentKind, Rig, ServiceChange
from labsite.demo.points import POINTS, StatedPoint
from labsite.ledger.models import Place, User
from labsite.ledger.paper import FONT_FAMILY, pdf_from_html
from labsite.ledger.queries import laboratory_day

K = InstrumentKind
CALIBRATED_BY = "Institute of Invented Measures"
ACCREDITATION = "INV-0417"


@dataclass(frozen=True, slots=True)
class Piece:
    """One instrument: how long ago it was calibrated decides how it stands today."""

    code: str
    kind: InstrumentKind
    description: str
    range_text: str
    resolution_text: str
    place: str
    calibrated_days_ago: int
    rig: str = ""

    @property
    def points(self) -> tuple[StatedPoint, ...]:
        """What its certificate states."""
        return POINTS.get(self.code, ())


_AIR = "0 to 50 °C, 5 to 95 % RH"
_TYPE_K = "Thermocouple type K, 1.0 mm, class 1, insulated junction"

WITH_HISTORY = ("TC-01", "TC-02")
MAINTENANCE = "Cleaned and looked at on the first Monday of each quarter."

PIECES = (
    Piece("TC-01", K.THERMOCOUPLE, _TYPE_K, "0 to 1050 °C", "", "B-1", 120, "GW-1"),
    Piece("TC-02", K.THERMOCOUPLE, _TYPE_K, "0 to 1050 °C", "", "B-2", 96, "GW-2"),
    Piece("TC-03", K.THERMOCOUPLE, _TYPE_K, "0 to 1050 °C", "", "K-1", 60),
    Piece("TC-04", K.THERMOCOUPLE, _TYPE_K, "0 to 1050 °C", "", "K-1", 402),
    Piece("IN-01", K.INDICATOR, "Temperature indicator, four channels", "-50 to 1200 °C", "0.1 °C", "B-1", 200, "GW-1"),
    Piece("IN-02", K.INDICATOR, "Temperature indicator, two channels", "-50 to 1200 °C", "0.1 °C", "B-2", 150, "GW-2"),
    Piece("IN-03", K.INDICATOR, "Temperature indicator, hand-held", "-50 to 1200 °C", "0.1 °C", "K-1", 90),
    Piece("FG-01", K.FORCE_GAUGE, "Force gauge", "0 to 5 N", "0.01 N", "B-1", 260, "GW-1"),
    Piece("FG-02", K.FORCE_GAUGE, "Force gauge", "0 to 5 N", "0.01 N", "B-2", 120, "GW-2"),
    Piece("FG-03", K.FORCE_GAUGE, "Force gauge, dropped in spring", "0 to 10 N", "0.02 N", "K-1", 80),
    Piece("TM-01", K.TIMER, "Timer", "0 to 3600 s", "0.1 s", "B-1", 300, "GW-1"),
    Piece("TM-02", K.TIMER, "Timer", "0 to 3600 s", "0.1 s", "B-2", 210, "GW-2"),
    Piece("TM-03", K.TIMER, "Stopwatch", "0 to 9999 s", "0.01 s", "K-1", 361),
    Piece("LG-01", K.LENGTH_GAUGE, "Depth gauge", "0 to 150 mm", "0.01 mm", "B-1", 45, "GW-1"),
    Piece("LG-02", K.LENGTH_GAUGE, "Depth gauge", "0 to 150 mm", "0.01 mm", "B-2", 45, "GW-2"),
    Piece("LG-03", K.LENGTH_GAUGE, "Calliper", "0 to 200 mm", "0.01 mm", "C-1", 330),
    Piece("LG-04", K.LENGTH_GAUGE, "Micrometer", "0 to 25 mm", "0.001 mm", "C-1", 100),
    Piece("BA-01", K.BALANCE, "Analytical balance", "0 to 220 g", "0.1 mg", "C-2", 170),
    Piece("BA-02", K.BALANCE, "Bench balance", "0 to 6 kg", "0.1 g", "C-2", 220),
    Piece("HY-01", K.HYGROMETER, "Thermo-hygrometer, recording", _AIR, "0.1 °C, 0.1 % RH", "CH-1", 130),
    Piece("HY-02", K.HYGROMETER, "Thermo-hygrometer, recording", _AIR, "0.1 °C, 0.1 % RH", "CH-2", 130),
    Piece("HY-03", K.HYGROMETER, "Thermo-hygrometer, reference", _AIR, "0.1 °C, 0.1 % RH", "K-1", 30),
    Piece("LX-01", K.LUX_METER, "Lux meter", "0 to 2000 lx", "0.1 lx", "K-1", 190),
    Piece("AM-01", K.AMMETER, "True-RMS clamp meter", "0 to 400 A", "0.1 A", "B-1", 240, "GW-1"),
    Piece("AM-02", K.AMMETER, "True-RMS clamp meter", "0 to 400 A", "0.1 A", "B-2", 240, "GW-2"),
    Piece("TM-04", K.TIMER, "Timer", "0 to 3600 s", "0.1 s", "B-3", 110, "NF-1"),
    Piece("LG-05", K.LENGTH_GAUGE, "Steel rule and gauge blocks", "0 to 300 mm", "0.5 mm", "B-3", 75, "NF-1"),
    Piece("TM-05", K.TIMER, "Timer", "0 to 3600 s", "0.1 s", "B-3", 110, "SB-1"),
    Piece("LG-06", K.LENGTH_GAUGE, "Calliper", "0 to 200 mm", "0.01 mm", "B-3", 75, "SB-1"),
    Piece("TC-05", K.THERMOCOUPLE, _TYPE_K, "0 to 1050 °C", "", "B-4", 140, "BP-1"),
    Piece("IN-04", K.INDICATOR, "Temperature indicator, one channel", "-50 to 400 °C", "0.1 °C", "B-4", 140, "BP-1"),
    Piece("TM-06", K.TIMER, "Timer", "0 to 9999 s", "1 s", "B-4", 95, "BP-1"),
    Piece("LG-07", K.LENGTH_GAUGE, "Measuring microscope", "0 to 25 mm", "0.01 mm", "B-4", 160, "BP-1"),
    Piece("FG-04", K.FORCE_GAUGE, "Force gauge", "0 to 50 N", "0.05 N", "B-4", 160, "BP-1"),
    Piece("VM-01", K.VOLTMETER, "True-RMS voltmeter", "0 to 750 V", "0.1 V", "B-4", 85, "TR-1"),
    Piece("AM-03", K.AMMETER, "True-RMS ammeter", "0 to 5 A", "0.001 A", "B-4", 85, "TR-1"),
    Piece("TM-07", K.TIMER, "Timer", "0 to 9999 s", "0.1 s", "B-4", 180, "TR-1"),
    Piece("FG-05", K.FORCE_GAUGE, "Force gauge", "0 to 2 N", "0.01 N", "B-4", 130, "TR-1"),
    Piece("LG-08", K.LENGTH_GAUGE, "Gap gauges", "3.8 to 4.2 mm", "0.05 mm", "B-4", 130, "TR-1"),
    Piece("HY-04", K.HYGROMETER, "Thermo-hygrometer, recording", _AIR, "0.1 °C, 0.1 % RH", "CH-3", 100),
    Piece("HY-05", K.HYGROMETER, "Temperature recorder of the oven", "0 to 200 °C", "0.1 °C", "OV-1", 100),
    Piece("HY-06", K.HYGROMETER, "Thermo-hygrometer, recording", _AIR, "0.1 °C, 0.1 % RH", "DE-1", 100),
)

RIGS = (
    ("GW-1", "Glow-wire apparatus 1", "glow wire", "B-1"),
    ("GW-2", "Glow-wire apparatus 2", "glow wire", "B-2"),
    ("NF-1", "Needle-flame burner", "needle flame", "B-3"),
    ("SB-1", "Small burner, 50 W", "small burner", "B-3"),
    ("BP-1", "Oven with ball and weight", "ball pressure", "B-4"),
    ("TR-1", "Tracking electrodes and supply", "tracking", "B-4"),
)
"""Code, name, kind and bench of each rig."""


def set_up_equipment(people: dict[str, User], *, at: datetime, now: datetime) -> dict[str, Rig]:
    """Register rigs and instruments at `at` with the history that makes them stand as described at `now`."""
    hugo = people["hugo"]
    places = {place.code: place for place in Place.objects.filter(kind=Place.Kind.BENCH)}
    rigs = {
        code: register_rig(by=hugo, at=at, code=code, name=name, kind=kind, place=places[bench])
        for code, name, kind, bench in RIGS
    }
    for serial, piece in enumerate(PIECES, start=1):
        instrument = set_up_piece(piece, serial, people, rigs, at=at, now=now)
        if piece.code == "FG-03":
            reason = "Fell from the bench; zero does not come back. Waits for repair."
            change_service(
                by=people["oren"],
                at=now - timedelta(days=6),
                instrument=instrument,
                state=ServiceChange.State.OUT_OF_SERVICE,
                reason=reason,
            )
    return rigs


def set_up_piece(
    piece: Piece, serial: int, people: dict[str, User], rigs: Mapping[str, Rig], *, at: datetime, now: datetime
) -> Instrument:
    """Register one instrument, with its calibrations, and mount it on its rig."""
    hugo = people["hugo"]
    instrument = register_instrument(
        by=hugo,
        at=at,
        code=piece.code,
        kind=piece.kind,
        description=piece.description,
        maker="Maker of invented instruments",
        model_name=f"Model {piece.code[:2]}",
        serial_number=f"INV-{serial:04d}",
        firmware_version="" if piece.kind in (K.THERMOCOUPLE, K.LENGTH_GAUGE) else "2.1",
        thermocouple_type="K" if piece.kind == K.THERMOCOUPLE else "",
        tolerance_class="1" if piece.kind == K.THERMOCOUPLE else "",
        maintenance_plan="" if piece.place == "K-1" else MAINTENANCE,
        range_text=piece.range_text,
        resolution_text=piece.resolution_text,
        place=Place.objects.get(code=piece.place),
    )
    _calibrate(piece, instrument, hugo, at=at, now=now)
    if piece.rig:
        mount_instrument(by=hugo, at=at, rig=rigs[piece.rig], instrument=instrument)
    return instrument


def _calibrate(piece: Piece, instrument: Instrument, hugo: User, *, at: datetime, now: datetime) -> None:
    """The latest calibration, and for the glow-wire thermocouples the one a year earlier, so that drift can be seen."""
    days = [piece.calibrated_days_ago]
    if piece.code in WITH_HISTORY:
        days.insert(0, piece.calibrated_days_ago + 365)
    for age in days:
        calibrated_on = laboratory_day(now) - timedelta(days=age)
        entered_at = max(at, now - timedelta(days=age - 2)) + timedelta(minutes=len(days) + age % 7)
        older = Decimal("0.3") if age > piece.calibrated_days_ago else Decimal(0)
        calibration = enter_calibration(
            by=hugo,
            at=entered_at,
            instrument=instrument,
            calibrated_on=calibrated_on,
            interval=12,
            interval_unit=Calibration.IntervalUnit.MONTHS,
            calibrated_by=CALIBRATED_BY,
            accreditation_number=ACCREDITATION,
            certificate_number=f"{ACCREDITATION}-{calibrated_on:%y}-{piece.code}",
            certificate=_certificate(f"{ACCREDITATION}-{calibrated_on:%y}-{piece.code}.pdf"),
            issued_on=calibrated_on,
            received_on=calibrated_on + timedelta(days=1),
            route=Calibration.Route.ACCREDITED,
            in_scope=True,
            serial_on_certificate=instrument.serial_number,
            adjusted=False,
            points=[
                _point(reference, Decimal(indication) + older, unit, u)
                for reference, indication, unit, u in piece.points
            ],
        )
        decide_calibration(
            by=hugo,
            at=entered_at + timedelta(minutes=20),
            calibration=calibration,
            decision=Calibration.Decision.ACCEPTED,
            reason="Figures within our limits; serial number and dates agree.",
        )


def _certificate(name: str) -> SimpleUploadedFile:
    """The page that stands for every certificate here, drawn once."""
    return SimpleUploadedFile(name, _page(), "application/pdf")


@cache
def _page() -> bytes:
    text = "This page stands for a calibration certificate of an invented calibration laboratory. It certifies nothing."
    return pdf_from_html(
        f'<html lang="en"><head><title>Certificate</title></head><body><h1>Certificate</h1><p>{text}</p></body></html>',
        css=f"body {{ font-family: {FONT_FAMILY} }}",
    )


def _point(reference: str, indication: Decimal, unit: str, expanded_uncertainty: str) -> PointValues:
    return PointValues(
        kind="as found",
        reference=Decimal(reference),
        indication=indication,
        unit=unit,
        expanded_uncertainty=Decimal(expanded_uncertainty),
        coverage_factor=Decimal(2),
    )

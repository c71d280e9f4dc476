"""The demo's thermocouple that came back reading 8 K high: what was measured with it, its return, and the open case."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from calibration.actions.calibrations import PointValues, decide_calibration, enter_calibration
from calibration.actions.events import record_event
from calibration.actions.limits import set_limit
from calibration.actions.rigs import register_rig, take_off
from calibration.models import Calibration, Instrument, InstrumentKind, Mounting, Rig
from labsite.demo.bench import FLAME_IN_TIME, NO_FLAME, Course, run_trial
from labsite.demo.business import Business, take
from labsite.demo.certificates import issue
from labsite.demo.commissioning import commission_rigs
from labsite.demo.conditioning import bring_out, put_in
from labsite.demo.days import working_hour
from labsite.demo.equipment import ACCREDITATION, CALIBRATED_BY, Piece, set_up_piece
from labsite.demo.materials import check
from labsite.ledger.models import Place, User
from labsite.ledger.queries import laboratory_day
from reports.actions.traces import decide_line, open_case
from reports.models import TraceCase, TraceDecision, TraceLine
from specimens.models import Client, Order
from trials.actions.jobs import hand_out

K = InstrumentKind
RIG = "GW-4"
FIRST_SERIAL = 101
PIECES = (
    Piece("TC-07", K.THERMOCOUPLE, "Thermocouple type K, 1.0 mm, class 1", "0 to 1050 °C", "", "B-2", 118, RIG),
    Piece("IN-05", K.INDICATOR, "Temperature indicator, one channel", "-50 to 1200 °C", "0.1 °C", "B-2", 118, RIG),
    Piece("FG-06", K.FORCE_GAUGE, "Force gauge", "0 to 5 N", "0.01 N", "B-2", 88, RIG),
    Piece("TM-08", K.TIMER, "Timer", "0 to 3600 s", "0.1 s", "B-2", 140, RIG),
)
AS_FOUND = (("500.0", "507.4"), ("650.0", "657.7"), ("750.0", "758.0"), ("850.0", "858.2"), ("960.0", "968.1"),
            ("1000.0", "1008.3"))  # fmt: skip
"""Reference and indication in °C: about 8 K high wherever it was used; its class permits 3.0 K at 750 °C."""


@dataclass(frozen=True, slots=True)
class Told:
    """An order measured with it: how far from its level each specimen's tip stood when it was read."""

    business: Business
    technician: str
    course: Course
    tips_off_k: tuple[str, ...]
    issued_days_ago: int | None


def _business(key: str, client: int, subject: str, severity: str, specimens: int, received_days_ago: int) -> Business:
    return Business(
        key=key,
        client=client,
        taken_days_ago=received_days_ago + 2,
        subject=subject,
        material="PBT-GF30",
        colour="white",
        thickness_mm="2.0",
        severity=severity,
        specimens=specimens,
        promised_in_days=4,
        product_standard="the client’s own specification",
        purchase_order=f"RT-{severity}-{client}",
        received_days_ago=received_days_ago,
    )


ORDERS = (
    Told(_business("kettle base", 2, "Base of a kettle, contact ring", "750", 2, 14), "mina", NO_FLAME,
         ("2.0", "-5.2"), 10),
    Told(_business("lamp cap", 3, "Cap of a lampholder, E27", "850", 2, 11), "oren", FLAME_IN_TIME, ("1.4", "-3.1"), 7),
    Told(_business("switch cover", 0, "Cover of a switch, four ways", "960", 2, 11), "jory", FLAME_IN_TIME,
         ("0.6", "-9.0"), None),
)  # fmt: skip
"""Eight kelvin lower, the second tips of the first and the last order lie outside 750 ± 10 °C and 960 ± 15 °C."""


def tell_returned_thermocouple(people: dict[str, User], *, founded_at: datetime, now: datetime) -> TraceCase:
    """Set the rig up when the laboratory was founded, test with it, send the thermocouple away, open the case."""
    thermocouple = _set_up(people, at=founded_at, now=now)
    contacts = [client.contacts.earliest("pk") for client in Client.objects.order_by("pk")]
    rig = Rig.objects.get(code=RIG)
    for told in ORDERS:
        order = take(told.business, contacts[told.business.client], people, now=now)
        _test(told, order, rig, people, now=now)
    _send_away(thermocouple, people, now=now)
    calibration = _take_back(thermocouple, people, now=now)
    return _open(thermocouple, calibration, people, now=now)


def _set_up(people: dict[str, User], *, at: datetime, now: datetime) -> Instrument:
    place = Place.objects.get(code="B-2")
    rig = register_rig(by=people["hugo"], at=at, code=RIG, name="Glow-wire apparatus 4", kind="glow wire", place=place)
    made = [
        set_up_piece(piece, FIRST_SERIAL + number, people, {RIG: rig}, at=at, now=now)
        for number, piece in enumerate(PIECES)
    ]
    commission_rigs(people, [rig], at=at + timedelta(minutes=20))
    thermocouple = made[0]
    set_limit(
        by=people["hugo"],
        at=at + timedelta(minutes=30),
        instrument=thermocouple,
        unit="°C",
        absolute=Decimal("1.5"),
        relative=Decimal("0.004"),
        source="IEC 60584-1, type K, class 1",
    )
    return thermocouple


def _test(told: Told, order: Order, rig: Rig, people: dict[str, User], *, now: datetime) -> None:
    received = told.business.received_days_ago or 0
    tested = received - 2
    stay = put_in(order, people, chamber="CH-1", at=working_hour(now, received, 14, 0))
    bring_out(stay, people["tilda"], at=working_hour(now, tested, 7, 50))
    line, technician = order.lines.get(), people[told.technician]
    handed_at = working_hour(now, tested, 8, 10)
    hand_out(line=line, technician=technician, rig=rig, seen_job=None, by=people["petra"], at=handed_at)
    # In the afternoon of the day they came out, inside the hours within which they are to be tested.
    begins_at = working_hour(now, tested, 10, 15) + timedelta(minutes=40 * ORDERS.index(told))
    for place, (specimen, off_k) in enumerate(zip(line.specimens.order_by("number"), told.tips_off_k, strict=True)):
        run_trial(specimen, technician, told.course, at=begins_at + timedelta(minutes=18 * place), tip_off_k=off_k)
    if told.issued_days_ago is not None:
        check(order, people["mina" if told.technician != "mina" else "jory"], at=working_hour(now, tested - 1, 15, 0))
        issue(order, people["petra"], at=working_hour(now, told.issued_days_ago, 11, 0))


def _send_away(thermocouple: Instrument, people: dict[str, User], *, now: datetime) -> None:
    away_at = working_hour(now, 7, 16, 10)
    mounting = Mounting.objects.get(instrument=thermocouple, removed_at=None)
    take_off(by=people["hugo"], at=away_at, mounting=mounting)
    text = f"By courier to {CALIBRATED_BY}, early, because the foil check had begun to wander."
    record_event(
        by=people["hugo"], at=away_at + timedelta(minutes=5), instrument=thermocouple, kind="sent away", text=text
    )


def _take_back(thermocouple: Instrument, people: dict[str, User], *, now: datetime) -> Calibration:
    """Back in the cupboard; its certificate's as-found points are entered and rejected."""
    hugo, back_at = people["hugo"], working_hour(now, 2, 9, 20)
    record_event(
        by=hugo,
        at=back_at,
        instrument=thermocouple,
        kind="received back",
        text="With certificate; marked “as found out of class 1, not adjustable”.",
        place=Place.objects.get(code="K-1"),
    )
    calibrated_on = laboratory_day(working_hour(now, 4, 12))
    calibration = enter_calibration(
        by=hugo,
        at=back_at + timedelta(minutes=15),
        instrument=thermocouple,
        calibrated_on=calibrated_on,
        interval=12,
        interval_unit=Calibration.IntervalUnit.MONTHS,
        calibrated_by=CALIBRATED_BY,
        accreditation_number=ACCREDITATION,
        certificate_number=f"{ACCREDITATION}-{calibrated_on:%y}-{thermocouple.code}-B",
        points=[_point(reference, indication) for reference, indication in AS_FOUND],
    )
    return decide_calibration(
        by=hugo,
        at=back_at + timedelta(minutes=40),
        calibration=calibration,
        decision=Calibration.Decision.REJECTED,
        reason="Reads 8 K high as found, class 1 permits 3.0 K at 750 °C; it cannot be adjusted.",
    )


def _point(reference: str, indication: str) -> PointValues:
    return PointValues(
        kind="as found",
        reference=Decimal(reference),
        indication=Decimal(indication),
        unit="°C",
        expanded_uncertainty=Decimal("1.1"),
        coverage_factor=Decimal(2),
    )


def _open(thermocouple: Instrument, calibration: Calibration, people: dict[str, User], *, now: datetime) -> TraceCase:
    """The quality keeper opens the case; the signatory decides on the first changed line, the rest waits."""
    opened_at = working_hour(now, 1, 10, 5)
    reason = "Came back reading 8 K high; find out what was measured with it."
    case = open_case(by=people["hugo"], at=opened_at, instrument=thermocouple, reason=reason, calibration=calibration)
    line = case.lines.filter(finding=TraceLine.Finding.CHANGED).earliest("position")
    decide_line(
        by=people["petra"],
        at=opened_at + timedelta(hours=2),
        line=line,
        act=TraceDecision.Act.NOTIFY,
        note="Told the client by telephone; they send two more pieces, the certificate is amended after that.",
    )
    return case

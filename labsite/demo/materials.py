"""The demo's tests by the other seven methods: some certified, some under way, one waiting for its check."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from calibration.models import Rig
from labsite.demo.bench import Course, run_trial
from labsite.demo.certificates import issue
from labsite.demo.conditioning import bring_out, put_in
from labsite.demo.courses import (
    BALL,
    NEEDLE,
    PLATE_BURNS_ON,
    PLATE_IGNITES,
    PLATE_PASSES,
    lying_bar,
    tracking_run,
    upright_bar,
)
from labsite.demo.days import working_hour
from labsite.ledger.models import User
from specimens.models import Order
from trials.actions.checks import check_line
from trials.actions.jobs import hand_out
from trials.queries.results import line_standing

ROOM_23_50, PLATES, TRACKING = "23/50 class 2", "23/40-60", "18-28/40-60"
OVEN, DESICCATOR = "oven 70", "desiccator"


def tell_materials(orders: dict[str, Order], people: dict[str, User], rigs: dict[str, Rig], *, now: datetime) -> None:
    """Condition, test, check and certify what the seven other methods need, each on its days."""
    _needle(orders["carrier needle"], people, rigs, now=now)
    _ball(orders["insert ball"], people, rigs, now=now)
    _flammability(orders["plates flammability"], people, rigs, now=now)
    _ignition(orders["plates ignition"], people, rigs, now=now)
    _lying(orders["bars flat"], people, rigs, now=now)
    _upright(orders["bars upright"], people, rigs, now=now)
    _tracking(orders["plates tracking"], people, rigs, now=now)


def _needle(order: Order, people: dict[str, User], rigs: dict[str, Rig], *, now: datetime) -> None:
    stay = put_in(order, people, chamber="CH-1", at=working_hour(now, 6, 14, 0))
    bring_out(stay, people["tilda"], at=working_hour(now, 4, 7, 50))
    _hand(order, people, rigs["NF-1"], "mina", at=working_hour(now, 4, 10, 0))
    _run(order, people["mina"], [NEEDLE] * 3, at=working_hour(now, 4, 10, 30), every=15)
    check(order, people["jory"], at=working_hour(now, 3, 9, 10))


def _ball(order: Order, people: dict[str, User], rigs: dict[str, Rig], *, now: datetime) -> None:
    stay = put_in(order, people, chamber="CH-1", at=working_hour(now, 5, 14, 0))
    bring_out(stay, people["tilda"], at=working_hour(now, 2, 7, 50))
    _hand(order, people, rigs["BP-1"], "jory", at=working_hour(now, 2, 8, 30))
    _run(order, people["jory"], [BALL], at=working_hour(now, 2, 9, 0), every=0)


def _flammability(order: Order, people: dict[str, User], rigs: dict[str, Rig], *, now: datetime) -> None:
    """850 °C passed, 900 and 875 °C failed: five plates of the fifteen that came."""
    stay = put_in(order, people, chamber="CH-3", at=working_hour(now, 14, 13, 30), atmosphere=PLATES)
    bring_out(stay, people["tilda"], at=working_hour(now, 9, 7, 50), count=5)
    _hand(order, people, rigs["GW-1"], "mina", at=working_hour(now, 9, 8, 10))
    courses = [PLATE_PASSES, PLATE_PASSES, PLATE_PASSES, PLATE_BURNS_ON, PLATE_BURNS_ON]
    _run(order, people["mina"], courses, at=working_hour(now, 9, 8, 30), every=20)
    check(order, people["jory"], at=working_hour(now, 8, 15, 40))
    issue(order, people["petra"], at=working_hour(now, 7, 11, 5))


def _ignition(order: Order, people: dict[str, User], rigs: dict[str, Rig], *, now: datetime) -> None:
    """Passed at 750 °C, ignited at 800 °C: the level between comes next; eight plates still lie in the room."""
    stay = put_in(order, people, chamber="CH-3", at=working_hour(now, 6, 14, 0), atmosphere=PLATES)
    bring_out(stay, people["oren"], at=working_hour(now, 2, 7, 50), count=4)
    _hand(order, people, rigs["GW-1"], "oren", at=working_hour(now, 2, 8, 20))
    courses = [PLATE_PASSES, PLATE_PASSES, PLATE_PASSES, PLATE_IGNITES]
    _run(order, people["oren"], courses, at=working_hour(now, 2, 8, 40), every=20)


def _lying(order: Order, people: dict[str, User], rigs: dict[str, Rig], *, now: datetime) -> None:
    stay = put_in(order, people, chamber="CH-3", at=working_hour(now, 12, 14, 0), atmosphere=ROOM_23_50)
    bring_out(stay, people["tilda"], at=working_hour(now, 4, 7, 50), count=3)
    _hand(order, people, rigs["SB-1"], "jory", at=working_hour(now, 4, 7, 58))
    courses = [lying_bar("158.2"), lying_bar("162.7"), lying_bar("155.9")]
    _run(order, people["jory"], courses, at=working_hour(now, 4, 8, 0), every=14)
    check(order, people["mina"], at=working_hour(now, 3, 15, 0))


def _upright(order: Order, people: dict[str, User], rigs: dict[str, Rig], *, now: datetime) -> None:
    """The first five from the room had one bad bar, so five more are asked for; ten come from the oven."""
    room = put_in(order, people, chamber="CH-3", at=working_hour(now, 12, 14, 10), atmosphere=ROOM_23_50,
                  specimens=slice(0, 10))  # fmt: skip
    out_of_the_oven_at = working_hour(now, 1, 7, 45)
    oven = put_in(order, people, chamber="OV-1", at=out_of_the_oven_at - timedelta(hours=168), atmosphere=OVEN,
                  specimens=slice(10, 20))  # fmt: skip
    bring_out(oven, people["tilda"], at=out_of_the_oven_at)
    put_in(order, people, chamber="DE-1", at=working_hour(now, 1, 7, 56), atmosphere=DESICCATOR,
           specimens=slice(10, 20))  # fmt: skip
    bring_out(room, people["mina"], at=working_hour(now, 2, 7, 50), count=5)
    _hand(order, people, rigs["SB-1"], "mina", at=working_hour(now, 2, 7, 57))
    courses = [
        upright_bar(2.1, 3.4),
        upright_bar(1.8, 4.2, 3.0),
        upright_bar(11.6, 2.9),
        upright_bar(2.4, 3.1),
        upright_bar(1.9, 2.6),
    ]
    _run(order, people["mina"], courses, at=working_hour(now, 2, 7, 58), every=8)


def _tracking(order: Order, people: dict[str, User], rigs: dict[str, Rig], *, now: datetime) -> None:
    """400 V survived, 425 V failed, and 100 drops survived at 375 V."""
    stay = put_in(order, people, chamber="CH-3", at=working_hour(now, 14, 13, 40), atmosphere=TRACKING)
    bring_out(stay, people["tilda"], at=working_hour(now, 9, 7, 55), count=11)
    _hand(order, people, rigs["TR-1"], "oren", at=working_hour(now, 9, 8, 20))
    _run(order, people["oren"], [tracking_run(50)] * 5, at=working_hour(now, 9, 8, 30), every=38)
    _run(order, people["oren"], [tracking_run(50, trips_at=34)], at=working_hour(now, 9, 12, 0), every=0)
    _run(order, people["oren"], [tracking_run(100)] * 5, at=working_hour(now, 9, 13, 0), every=62)
    check(order, people["mina"], at=working_hour(now, 8, 10, 30))
    issue(order, people["petra"], at=working_hour(now, 7, 11, 25))


def _hand(order: Order, people: dict[str, User], rig: Rig, technician: str, *, at: datetime) -> None:
    hand_out(line=order.lines.get(), technician=people[technician], rig=rig, seen_job=None, by=people["petra"], at=at)


def _run(order: Order, technician: User, courses: Iterable[Course], *, at: datetime, every: int) -> None:
    """One course after the other on the next untested specimens, so many minutes apart."""
    untested = order.lines.get().specimens.filter(trials=None).order_by("number")
    for place, (specimen, course) in enumerate(zip(untested, courses, strict=False)):
        run_trial(specimen, technician, course, at=at + timedelta(minutes=every * place))


def check(order: Order, checker: User, *, at: datetime) -> None:
    """Look over a line's trials and find them sound."""
    line = order.lines.get()
    seen = [standing.signed.pk for standing in line_standing(line).trials if standing.signed is not None]
    check_line(line=line, finding="sound", remarks="", seen_verdicts=seen, by=checker, at=at)

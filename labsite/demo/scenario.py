"""The whole demo, told in the order in which it happened, through the same actions as by hand."""

import itertools
from datetime import datetime, timedelta

from django.db import transaction

from calibration.models import Rig
from labsite.demo.bench import FLAME_IN_TIME, LAYER_CATCHES, NO_FLAME, Course, run_trial
from labsite.demo.budgets import tell_budgets
from labsite.demo.business import METHOD, take_orders
from labsite.demo.certificates import amend_for_address, issue
from labsite.demo.commissioning import commission_rigs, tell_returned_rig
from labsite.demo.conditioning import bring_in_records, bring_out, put_in
from labsite.demo.days import working_hour
from labsite.demo.digital_certificate import tell_digital_certificate
from labsite.demo.equipment import set_up_equipment
from labsite.demo.intervals import tell_intervals
from labsite.demo.materials import check, tell_materials
from labsite.demo.metrology import tell_metrology
from labsite.demo.people import found_laboratory
from labsite.demo.returned_thermocouple import tell_returned_thermocouple
from labsite.demo.wires import care_for_wires, fit_wires
from labsite.ledger.models import User
from labsite.ledger.queries import laboratory_day
from specimens.models import Order
from trials.actions.authorisations import grant_authorisation
from trials.actions.jobs import hand_out
from trials.actions.methods import confirm_edition
from trials.models import Authorisation
from trials.queries.methods import edition_by_key, parameters_sha256

FOUNDED_DAYS_AGO = 45
NOT_CONFIRMED = "tracking@2020"
METHODS = (
    METHOD,
    "glow-wire-flammability-index@2021",
    "glow-wire-ignition-temperature@2021",
    "needle-flame@2016",
    "ball-pressure@2014",
    "horizontal-flame@2013",
    "vertical-flame@2013",
    NOT_CONFIRMED,
)
"""The editions this laboratory works by."""


@transaction.atomic
def tell(*, now: datetime) -> None:
    """Fill an empty database with the invented laboratory, so that `now` is one of its ordinary days."""
    founded_at = now - timedelta(days=FOUNDED_DAYS_AGO)
    people = found_laboratory(at=founded_at)
    rigs = set_up_equipment(people, at=founded_at + timedelta(hours=1), now=now)
    commission_rigs(people, rigs.values(), at=founded_at + timedelta(minutes=80))
    fit_wires(people, rigs, at=founded_at + timedelta(minutes=110))
    tell_returned_rig(people, founded_at=founded_at + timedelta(minutes=65), now=now)
    tell_metrology(people, rigs, at=founded_at + timedelta(minutes=90), now=now)
    tell_intervals(people, at=founded_at + timedelta(minutes=95), now=now)
    tell_digital_certificate(people, at=founded_at + timedelta(minutes=97), now=now)
    tell_budgets(people, keeper="petra", at=founded_at + timedelta(hours=4))
    authorise(people, at=founded_at + timedelta(hours=2))
    confirm_figures(people, at=founded_at + timedelta(hours=3))
    bring_in_records(people, now=now)
    orders = take_orders(people, founded_at=founded_at, now=now)

    put_in(orders["conditioning"], people, chamber="CH-2", at=now - timedelta(hours=3))
    put_in(orders["can start"], people, chamber="CH-1", at=working_hour(now, 3, 13, 30))
    socket_bases = put_in(orders["under way"], people, chamber="CH-2", at=working_hour(now, 4, 13, 30))
    bring_out(socket_bases, people["oren"], at=working_hour(now, 1, 7, 50), count=1)

    tested = {
        "amended": (14, "mina", "GW-1", LAYER_CATCHES),
        "passed": (11, "oren", "GW-2", NO_FLAME),
        "to issue": (6, "jory", "GW-1", FLAME_IN_TIME),
        "to check": (4, "oren", "GW-2", FLAME_IN_TIME),
    }
    for key, (received_days_ago, technician, rig, course) in tested.items():
        _test(orders[key], people, rigs[rig], technician, course, received_days_ago=received_days_ago, now=now)
    for key, days_ago, checker in (("amended", 11, "jory"), ("passed", 8, "jory"), ("to issue", 3, "mina")):
        check(orders[key], people[checker], at=working_hour(now, days_ago, 15, 20))

    under_way = orders["under way"]
    _hand(under_way, people, rigs["GW-2"], "oren", at=working_hour(now, 1, 8, 20))
    first = under_way.lines.get().specimens.order_by("number")[0]
    run_trial(first, people["oren"], NO_FLAME, at=working_hour(now, 1, 9, 5))

    issue(orders["passed"], people["petra"], at=working_hour(now, 7, 10, 15))
    certificate = issue(orders["amended"], people["petra"], at=working_hour(now, 10, 11, 20))
    amend_for_address(certificate, people, at=working_hour(now, 6, 14, 5))
    tell_materials(orders, people, rigs, now=now)
    care_for_wires(people, rigs, now=now)
    tell_returned_thermocouple(people, founded_at=founded_at + timedelta(minutes=70), now=now)


def authorise(people: dict[str, User], *, at: datetime) -> None:
    """Who may perform, check and sign, granted by the quality keeper."""
    activity = Authorisation.Activity
    grants = [
        *((name, activity.PERFORM) for name in ("oren", "mina", "jory")),
        *((name, activity.CHECK) for name in ("mina", "jory")),
        ("petra", activity.SIGN),
    ]
    for key, (name, what) in itertools.product(METHODS, grants):
        grant_authorisation(
            person=people[name],
            method_key=key,
            activity=what,
            from_on=laboratory_day(at),
            until_on=None,
            by=people["hugo"],
            at=at,
        )


def confirm_figures(people: dict[str, User], *, at: datetime) -> None:
    """The lead compared the figures of all but one edition with the laboratory's own copies."""
    for key in METHODS:
        if key != NOT_CONFIRMED:
            confirm_edition(
                method_key=key,
                seen_sha256=parameters_sha256(edition_by_key(key)),
                note="Compared line by line with our own copy of the standard (invented).",
                by=people["petra"],
                at=at,
            )


def _condition(order: Order, people: dict[str, User], *, received_days_ago: int, chamber: str, now: datetime) -> None:
    """In on the day of receipt, out two mornings later, after the recorder's file of that morning came in."""
    stay = put_in(order, people, chamber=chamber, at=working_hour(now, received_days_ago, 13, 30))
    bring_out(stay, people["tilda"], at=working_hour(now, received_days_ago - 2, 7, 50))


def _hand(order: Order, people: dict[str, User], rig: Rig, technician: str, *, at: datetime) -> None:
    hand_out(line=order.lines.get(), technician=people[technician], rig=rig, seen_job=None, by=people["petra"], at=at)


def _test(
    order: Order,
    people: dict[str, User],
    rig: Rig,
    technician: str,
    course: Course,
    *,
    received_days_ago: int,
    now: datetime,
) -> None:
    """Condition the specimens and test each of them on the morning they come out."""
    _condition(order, people, received_days_ago=received_days_ago, chamber="CH-1", now=now)
    tested_days_ago = received_days_ago - 2
    _hand(order, people, rig, technician, at=working_hour(now, tested_days_ago, 8, 0))
    for place, specimen in enumerate(order.lines.get().specimens.order_by("number")):
        at = working_hour(now, tested_days_ago, 9, 0) + timedelta(minutes=30 * place)
        run_trial(specimen, people[technician], course, at=at)

"""Pages that answer for a past day, read before and after a busy day that followed: not a word may differ."""

import difflib
import re
from collections import Counter
from contextlib import contextmanager
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import transaction
from django.db.models import Max, Min, Q
from django.test import Client

from calibration.actions.calibrations import decide_calibration, enter_calibration
from calibration.actions.check_judging import CheckValues
from calibration.actions.check_plans import end_plan, plan_check
from calibration.actions.checks import record_check, strike_check
from calibration.actions.commissioning import add_line, open_commissioning
from calibration.actions.events import record_event
from calibration.actions.instruments import change_instrument, change_service
from calibration.actions.intervals import decide_interval
from calibration.actions.limits import end_limit, set_limit
from calibration.actions.permits import permit_use
from calibration.actions.rigs import change_rig, mount_instrument, take_off
from calibration.actions.wires import clean_wire, fit_wire, measure_tip
from calibration.models import Calibration, Commissioning, GlowWire, Instrument, IntermediateCheck, Mounting, Rig
from calibration.queries.check_subjects import Subject
from calibration.queries.checks_due import planned_checks
from calibration.queries.limits import instrument_limits
from labsite.ledger.models import Place, Role
from labsite.ledger.refusals import Refused
from reports.actions.traces import close_case, decide_line, open_case
from reports.models import TraceCase
from tests.factories.ledger import UserFactory

pytestmark = pytest.mark.usefixtures("told", "db")
DAY = "2026-03-10"
"""The day before the demo's present."""


def instruments():
    """Of each kind the first and the last, and every one that was checked or traced."""
    rows = Instrument.objects.order_by("kind", "pk")
    by_kind = rows.values("kind").order_by()
    ends = {end for pick in (Min, Max) for end in by_kind.annotate(end=pick("pk")).values_list("end", flat=True)}
    return rows.filter(Q(pk__in=ends) | Q(checks__isnull=False) | Q(traces__isnull=False)).distinct()


def addresses():
    """Every page that takes a day, for these instruments and every rig, list and case."""
    yield from ("/calibration/", "/calibration/permits/", "/rigs/", "/traces/", "/calibration/by-clause.csv")
    yield "/calibration/instruments.csv"
    for number in instruments().values_list("number", flat=True):
        yield from (f"/instruments/{number}/{part}" for part in ("", "checks/", "trace/", "trace/part/"))
        tables = ("calibrations", "points", "limits", "checks", "events", "mountings", "service")
        yield from (f"/instruments/{number}/record.csv?table={table}" for table in tables)
    for code, kind in Rig.objects.order_by("pk").values_list("code", "kind"):
        yield from (f"/rigs/{code}/{part}" for part in ("", "checks/", *(("wires/",) if kind == "glow wire" else ())))
    yield from (f"/before-use/{pk}/" for pk in Commissioning.objects.order_by("pk").values_list("pk", flat=True))
    for number in TraceCase.objects.order_by("pk").values_list("number", flat=True):
        yield from (f"/traces/{number}/", f"/traces/{number}/lines.csv")


def read(reader, walked):
    """What each address says; of a page what is not its frame, which is about now."""
    browser, said = Client(), {}
    browser.force_login(reader)
    for address in walked:
        answer = browser.get(address + ("&" if "?" in address else "?") + f"as_of={DAY}")
        text = answer.content.decode()
        said[address] = f"{answer.status_code} {text[max(text.find('<main'), 0) :]}"
    return said


class BusyDay:
    """Everything that is done to instruments and rigs, to as many of them as can be."""

    def __init__(self, by, at):
        self.by, self.at = by, at
        self.done: Counter[str] = Counter()

    @contextmanager
    def act(self, name):
        try:
            with transaction.atomic():
                yield
        except Refused:
            self.done[f"refused {name}"] += 1
        else:
            self.done[name] += 1

    def live(self):
        facts = {"by": self.by, "at": self.at}
        place = Place.objects.create(code="NEW-1", name="A new corner", kind=Place.Kind.BENCH)
        for one in TraceCase.objects.filter(closed_at=None):
            for line in one.lines.all():
                with self.act("decided a line"):
                    decide_line(**facts, line=line, act="note", note="LATER")
            with self.act("closed a case"):
                close_case(**facts, case=one, note="LATER")
        for calibration in Calibration.objects.select_related("instrument"):
            with self.act("decided"):
                decide_calibration(**facts, calibration=calibration, decision="accepted", reason="LATER")
            with self.act("interval"):
                decide_interval(
                    **facts, calibration=calibration, interval=7, interval_unit="months", reason="LATER reason"
                )
        for check in IntermediateCheck.objects.all():
            with self.act("struck"):
                strike_check(**facts, check=check, reason="LATER")
        for planned in planned_checks(self.at):
            with self.act("ended a plan"):
                end_plan(**facts, subject=planned.subject, kind=planned.plan.kind, reason="LATER")
        for one in list(instruments()):
            self.on_instrument(one, place, facts)
        for mounting in Mounting.objects.filter(removed_at=None):
            with self.act("took off"):
                take_off(**facts, mounting=mounting)
        for rig in Rig.objects.order_by("pk"):
            self.on_rig(rig, place, facts)

    def on_instrument(self, one, place, facts):
        with self.act("permit"):
            permit_use(**facts, instrument=one, until_on=self.at.date() + timedelta(days=1), reason="LATER")
        with self.act("planned"):
            plan_check(**facts, subject=Subject(one), kind="other", every_days=5, unit="s", procedure="LATER",
                       source="LATER", error_low=Decimal(-1), error_high=Decimal(1))  # fmt: skip
        for passing in ("1.5", "9"):
            values = CheckValues(reference=Decimal(1), indication=Decimal(passing), unit="s")
            with self.act("checked"):
                record_check(**facts, subject=Subject(one), kind="other", values=values, remarks="LATER",
                             checked_at=self.at - timedelta(days=3))  # fmt: skip
        for limit in instrument_limits(one, self.at).in_force.values():
            with self.act("ended a limit"):
                end_limit(**facts, limit=limit, reason="LATER")
        for unit in ("°C", "s", "N"):
            with self.act("limit"):
                set_limit(**facts, instrument=one, unit=unit, source="LATER", absolute=Decimal("0.0001"),
                          drift_allowance=Decimal(5))  # fmt: skip
        with self.act("calibration"):
            made = enter_calibration(
                **facts, instrument=one, calibrated_on=self.at.date() - timedelta(days=2), interval=1,
                interval_unit="days", calibrated_by="LATER", adjusted=True,
                points=[{"kind": "as found", "reference": Decimal(800), "indication": Decimal(900), "unit": "°C",
                         "expanded_uncertainty": Decimal(1), "coverage_factor": Decimal(2),
                         "coverage_probability": None}],
            )  # fmt: skip
            decide_calibration(**facts, calibration=made, decision="rejected", reason="LATER")
        for kind in ("maintained", "moved", "damaged"):
            with self.act("event"):
                record_event(**facts, instrument=one, kind=kind, text="LATER", place=place,
                             happened_on=self.at.date() - timedelta(days=4))  # fmt: skip
        with self.act("service"):
            change_service(**facts, instrument=one, state="out of service", reason="LATER")
        one.refresh_from_db()
        with self.act("changed"):
            change_instrument(**facts, instrument=one, version=one.version, code=f"Z{one.pk}", description="LATER",
                              maker="LATER", serial_number="LATER", software_version="LATER",
                              maintenance_plan="LATER")  # fmt: skip
        with self.act("case"):
            open_case(**facts, instrument=one, reason="LATER")

    def on_rig(self, rig, place, facts):
        wire = GlowWire.objects.filter(rig=rig, removed_at=None).first()
        if wire is not None:
            with self.act("wire care"):
                clean_wire(**facts, wire=wire, note="LATER")
            with self.act("tip"):
                measure_tip(**facts, wire=wire, tip_mm=Decimal("0.5"), note="LATER")
        with self.act("wire"):
            fit_wire(**facts, rig=rig, code="LATER", seen_wire=None if wire is None else wire.pk, reason="LATER")
        for commissioning in Commissioning.objects.filter(rig=rig, released_at=None):
            with self.act("line"):
                add_line(**facts, commissioning=commissioning, kind="part", title="LATER")
        with self.act("list"):
            open_commissioning(**facts, rig=rig, occasion="repaired", reason="LATER")
        free = Instrument.objects.exclude(mountings__in=Mounting.objects.filter(removed_at=None)).first()
        if free is not None:
            with self.act("mounted"):
                mount_instrument(**facts, rig=rig, instrument=free)
        rig.refresh_from_db()
        with self.act("rig changed"):
            change_rig(**facts, rig=rig, version=rig.version, name="LATER", place=place, in_use=False)


ACTS = {
    "decided a line", "closed a case", "decided", "interval", "struck", "ended a plan", "permit", "planned", "checked",
    "ended a limit", "limit", "calibration", "event", "changed", "case", "took off", "wire care", "tip", "wire", "list",
    "mounted", "rig changed", "line",
}  # fmt: skip


def test_nothing_that_was_done_later_shows(told, monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: told + timedelta(hours=3))
    keeper = UserFactory.create(full_name="Quinn Keeper", roles=Role.values)
    codes = {f"Z{pk}": code for pk, code in Instrument.objects.values_list("pk", "code")}
    walked = list(addresses())
    before = read(keeper, walked)
    day = BusyDay(keeper, told + timedelta(hours=1))
    day.live()
    assert {name for name in day.done if not name.startswith("refused")} == ACTS
    after = read(keeper, walked)
    told_later = {}
    for address, text in before.items():
        said = after[address]
        if "/trace" in address:  # the lines of a trace call instruments what they are called now
            said = re.sub(r"\bZ\d+\b", lambda found: codes[found[0]], said)
        if said != text:
            changes = difflib.unified_diff(text.splitlines(), said.splitlines(), lineterm="", n=0)
            told_later[address] = [line[:300] for line in changes][2:8]
    assert told_later == {}

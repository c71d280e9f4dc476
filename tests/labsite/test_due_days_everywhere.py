"""One due day, told alike by label, list, pages, bench, calendar, reminder and command; counted in one place only."""

import json
import re
import subprocess
from datetime import date, timedelta
from io import StringIO
from pathlib import Path

import pytest
from django.core import mail
from django.core.management import call_command
from django.test import Client
from icalendar import Calendar

from calibration.actions.calendars import make_calendar_address
from calibration.actions.intervals import decide_interval
from calibration.actions.reminders import send_reminders
from calibration.domain.due import day_at, due_on, usable_until
from calibration.models import Instrument
from calibration.queries.usability import usability
from labsite.ledger.models import Place
from labsite.ledger.queries import laboratory_zone
from tests.factories.bench import bench_scene, opened_trial
from tests.factories.ledger import NOON, UserFactory

ROOT = Path(__file__).resolve().parents[2]
DAY = re.compile(r"\d{1,2} [A-Z][a-z]{2} \d{4}")

pytestmark = pytest.mark.django_db


@pytest.fixture
def now(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOON)
    return NOON


@pytest.fixture
def keeper(lab):
    return UserFactory.create(roles=["quality", "technician"], email="hugo@lab.example")


def shown(day: date | None) -> str:
    assert day is not None
    return f"{day.day} {day:%b} {day.year}"


def decided(instrument: Instrument, interval: int, unit: str, by, at) -> date:
    """Decide on another interval and say by hand when that is due."""
    calibration = instrument.calibrations.get()
    decide_interval(by=by, at=at, calibration=calibration, interval=interval, interval_unit=unit, reason="Hard use.")
    return due_on(calibration.calibrated_on, interval, unit)


def row_of(text: str, code: str, css: str) -> str:
    """The part of a page from the mark where a row begins to the next one that names the code."""
    rows = re.split(css, text)
    return next(row for row in rows if re.search(rf">[^<]*\b{code}\b", row))


def test_every_place_tells_the_due_day_that_was_decided(now, keeper):
    scene = bench_scene(NOON)
    one, before = scene.instruments["TC-05"], usability(scene.instruments["TC-05"], NOON).due_on
    due = decided(one, 65, "days", keeper, NOON)
    assert before is not None
    assert due != before
    browser = Client()
    browser.force_login(keeper)

    def page(address: str) -> str:
        return browser.get(address).content.decode()

    told: dict[str, str] = {"usability": shown(usability(one, NOON).due_on)}
    told["list"] = DAY.findall(row_of(page("/calibration/"), "TC-05", "<tr").partition('"when keep">')[2])[0]
    told["page"] = DAY.findall(page(f"/instruments/{one.number}/").partition("<h1>")[2])[0]
    told["history"] = DAY.findall(page(f"/instruments/{one.number}/").partition("<h2>Due</h2>")[2])[0]
    told["rig"] = DAY.findall(row_of(page(f"/rigs/{scene.rig.code}/"), "TC-05", "<tr"))[-2]
    label = browser.get(f"/instruments/{one.number}/label.pdf").content
    words = subprocess.run(["pdftotext", "-", "-"], input=label, capture_output=True, check=True).stdout.decode()  # noqa: S607
    told["label"] = DAY.findall(words.partition("Due on")[2])[0]
    browser.force_login(scene.technician)
    offered = page(f"/bench/open/{scene.specimens[0].number}/")
    told["bench, offered"] = DAY.findall(offered.partition("TC-05, due")[2])[0]
    trial = opened_trial(scene)
    told["bench, used"] = shown(trial.instrument_uses.get(instrument=one).due_on)
    _, secret = make_calendar_address(by=keeper, at=NOON)
    calendar = Calendar.from_ical(Client().get(f"/calendar/{secret}.ics").content)
    events = [event for event in calendar.walk("VEVENT") if "TC-05" in str(event["summary"])]
    told["calendar"] = shown(events[0].decoded("dtstart"))
    send_reminders(at=NOON)
    told["reminder"] = DAY.findall(mail.outbox[0].body.partition("TC-05")[0])[-1]
    out = StringIO()
    calibrated_on = one.calibrations.get().calibrated_on.isoformat()
    call_command("due_date", calibrated_on, "--days", "65", stdout=out)
    told["command"] = shown(date.fromisoformat(json.loads(out.getvalue())["due_on"]))
    assert told == dict.fromkeys(told, shown(due))


def test_the_page_of_a_chamber_tells_its_recorders_due_day(now, keeper):
    bench_scene(NOON)
    recorder = Instrument.objects.get(kind="hygrometer")
    due = decided(recorder, 3, "months", keeper, NOON)
    browser = Client()
    browser.force_login(keeper)
    chamber = Place.objects.filter(kind="chamber").get()
    text = browser.get(f"/conditioning/{chamber.code}/").content.decode()
    assert set(re.findall(r"due <span class=\"keep\">([^<]*)</span>", text)) == {shown(due)}


@pytest.mark.parametrize("zone", ["Pacific/Auckland", "America/Los_Angeles", "Europe/Berlin"])
def test_list_gate_and_calendar_turn_at_the_same_instant(lab, monkeypatch, zone):
    """The server's clock is UTC; the day ends at the laboratory."""
    scene = bench_scene(NOON)
    lab.zone = zone
    lab.save()
    one = scene.instruments["TC-05"]
    due = usability(one, NOON).due_on
    assert due is not None
    end = usable_until(due, laboratory_zone())
    browser, person = Client(), UserFactory.create(roles=["quality"])
    found = []
    for at in (end - timedelta(seconds=1), end):
        monkeypatch.setattr("django.utils.timezone.now", lambda at=at: at)
        browser.force_login(person)  # the session begins at the moment too
        answer = usability(one, at)
        text = browser.get(f"/instruments/{one.number}/").content.decode()
        found.append((answer.usable, "<h1>TC-05 may be used until" in text, day_at(at, laboratory_zone()) - due))
    assert found == [(True, True, timedelta(0)), (False, False, timedelta(days=1))]


def test_months_are_counted_in_one_module_only():
    """A second place that adds months would sooner or later disagree about the end of February."""
    pattern = re.compile(r"relativedelta|monthrange|setMonth|setUTCMonth")
    apps = ("calibration", "specimens", "trials", "reports", "labsite")
    files = [path for app in apps for kind in ("*.py", "*.js") for path in (ROOT / app).rglob(kind)]
    assert len(files) > 300
    found = {str(path.relative_to(ROOT)) for path in files if pattern.search(path.read_text(encoding="utf-8"))}
    assert found == {"calibration/domain/due.py"}

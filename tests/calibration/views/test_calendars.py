"""Calendar addresses and the calendar: the secret once, revocable, no sign-in, read back by the library."""

import re
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from icalendar import Calendar

from calibration.models import CalendarAddress, CheckPlan, IntervalDecision, ServiceChange
from calibration.queries.calendars import addresses_shown_to
from calibration.queries.usability import usability
from labsite.ledger.models import Entry
from tests.factories.calibration import REGISTERED, CalibrationFactory, InstrumentFactory
from tests.factories.ledger import UserFactory

pytestmark = pytest.mark.django_db
PAGE = "/calibration/calendar/"


def made(client: Client) -> str:
    """Make an address and return its path."""
    text = client.post(PAGE).content.decode()
    found = re.search(r"<code>https://lab\.example(/calendar/[\w-]+\.ics)</code>", text)
    assert found is not None
    return found[1]


@pytest.fixture(autouse=True)
def _site(settings, lab):
    settings.SITE_ADDRESS = "https://lab.example"


@pytest.fixture
def path(signed_in) -> str:
    return made(signed_in("technician"))


def due_in(days: int, **more):
    """An accepted calibration that falls due in so many of the laboratory's days."""
    day = timezone.localdate(timezone=None) + timedelta(days=days)
    return CalibrationFactory.create(
        accepted=True, calibrated_on=day - timedelta(days=300), interval=300, interval_unit="days",
        entered_at=REGISTERED + timedelta(days=1), **more,
    )  # fmt: skip


def events(path: str) -> list[Any]:
    response = Client().get(path)
    assert response.status_code == 200
    return Calendar.from_ical(response.content).walk("VEVENT")


def test_the_secret_is_shown_once_and_only_its_fingerprint_kept(signed_in):
    client = signed_in("technician")
    response = client.post(PAGE)
    secret = re.search(r"/calendar/([\w-]+)\.ics", response.content.decode())[1]  # type: ignore[index]
    assert len(secret) == 43  # 32 random bytes
    assert response["Cache-Control"] == "no-store"
    address = CalendarAddress.objects.get()
    assert secret not in str([getattr(address, field.attname) for field in address._meta.fields])
    assert secret not in str(list(Entry.objects.values()))
    assert secret not in client.get(PAGE).content.decode()
    assert (address.person, address.revoked_at, address.last_read_at) == (client.person, None, None)


def test_the_calendar_opens_without_signing_in_and_says_when_it_was_read(path):
    one = due_in(9, instrument__code="TC-01", instrument__description="type K").instrument
    response = Client().get(path)
    assert (response.status_code, response["Content-Type"]) == (200, "text/calendar; charset=utf-8")
    assert response["Cache-Control"] == "no-store"
    assert not response.cookies
    (event,) = Calendar.from_ical(response.content).walk("VEVENT")
    due = usability(one, timezone.now()).due_on
    assert event.decoded("dtstart") == due
    assert type(event.decoded("dtstart")) is date
    assert event["dtstart"].params["VALUE"] == "DATE"
    assert event.decoded("dtend") == due + timedelta(days=1)
    assert event["summary"] == "TC-01: calibration due"
    assert event["description"] == "Thermocouple, type K\nIt may be used to the end of this day."
    assert event["url"] == f"https://lab.example/instruments/{one.number}/"
    assert event["transp"] == "TRANSPARENT"
    assert event.walk("VALARM") == []
    assert CalendarAddress.objects.get().last_read_at is not None


def test_the_file_keeps_the_standard(path):
    """RFC 5545: lines end with CR LF and hold at most 75 octets; version 2.0 and a product are named."""
    due_in(9, instrument__description="ä" * 200)
    content = Client().get(path).content
    assert b"\n" not in content.replace(b"\r\n", b"")
    assert max(map(len, content.split(b"\r\n"))) <= 75
    calendar = Calendar.from_ical(content)
    assert (calendar["version"], calendar["prodid"]) == ("2.0", "-//Laboratory//due days of calibrations//EN")


def test_an_events_name_stays_with_calibration_and_due_day(path):
    calibration = due_in(9)
    first, again = (events(path)[0]["uid"] for _ in range(2))
    assert first == again
    assert first == f"calibration-{calibration.pk}-{calibration.due_on:%Y%m%d}@lab.example"
    IntervalDecision.objects.create(
        calibration=calibration, interval=310, interval_unit="days", reason="x", at=timezone.now(),
        by=calibration.entered_by,
    )  # fmt: skip
    (moved,) = events(path)
    assert moved["uid"] != first
    assert moved.decoded("dtstart") == calibration.due_on + timedelta(days=10)


def test_hostile_names_stay_text(path):
    hostile = "x\r\nEND:VEVENT\r\nBEGIN:VALARM\nTRIGGER:-PT1H;,\\ \u202e\x00<b>☃" + "long " * 30
    due_in(9, instrument__code="TC;,\\1", instrument__description=hostile.replace("\0", "\x01")[:200])
    found = events(path)
    assert len(found) == 1
    assert found[0]["summary"] == "TC;,\\1: calibration due"
    assert (
        found[0]["description"]
        .split("\n")[0]
        .startswith("Thermocouple, x END:VEVENT BEGIN:VALARM TRIGGER:-PT1H;,\\ <b>☃long long")
    )
    assert found[0].walk("VALARM") == []


def test_what_is_in_it_and_what_is_not(path):
    due_in(-3, instrument__code="LATE")
    due_in(400, instrument__code="FAR")
    out = due_in(5, instrument__code="OUT").instrument
    ServiceChange.objects.create(
        instrument=out, state="out of service", reason="dropped", at=REGISTERED, by=UserFactory.create()
    )
    InstrumentFactory.create(code="NEVER")
    CalibrationFactory.create(instrument__code="WAITS")
    assert [str(event["summary"]) for event in events(path)] == ["LATE: calibration due", "FAR: calibration due"]


def test_planned_checks_are_in_it(path):
    one = due_in(50, instrument__code="TC-01").instrument
    plan = CheckPlan.objects.create(
        instrument=one, kind="foil", every_days=30, unit="°C", procedure="Foil at the tip.", source="ours",
        made_at=timezone.now(), made_by=UserFactory.create(),
    )  # fmt: skip
    check, calibration = sorted(events(path), key=lambda event: event.decoded("dtstart"))
    assert check["summary"] == "TC-01: check due, silver foil melts at the tip"
    assert check["uid"] == f"check-{plan.pk}-{check.decoded('dtstart'):%Y%m%d}@lab.example"
    assert check.decoded("dtstart") == timezone.localdate() + timedelta(days=30)
    assert calibration["summary"] == "TC-01: calibration due"


@pytest.mark.parametrize(
    "secret", ["x", "a" * 43, "..", "%00", "é☃", "a" * 3000, "' OR 1=1 --", "<b>", "%F0%9F%98%80", "\ud83d"]
)
def test_an_unknown_address_is_not_found_and_leads_nowhere(lab, secret):
    response = Client().get(f"/calendar/{secret}.ics".encode("utf-8", "replace").decode())
    assert response.status_code == 404
    assert "Location" not in response


def test_an_unknown_address_says_so_in_plain_text_and_is_not_kept(lab):
    response = Client().get("/calendar/nonsense.ics")
    assert (response.status_code, response.content) == (404, b"There is no calendar at this address.\n")
    assert (response["Content-Type"], response["Cache-Control"]) == ("text/plain; charset=utf-8", "no-store")


def test_a_revoked_address_is_not_found_from_then_on(signed_in):
    client = signed_in("technician")
    path = made(client)
    address = CalendarAddress.objects.get()
    response = client.post(reverse("calibration:calendar_revoke", args=[address.pk]), follow=True)
    assert "is revoked" in response.content.decode()
    assert Client().get(path).status_code == 404
    address.refresh_from_db()
    assert (address.revoked_by, address.last_read_at) == (client.person, None)
    acts = Entry.objects.filter(book__name=f"person:{client.person.username}").order_by("sequence")
    assert [entry.act for entry in acts] == ["made a calendar address", "revoked a calendar address"]
    again = client.post(reverse("calibration:calendar_revoke", args=[address.pk]), follow=True)
    assert "already revoked" in again.content.decode()


def test_those_in_use_stand_first(signed_in):
    client = signed_in("technician")
    made(client)
    client.post(reverse("calibration:calendar_revoke", args=[CalendarAddress.objects.get().pk]))
    made(client)
    made(client)
    first, *_, last = list(addresses_shown_to(client.person))
    assert (first, last.revoked_at is None) == (CalendarAddress.objects.latest("pk"), False)


def test_another_address_of_the_person_stays(signed_in):
    client = signed_in("technician")
    first, second = made(client), made(client)
    client.post(reverse("calibration:calendar_revoke", args=[CalendarAddress.objects.earliest("pk").pk]))
    assert [Client().get(path).status_code for path in (first, second)] == [404, 200]


def test_a_person_who_was_switched_off_reads_no_more(signed_in):
    client = signed_in("technician")
    path = made(client)
    client.person.is_active = False
    client.person.save()
    assert Client().get(path).status_code == 404
    client.person.is_active = True
    client.person.save()
    assert Client().get(path).status_code == 200


@pytest.mark.parametrize(("role", "status"), [("technician", 404), ("quality", 302), ("administrator", 302)])
def test_only_keepers_see_and_revoke_what_belongs_to_others(signed_in, role, status):
    path = made(signed_in("technician"))
    address = CalendarAddress.objects.get()
    other = signed_in(role)
    assert (str(address.person) in other.get(PAGE).content.decode()) is (status == 302)
    assert other.post(reverse("calibration:calendar_revoke", args=[address.pk])).status_code == status
    assert Client().get(path).status_code == (404 if status == 302 else 200)


def test_five_addresses_are_enough(signed_in):
    client = signed_in("technician")
    for _ in range(5):
        made(client)
    response = client.post(PAGE)
    assert response.status_code == 422
    assert "You have 5 calendar addresses in use." in response.content.decode()
    client.post(reverse("calibration:calendar_revoke", args=[CalendarAddress.objects.earliest("pk").pk]))
    assert made(client)


@pytest.mark.parametrize("method", ["post", "put", "delete"])
def test_the_calendar_is_only_read(path, method):
    assert getattr(Client(), method)(path).status_code == 405


def test_a_get_revokes_nothing(signed_in, path):
    address = CalendarAddress.objects.get()
    assert signed_in("quality").get(reverse("calibration:calendar_revoke", args=[address.pk])).status_code == 405
    assert Client().head(path).status_code == 200


@pytest.mark.parametrize("count", [1, 3])
def test_the_calendar_takes_as_many_reads_for_three_as_for_one(path, django_assert_num_queries, count):
    for place in range(count):
        due_in(9 + place)
    browser = Client()
    with django_assert_num_queries(9):
        assert len(Calendar.from_ical(browser.get(path).content).walk("VEVENT")) == count


def test_the_day_of_an_event_is_the_due_day_whatever_the_zone(lab, path):
    calibration = CalibrationFactory.create(accepted=True, calibrated_on=date(2026, 1, 31), interval=1)
    found = []
    for zone in ("Pacific/Auckland", "America/Los_Angeles", "UTC"):
        lab.zone = zone
        lab.save()
        found.append(events(path)[0].to_ical().decode().split("DTSTART;VALUE=DATE:")[1][:8])
    assert found == ["20260228"] * 3
    assert calibration.due_on == date(2026, 2, 28)


def test_a_stamp_is_a_moment_in_utc(path):
    due_in(9)
    stamp = events(path)[0].decoded("dtstamp")
    assert isinstance(stamp, datetime)
    assert stamp.utcoffset() == timedelta(0)

"""Addresses with questions nobody would ask: a sentence or a plain page, never a broken one."""

import re

import pytest
from django.test import Client

from calibration.models import Instrument
from labsite.ledger.models import Entry
from tests.factories.ledger import UserFactory
from trials.models import Trial

pytestmark = pytest.mark.usefixtures("told", "db")

ASKED = [
    "/conditioning/CH-1/?since=0001-01-01&until=9999-12-31",
    "/conditioning/CH-1/?since=9999-12-31",
    "/conditioning/CH-1/stretch/?from=0001-01-01T00:00%2B14:00&until=9999-12-31T23:59-12:00",
    "/conditioning/stays/new/?line=99999999999999999999999",
    "/authorisations/?on=0001-01-01",
    "/authorisations/?on=9999-12-31",
    "/certificates/?after=99999999999999999999999999",
    "/counter/?q=%00",
    "/counter/?before=%00",
    "/clients/?q=%00",
    "/queue/?q=%00&q=a",
    "/methods/guide/?q=%00&part=%00&evidence=%00",
    "/find/?number=%00%ed%a0%80",
    "/calibration/?as_of=0001-01-01",
    "/calibration/?as_of=9999-12-31",
    "/calibration/?as_of=2026-W09-4",
    "/calibration/?as_of=2026-02-30&as_of=%ed%a0%80",
    "/calibration/instruments.csv?as_of=0001-01-01",
    "/calibration/by-clause.csv?as_of=9999-12-31",
    "/calibration/instruments.%00",
    "/rigs/GW-1/?as_of=%EF%BC%92%EF%BC%90%EF%BC%92%EF%BC%96-01-01",
    "/rigs/GW-1/wires/?as_of=0001-01-01",
    "/rigs/GW-1/checks/new/nothing/",
    "/traces/?as_of=0001-01-01",
    "/traces/1/lines.xlsx?as_of=0001-01-01",
    "/methods/glow-wire-end-product@2021/budgets/%00/new/",
    "/calendar/%ed%a0%80.ics",
]
TRACED = [
    "from_on=0001-01-01&until_on=9999-12-31",
    "from_on=2026-03-01&until_on=2026-02-01",
    "from_on=2026-02-30",
    "calibration=99999999999999999999999",
    "calibration=NaN&as_of=0001-01-01",
]
ODD_TEXTS = [
    "a\0b",
    "\u202ea",
    "1e400",
    "NaN",
    "-Infinity",
    "1,234",
    "\uff11\uff12",
    "9" * 40,
    "2026-W09-4",
    "x" * 20_000,
]
KEPT = [
    "limits/new/",
    "calibrations/new/",
    "event/",
    "permit/",
    "checks/new/other/",
    "checks/plan/other/",
    "trace/open/",
]


@pytest.mark.parametrize("address", ASKED)
def test_an_odd_question_breaks_nothing(address):
    browser = Client(raise_request_exception=False)
    browser.force_login(UserFactory.create(roles=["counter", "lead", "quality"]))
    assert browser.get(address).status_code in (200, 404, 422)


def keeper():
    browser = Client(raise_request_exception=False)
    browser.force_login(UserFactory.create(roles=["quality", "lead", "technician", "signatory"]))
    return browser


@pytest.mark.parametrize("asked", TRACED)
def test_an_odd_window_of_a_trace_breaks_nothing(asked):
    number = Instrument.objects.get(code="TC-05").number
    assert keeper().get(f"/instruments/{number}/trace/?{asked}").status_code in (200, 422)


@pytest.mark.parametrize("form", KEPT)
def test_odd_texts_in_every_box_are_answered_beside_them(form):
    """Every box of the form holds the same odd text; none of them makes a record."""
    browser = keeper()
    address = f"/instruments/{Instrument.objects.get(code='TC-05').number}/{form}"
    page = browser.get(address)
    names = (
        re.findall(r'<(?:input|select|textarea)[^>]* name="([^"]+)"', page.content.decode())
        if page.status_code == 200
        else WINDOW
    )
    boxes = [name for name in names if name not in ("csrfmiddlewaretoken", "form_key")]
    before = Entry.objects.count()
    assert {browser.post(address, dict.fromkeys(boxes, text)).status_code for text in ODD_TEXTS} <= {400, 422}
    assert browser.post(address, {"nothing": "known"}).status_code == 422
    assert Entry.objects.count() == before


@pytest.mark.parametrize("rows", ["1000000000", "-1", "NaN", "99999999999999999999999999"])
@pytest.mark.parametrize("pressed", [{}, {"more": "1"}, {"read": "1"}])
def test_a_page_that_says_it_has_any_number_of_rows_is_answered(rows, pressed):
    number = Instrument.objects.get(code="TC-05").number
    typed = {f"points-{name}_FORMS": rows for name in ("TOTAL", "INITIAL")} | pressed
    assert keeper().post(f"/instruments/{number}/calibrations/new/", typed).status_code in (200, 422)


@pytest.mark.parametrize("body", [b"", b"null", b"[" * 100_000, b'{"events": [1]}', b"\xff\xfe", b'{"events": NaN}'])
def test_what_no_tablet_sends_is_answered_with_a_sentence(body):
    trial = Trial.objects.filter(opened_by__username="oren").latest("pk")
    browser = Client(raise_request_exception=False)
    browser.force_login(trial.opened_by)
    answer = browser.post(f"/bench/{trial.pk}/events/", body, content_type="application/json")
    assert (answer.status_code, answer.json()["sentence"].split(" (")[0]) == (409, SENTENCE)


WINDOW = ["from_on", "until_on", "calibration", "reason"]
SENTENCE = "The tablet sent something that is no list of entries"

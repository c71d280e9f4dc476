"""The pages of a reverse trace: looked at, opened, worked off, exported, and as they stood on a past day."""

import json
from datetime import timedelta
from io import BytesIO, StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from openpyxl import load_workbook

from reports.actions.traces import open_case
from reports.models import TraceCase
from tests.factories.ledger import UserFactory
from tests.factories.traces import BACK_AT, returned

pytestmark = pytest.mark.django_db


@pytest.fixture
def told(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: BACK_AT + timedelta(hours=6))
    return returned("851.0", "839.0")


@pytest.fixture
def case(told):
    return open_case(by=told.keeper, at=BACK_AT, instrument=told.thermocouple, reason="=2+2 came back high")


def page(by, path, **posted):
    browser = Client()
    browser.force_login(by)
    answer = browser.post(path, posted) if posted else browser.get(path)
    return answer.status_code, answer.content.decode()


def address(told, more=""):
    return f"/instruments/{told.thermocouple.number}/trace/{more}"


def test_anybody_looks_at_it_without_a_case(told):
    status, text = page(UserFactory.create(roles=["technician"]), address(told))
    assert status == 200
    assert "TC-05 touched 2 things: 1 changes; 1 does not change." in text
    assert "Open the case" not in text
    assert TraceCase.objects.count() == 0


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        ("?from_on=2026-05-02&until_on=2026-05-01", "before it begins on 2 May 2026"),
        ("?from_on=2026-05-02", "Give both days, or neither"),
        ("?from_on=0001-01-01&until_on=2026-05-01", "Look at the year again"),
        ("?from_on=yesterday&until_on=2026-05-01", "valid date"),
    ],
)
def test_a_window_that_is_none_is_said_and_the_typing_stays(told, asked, sentence):
    status, text = page(told.keeper, address(told, asked))
    assert status == 422
    assert sentence in text


def test_the_keeper_opens_a_case_and_is_told_what_is_missing(told):
    status, text = page(told.keeper, address(told, "open/"), reason=" ", from_on="", until_on="")
    assert (status, "Write why the instrument is in doubt." in text) == (422, True)
    status, _ = page(told.keeper, address(told, "open/"), reason="8 K high", from_on="", until_on="")
    assert status == 302
    assert TraceCase.objects.get().reason == "8 K high"


def test_the_part_of_the_instruments_page_goes_on_with_the_open_case(told, case):
    _, text = page(told.keeper, address(told, "part/"))
    assert "as found when case 1 was opened" in text
    assert "Go on with case 1" in text


def test_a_line_is_decided_with_its_reason(told, case):
    status, text = page(told.keeper, "/traces/1/lines/1/", act="notify", note="")
    assert (status, "Write the reason; it stands in the case from now on." in text) == (422, True)
    status, _ = page(told.keeper, "/traces/1/lines/1/", act="notify", note="Rang <b>them</b>")
    assert status == 302
    _, text = page(told.keeper, "/traces/1/")
    assert "Rang &lt;b&gt;them&lt;/b&gt;" in text
    assert "Everything that changed in case 1 is decided." in text


def test_unchanged_lines_are_decided_together(told, case):
    assert page(told.keeper, "/traces/1/unchanged/", note="x")[0] == 422
    assert page(told.keeper, "/traces/1/unchanged/", positions="2", note="inside")[0] == 302
    assert case.lines.get(position=2).decisions.get().note == "inside"


def test_closing_waits_for_what_changed(told, case):
    status, text = page(told.keeper, "/traces/1/close/", note="done")
    assert (status, "1 line is still to be decided" in text) == (422, True)
    page(told.keeper, "/traces/1/lines/1/", act="note", note="seen")
    assert page(told.keeper, "/traces/1/close/", note="done")[0] == 302
    assert "closed" in page(told.keeper, "/traces/")[1]
    for part in ("part/", ""):
        text = page(told.keeper, address(told, part))[1]
        assert (">Case 1</a> looked at what it touched from" in text, "Go on with case" in text) == (True, False)


def test_on_a_past_day_the_case_was_not_there(told, case):
    assert page(told.keeper, "/traces/1/?as_of=2026-01-01")[0] == 404
    assert "No reverse trace is open." in page(told.keeper, "/traces/?as_of=2026-01-01")[1]


def test_its_files_hold_each_line_and_run_nothing(told, case):
    browser = Client()
    browser.force_login(told.keeper)
    lines = browser.get("/traces/1/lines.csv").content.decode("utf-8-sig").splitlines()
    assert len(lines) == 3
    sheet = load_workbook(BytesIO(browser.get("/traces/1/lines.xlsx").content)).active
    assert [row[18].value for row in sheet.iter_rows()] == ["Finding", "changed", "unchanged"]


def test_the_list_and_the_case_read_a_constant_number_of_rows(told, case, django_assert_max_num_queries):
    browser = Client()
    browser.force_login(told.keeper)
    with django_assert_max_num_queries(16):
        browser.get("/traces/1/")
    with django_assert_max_num_queries(16):
        browser.get("/traces/")


def test_the_command_says_the_same_as_the_page(told):
    written = StringIO()
    call_command("trace", "tc05", stdout=written)
    answer = json.loads(written.getvalue())
    assert answer["says"] == "1 changes; 1 does not change."
    assert [line["finding"] for line in answer["lines"]] == ["changed", "unchanged"]


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        (("nope",), "No instrument has the number or code “nope”."),
        (("TC-05", "--from", "2026-05-01"), "A window has two ends"),
        (("TC-05", "--from", "2026-05-02", "--to", "2026-05-01"), "before it begins"),
        (("TC-05", "--from", "1.5.2026", "--to", "2026-05-01"), "“1.5.2026” is no day"),
    ],
)
def test_the_command_refuses_with_a_sentence(told, asked, sentence):
    with pytest.raises(CommandError, match=sentence) as refused:
        call_command("trace", *asked)
    assert refused.value.returncode == 2

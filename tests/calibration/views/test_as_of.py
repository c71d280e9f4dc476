"""Pages as of a past day: nothing entered, decided, moved or mounted later shows, and nothing can be done."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.test import RequestFactory
from django.urls import reverse
from django.utils import timezone

from calibration.actions.calibrations import decide_calibration, enter_calibration
from calibration.actions.instruments import change_instrument, change_service, register_instrument
from calibration.actions.rigs import change_rig, mount_instrument, register_rig, take_off
from calibration.views.as_of import as_of, moment_asked
from labsite.ledger.queries import laboratory_day
from tests.factories.calibration import CalibrationFactory, InstrumentFactory, MountingFactory
from tests.factories.ledger import PlaceFactory

pytestmark = pytest.mark.django_db
FIRST, SECOND = datetime(2026, 3, 3, 22, 59, 59, tzinfo=UTC), datetime(2026, 3, 3, 23, 0, tzinfo=UTC)
"""In Berlin: a second before and at the midnight that ends 3 March."""
THEN = "?as_of=2026-03-03"


@pytest.fixture
def asked(lab):
    def ask(typed):
        request = RequestFactory().get("/calibration/", {"as_of": typed, "group": "hand"})
        request.laboratory = lab  # type: ignore[attr-defined]  # as the middleware does
        return request

    return ask


@pytest.mark.parametrize(
    ("typed", "moment"),
    [
        ("2026-03-03", datetime(2026, 3, 3, 22, 59, 59, 999999, tzinfo=UTC)),  # winter, one hour ahead of UTC
        ("2026-03-29", datetime(2026, 3, 29, 21, 59, 59, 999999, tzinfo=UTC)),  # the day the clocks go forward
        ("2024-02-29", datetime(2024, 2, 29, 22, 59, 59, 999999, tzinfo=UTC)),
    ],
)
def test_a_past_day_is_answered_at_its_last_instant_in_the_laboratory(asked, typed, moment):
    assert moment_asked(asked(typed)) == moment
    found = as_of(asked(typed))
    assert (found.past, found.refusal, found.query) == (True, "", f"?as_of={typed}")


@pytest.mark.parametrize(
    "typed",
    ["yesterday", "2026-02-29", "03.03.2026", "20260303", "2026-W10-2", "0000-00-00", "<b>", "9" * 400, "२०२६-०३-०३"],
)
def test_nonsense_is_refused_with_a_sentence_and_shows_now(asked, typed):
    found = as_of(asked(typed))
    assert not found.past
    assert found.refusal.startswith(f"“{typed[:40]}” is no day; write it as year-month-day")
    assert abs(found.at - timezone.now()) < timedelta(minutes=1)


def test_a_day_to_come_is_refused_and_today_is_now(asked):
    today = laboratory_day(timezone.now())
    tomorrow = as_of(asked((today + timedelta(days=1)).isoformat()))
    assert (tomorrow.past, "is still to come" in tomorrow.refusal) == (False, True)
    now = as_of(asked(today.isoformat()))
    assert (now.past, now.refusal, now.query) == (False, "", "")
    assert now.kept == (("group", "hand"),)


@pytest.fixture
def story(person):
    """An instrument on shelf A, changed, mounted, accepted and taken out of service just after the day in question."""
    keeper, a, b = person("quality"), PlaceFactory.create(code="A-1"), PlaceFactory.create(code="B-2")
    rig = register_rig(by=keeper, at=FIRST, code="GW-1", name="Old name", kind="glow wire")
    one = register_instrument(
        by=keeper, at=FIRST, code="TC-05", kind="thermocouple", description="type K", place=a, firmware_version="1.0"
    )
    calibration = enter_calibration(
        by=keeper, at=FIRST, instrument=one, calibrated_on=date(2026, 3, 2), interval=12, interval_unit="months",
        calibrated_by="Nowhere Metrology",
    )  # fmt: skip
    mounting = mount_instrument(by=keeper, at=FIRST, rig=rig, instrument=one)
    change_instrument(
        by=keeper, at=SECOND, instrument=one, version=1, code="TC-50", description="x", place=b, firmware_version="2.0"
    )
    decide_calibration(by=keeper, at=SECOND, calibration=calibration, decision="accepted", reason="good then")
    take_off(by=keeper, at=SECOND, mounting=mounting)
    change_service(by=keeper, at=SECOND, instrument=one, state="out of service", reason="dropped later")
    change_rig(by=keeper, at=SECOND, rig=rig, version=1, name="New name", place=None, in_use=False)
    enter_calibration(
        by=keeper, at=SECOND, instrument=one, calibrated_on=date(2026, 3, 3), interval=12, interval_unit="months",
        calibrated_by="Later Metrology",
    )  # fmt: skip
    return one


LATER = ("TC-50", "B-2", "2.0", "good then", "dropped later", "Later Metrology", "New name", "Never")


def page(browser, name, *arguments):
    return browser.get(reverse(f"calibration:{name}", args=arguments) + THEN).content.decode()


def test_the_page_of_one_shows_that_day_and_no_act(signed_in, story):
    text = page(signed_in("quality", "lead"), "instrument", story.number)
    assert "On 3 Mar 2026, TC-05 must not have been used: its calibration of 2 Mar 2026 awaits verification." in text
    assert "This page answers as known at the end of 3 Mar 2026." in text
    assert [word for word in LATER[:-1] if word in text] == []
    for known in (
        "A-1",
        "1.0",
        "Nowhere Metrology",
        "Mounted on",
        "awaiting verification",
        "Never taken out of service",
    ):
        assert known in text
    main = text[text.index("<main") :]
    assert 'method="post"' not in main
    assert 'class="act"' not in main
    for act in ("Decide", "Enter a calibration", "Take it out of service", "Change these facts", "Print the label"):
        assert act not in main


def test_the_lists_and_the_rig_show_that_day(signed_in, story):
    browser = signed_in("quality", "lead")
    for name, arguments, said in (
        ("instruments", (), "On 3 Mar 2026, 0 of 1 instruments could be used."),
        ("rigs", (), "On 3 Mar 2026, 0 of 1 rig stood ready."),
        ("rig", ("GW-1",), "On 3 Mar 2026, GW-1 was blocked."),
    ):
        text = page(browser, name, *arguments)
        assert said in text
        assert [word for word in LATER if word in text] == []
        assert "TC-05" in text
        main = text[text.index("<main") :]
        assert 'method="post"' not in main
        assert 'class="act"' not in main


def test_the_day_after_shows_all_of_it(signed_in, story):
    address = reverse("calibration:instrument", args=[story.number]) + "?as_of=2026-03-04"
    text = signed_in("quality").get(address).content.decode()
    assert [word for word in LATER if word not in text] == ["New name", "Never"]


def test_what_was_not_registered_yet_says_so(signed_in, story):
    address = reverse("calibration:instrument", args=[story.number]) + "?as_of=2026-03-02"
    text = signed_in("quality").get(address).content.decode()
    assert "TC-50 was not registered yet on 2 Mar 2026." in text
    lists = [reverse(f"calibration:{name}") + "?as_of=2026-03-02" for name in ("instruments", "rigs")]
    texts = [signed_in("quality").get(address).content.decode() for address in lists]
    assert "No instrument was registered by 2 Mar 2026." in texts[0]
    assert "No rig was registered by 2 Mar 2026." in texts[1]


def test_an_instrument_without_a_word_of_that_time_in_its_book_says_so(signed_in):
    one = InstrumentFactory.create()
    assert "Its book says nothing of that time" in page(signed_in("quality"), "instrument", one.number)


@pytest.mark.parametrize("name", ["instruments", "rigs"])
def test_a_past_list_takes_as_many_reads_for_three_rows_as_for_one(
    signed_in, person, django_assert_max_num_queries, name
):
    client, keeper, counts = signed_in("technician"), person("quality"), []
    for number in range(3):
        calibration = CalibrationFactory.create(accepted=True, instrument__place=PlaceFactory.create())
        rig = register_rig(by=keeper, at=FIRST, code=f"GW-{number}", name="Rig", kind="glow wire")
        MountingFactory.create(instrument=calibration.instrument, rig=rig)
        with django_assert_max_num_queries(30) as asked:
            assert client.get(reverse(f"calibration:{name}") + THEN).status_code == 200
        counts.append(len(asked))
    assert counts[0] == counts[2]

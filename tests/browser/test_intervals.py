"""The interval review and the calendar's address in a real browser, with long and hostile data, on desk and tablet."""

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from calibration.models import CalendarAddress, IntervalDecision
from tests.browser.conftest import DESK, TABLET
from tests.factories.calibration import CalibrationFactory, InstrumentFactory
from tests.factories.ledger import LaboratoryFactory, UserFactory

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
HOSTILE = "<script>alert(1)</script> " + "Thermoelementmessstellenumschalter" * 4


@pytest.fixture
def keeper():
    LaboratoryFactory.create()
    return UserFactory.create(full_name="Hugo Pennywhistle-Featherstonehaugh the Younger", roles=["quality"])


@pytest.fixture
def calibration(keeper):
    """The newest of six yearly calibrations with many digits, at three places, once adjusted."""
    now = timezone.now()
    one = InstrumentFactory.create(code="TC-LONG.CODE-1234567", description=HOSTILE, registered_at=now)
    one.limits.create(
        unit="°C", absolute="2.500000", relative="0.004", source=HOSTILE[:200], made_by=keeper,
        made_at=now - timedelta(days=3000),
    )  # fmt: skip
    for place in range(6):
        entered = now - timedelta(days=20 + 365 * (5 - place))
        made = CalibrationFactory.create(
            accepted=True, instrument=one, calibrated_on=entered.date(), entered_at=entered
        )
        for reference in ("-40.000", "850.000000", "960.0"):
            error = f"{0.1234567 + 0.3 * place:.7f}"
            indication = f"{float(reference) + float(error):.7f}"
            made.points.create(kind="as found", reference=reference, indication=indication, unit="°C")
            if place == 3:
                made.points.create(kind="as left", reference=reference, indication=reference, unit="°C")
    return made


@pytest.mark.parametrize("size", [DESK, TABLET])
def test_a_person_reads_the_drift_and_decides(calibration, keeper, opened, accessible, size):
    page = opened(keeper, size)
    page.goto(f"/calibrations/{calibration.pk}/interval/")
    accessible(page)
    assert not page.evaluate("document.documentElement.scrollWidth > innerWidth")
    assert page.locator("figure.chart > svg").count() == 3
    page.get_by_role("radio", name="Another interval").check()
    page.get_by_label("Another interval if any").fill("9")
    page.get_by_label("Reason").fill(HOSTILE)
    page.get_by_role("button", name="Decide on the interval").click()
    page.wait_for_url(f"**/instruments/{calibration.instrument.number}/")
    expect(page.get_by_text("is 9 months from now on.")).to_be_visible()
    expect(page.get_by_role("heading", name="Interval")).to_be_visible()
    accessible(page)
    assert not page.evaluate("document.documentElement.scrollWidth > innerWidth")
    assert IntervalDecision.objects.get().reason == HOSTILE


@pytest.mark.parametrize("size", [DESK, TABLET])
def test_a_calendars_address_is_shown_once(keeper, opened, accessible, size):
    page = opened(keeper, size)
    page.goto("/calibration/calendar/")
    accessible(page)
    page.get_by_role("button", name="Make a calendar address").click()
    expect(page.locator("code")).to_contain_text(".ics")
    accessible(page)
    assert not page.evaluate("document.documentElement.scrollWidth > innerWidth")
    secret = page.locator("code").inner_text()
    page.get_by_role("link", name="It is copied").click()
    expect(page.get_by_text("in use")).to_be_visible()
    assert secret not in page.content()
    page.get_by_role("button", name="Revoke it").click()
    expect(page.get_by_text("is revoked; whoever still asks for it finds nothing.")).to_be_visible()
    assert CalendarAddress.objects.get().revoked_by == keeper

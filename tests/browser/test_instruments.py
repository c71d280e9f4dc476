"""Instruments in a real browser: out of service in two presses at the bench, and pages of a past day."""

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from calibration.queries.usability import usability
from tests.browser.conftest import TABLET
from tests.browser.test_bench import open_trial
from tests.factories.bench import bench_scene

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
LEAST_KEY_PX = 76


@pytest.fixture
def scene():
    """A job at the bench as of now."""
    return bench_scene(timezone.now().replace(microsecond=0))


def test_two_presses_at_the_bench_take_an_instrument_out_and_lead_back(scene, opened, accessible):
    page = opened(scene.technician, TABLET)
    trial = open_trial(page, scene)
    setup = page.url
    page.get_by_role("link", name="Take an instrument out of service").click()  # the first press
    page.wait_for_url("**/instruments/out-of-service/**")
    expect(page.locator("html")).to_have_class("bench")
    accessible(page)
    heights = [key.bounding_box()["height"] for key in page.locator("button.key, a.step").all()]
    assert min(heights) >= LEAST_KEY_PX
    assert not page.evaluate("document.documentElement.scrollWidth > innerWidth")
    one = trial.instrument_uses.earliest("pk").instrument
    page.get_by_role("region", name=one.code).get_by_role("button", name="Damaged").click()  # the second
    page.wait_for_url(setup)
    expect(page.get_by_text(f"{one.code} is out of service from now on.")).to_be_visible()
    assert not usability(one, timezone.now()).usable


@pytest.mark.parametrize("size", [(1280, 900), TABLET])
def test_pages_of_now_and_of_a_past_day_hold_on_desk_and_tablet(scene, opened, accessible, size):
    page = opened(scene.technician, size)
    number = next(iter(scene.instruments.values())).number
    yesterday = (timezone.localdate() - timedelta(days=1)).isoformat()
    for address in ("/calibration/", "/rigs/", f"/instruments/{number}/", f"/instruments/{number}/event/"):
        for query in ("", f"?as_of={yesterday}"):
            page.goto(address + query)
            accessible(page)
            assert not page.evaluate("document.documentElement.scrollWidth > innerWidth")

"""The pages of permits: giving one, what stays typed, the list for the review, and a past day."""

from datetime import timedelta

import pytest
from django.urls import reverse

from calibration.models import UsePermit
from tests.factories.calibration import CalibrationFactory, InstrumentFactory
from tests.factories.ledger import NOON

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def noon(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOON)


@pytest.fixture
def overdue(lab):
    return overdue_instrument("FG-9")


def overdue_instrument(code):
    one = InstrumentFactory.create(code=code)
    CalibrationFactory.create(
        instrument=one, calibrated_on=NOON.date() - 400 * DAY, interval=360, interval_unit="days",
        entered_at=NOON - 390 * DAY, accepted=True,
    )  # fmt: skip
    return one


def test_a_lead_permits_on_the_page_and_the_instrument_says_so(signed_in, overdue):
    lead = signed_in("lead")
    page = lead.get(reverse("calibration:instrument", args=[overdue.number]))
    address = reverse("calibration:permit_new", args=[overdue.number])
    assert address in page.content.decode()
    typed = {"until_on": "2026-03-12", "reason": "New one <on> Friday"}
    assert lead.post(address, typed).status_code == 302
    text = lead.get(reverse("calibration:instrument", args=[overdue.number])).content.decode()
    assert "FG-9 is overdue and used by permit." in text
    assert "New one &lt;on&gt; Friday" in text
    assert UsePermit.objects.get().until_on.isoformat() == "2026-03-12"


@pytest.mark.parametrize("until_on", ["", "tomorrow", "2026-13-01", "2025-01-01", "2027-01-01"])
def test_what_was_typed_stays_when_the_day_will_not_do(signed_in, overdue, until_on):
    address = reverse("calibration:permit_new", args=[overdue.number])
    page = signed_in("quality").post(address, {"until_on": until_on, "reason": "Kept words"})
    assert page.status_code == 422
    assert "Kept words" in page.content.decode()
    assert not UsePermit.objects.exists()


def test_an_instrument_in_calibration_offers_no_permit(signed_in, lab):
    one = InstrumentFactory.create(code="FG-1")
    CalibrationFactory.create(instrument=one, calibrated_on=NOON.date(), entered_at=NOON - DAY, accepted=True)
    lead = signed_in("lead")
    assert (
        "FG-1 cannot be permitted." in lead.get(reverse("calibration:permit_new", args=[one.number])).content.decode()
    )
    page = lead.post(reverse("calibration:permit_new", args=[one.number]), {"until_on": "2026-03-11", "reason": "x"})
    assert page.status_code == 422


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_for_the_review_reads_as_often_for_many(signed_in, person, lab, count, django_assert_num_queries):
    by = person("lead")
    for number in range(count):
        one = overdue_instrument(f"FG-{number}")
        UsePermit.objects.create(
            instrument=one, calibration=one.calibrations.get(), reason="Why", until_on=NOON.date(), given_at=NOON,
            given_by=by,
        )  # fmt: skip
    client = signed_in("quality")
    client.get(reverse("calibration:permits"))
    with django_assert_num_queries(5):
        page = client.get(reverse("calibration:permits"))
    said = "1 permit was" if count == 1 else f"{count} permits were"
    assert f"{said} given to use an overdue instrument." in page.content.decode()
    past = client.get(reverse("calibration:permits") + "?as_of=2026-03-01").content.decode()
    assert "No permit was ever given to use an overdue instrument." in past

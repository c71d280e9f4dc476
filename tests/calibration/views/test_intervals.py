"""The page of the interval review: the proposal first, the drift drawn, a decision with its reason."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from calibration.models import Calibration, InstrumentLimit, IntervalDecision
from tests.factories.calibration import CalibrationFactory, InstrumentFactory

pytestmark = pytest.mark.django_db
UNIT = {"interval_unit": "months"}
"""What the form sends whatever is chosen."""


@pytest.fixture
def calibration(lab) -> Calibration:
    """The newest of four yearly calibrations whose error grows by 0.5 K a year, limit 5 K."""
    now = timezone.now()
    one = InstrumentFactory.create(code="TC-77", registered_at=now - timedelta(days=2000))
    for place, indication in enumerate(("850.1", "850.6", "851.0", "851.6")):
        entered = now - timedelta(days=30 + 365 * (3 - place))
        made = CalibrationFactory.create(
            accepted=True, instrument=one, calibrated_on=entered.date(), entered_at=entered
        )
        made.points.create(reference="850.0", indication=indication, unit="°C")
    InstrumentLimit.objects.create(
        instrument=one, unit="°C", absolute="5.0", source="invented", made_at=now - timedelta(days=1500),
        made_by=made.entered_by,
    )  # fmt: skip
    return made


def address(calibration: Calibration) -> str:
    return reverse("calibration:interval", args=[calibration.pk])


def test_the_page_shows_proposal_drift_and_figures_and_chooses_nothing(signed_in, calibration):
    text = signed_in("quality").get(address(calibration)).content.decode()
    assert (
        "<h1>TC-77 could be calibrated less often.</h1><p>Calibrate less often: every 18 months in place of 12." in text
    )
    assert 'aria-label="Error of TC-77 at 850.0 °C between limits of ±5 K.' in text
    assert "default, to be confirmed by the laboratory" in text
    assert "4 of 4 came back within limits" in text
    assert "checked" not in text.partition("<form class")[2]


def test_the_instruments_page_shows_the_proposal_and_leads_the_keeper_to_the_decision(signed_in, calibration):
    page = reverse("calibration:instrument", args=[calibration.instrument.number])
    text = signed_in("quality").get(page).content.decode()
    assert "4 of 4 came back within limits" in text
    assert address(calibration) in text
    assert address(calibration) not in signed_in("technician").get(page).content.decode()


@pytest.mark.parametrize(
    ("typed", "interval", "unit"),
    [
        ({"choice": "keep", "interval": "99"}, 12, "months"),
        ({"choice": "proposed"}, 18, "months"),
        ({"choice": "other", "interval": "200", "interval_unit": "days"}, 200, "days"),
    ],
)
def test_a_decision_is_recorded_and_shown(signed_in, calibration, typed, interval, unit):
    response = signed_in("quality").post(
        address(calibration), UNIT | typed | {"reason": "Hard <b>use</b>."}, follow=True
    )
    made = IntervalDecision.objects.get()
    assert (made.calibration, made.interval, made.interval_unit) == (calibration, interval, unit)
    text = response.content.decode()
    assert f"The interval of TC-77 is {interval} {unit} from now on." in text
    assert "Hard &lt;b&gt;use&lt;/b&gt;." in text


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"reason": "Hard use."}, "This field is required."),
        ({"choice": "keep"}, "This field is required."),
        ({"choice": "other", "reason": "x"}, "Write the interval, a whole number."),
        ({"choice": "other", "interval": "1,5", "reason": "x"}, "Enter a whole number."),
        ({"choice": "other", "interval": "6", "interval_unit": "weeks", "reason": "x"}, "Select a valid choice."),
        (
            {"choice": "other", "interval": "9000", "interval_unit": "months", "reason": "x"},
            "is outside 1 to 120 months",
        ),
        ({"choice": "never", "reason": "Kept & whole"}, "Kept &amp; whole"),
        ({"choice": "keep", "reason": "y" * 301}, "at most 300"),
    ],
)
def test_what_is_missing_or_wrong_is_named_and_the_typing_kept(signed_in, calibration, typed, words):
    response = signed_in("quality").post(address(calibration), UNIT | typed)
    assert response.status_code == 422
    assert words in response.content.decode()
    assert not IntervalDecision.objects.exists()


def test_an_old_calibration_has_no_form(signed_in, calibration):
    old = calibration.instrument.calibrations.earliest("calibrated_on")
    client = signed_in("quality")
    text = client.get(address(old)).content.decode()
    assert "does not speak for TC-77." in text
    assert "<textarea" not in text
    client.post(address(old), {"choice": "keep", "reason": "x"})
    assert not IntervalDecision.objects.exists()


def test_only_the_keeper_decides(signed_in, calibration):
    for role in ("technician", "lead", "counter", "checker", "signatory", "administrator"):
        assert signed_in(role).get(address(calibration)).status_code == 403


def test_the_next_calibrations_form_begins_with_the_interval_decided_on(signed_in, calibration):
    client = signed_in("quality")
    client.post(
        address(calibration), {"choice": "other", "interval": "200", "interval_unit": "days", "reason": "Hard use."}
    )
    text = client.get(reverse("calibration:calibration_new", args=[calibration.instrument.number])).content.decode()
    assert 'name="interval" value="200"' in text
    assert '<option value="days" selected>' in text


def test_as_of_a_past_day_nothing_decided_later_shows(signed_in, calibration):
    client, typed = signed_in("quality"), {"choice": "other", "interval": "200", "interval_unit": "days", "reason": "x"}
    text = client.post(address(calibration), UNIT | typed, follow=True).content.decode()
    assert "Interval 200 days." in text
    page = reverse("calibration:instrument", args=[calibration.instrument.number])
    earlier = (timezone.localtime() - timedelta(days=2)).date().isoformat()
    text = client.get(page, {"as_of": earlier}).content.decode()
    assert "Interval 12 months." in text
    assert "200 days" not in text

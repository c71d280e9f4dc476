"""Entering a calibration on screen, its points, its file; deciding; the certificate's download."""

from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from calibration.models import Calibration, CalibrationPoint
from tests.factories.calibration import CalibrationFactory, InstrumentFactory

pytestmark = pytest.mark.django_db
FACTS = {
    "calibrated_on": "2026-01-15",
    "interval": "12",
    "interval_unit": "months",
    "calibrated_by": "Nowhere Metrology",
}
PDF = b"%PDF-1.7\nrest"


def page(name: str, *arguments: object) -> str:
    return reverse(f"calibration:{name}", args=arguments)


def typed(*points: dict[str, str], rows: int = 6, **facts: str) -> dict[str, str]:
    """A filled-in form with its rows of points."""
    data = FACTS | facts | {"points-TOTAL_FORMS": str(rows), "points-INITIAL_FORMS": "0"}
    for number in range(rows):
        point = points[number] if number < len(points) else {}
        data |= {f"points-{number}-{name}": value for name, value in ({"kind": "as found"} | point).items()}
    return data


POINT = {
    "reference": "850.0",
    "indication": "846,10",
    "unit": "°C",
    "expanded_uncertainty": "1.10",
    "coverage_factor": "2.00",
}


def test_a_calibration_with_file_and_points_is_kept_digit_for_digit(signed_in):
    one, client = InstrumentFactory.create(), signed_in("quality")
    upload = SimpleUploadedFile("K 1.pdf", PDF)
    response = client.post(page("calibration_new", one.number), typed(POINT) | {"certificate": upload})
    assert (response.status_code, response.url) == (302, page("instrument", one.number))
    point = CalibrationPoint.objects.get()
    kept = (point.reference, point.indication, point.expanded_uncertainty, point.coverage_factor)
    assert [str(value) for value in kept] == ["850.0", "846.10", "1.10", "2.00"]
    text = client.get(page("instrument", one.number)).content.decode()
    assert '<small>as found, <span class="keep">U 1.10 K, k 2.00</span></small>' in text
    assert '850.0 → 846.10 °C, <b class="keep">−3.90 K</b>' in text
    assert "awaiting verification" in text
    file = client.get(page("calibration_certificate", Calibration.objects.get().pk))
    assert (file.content, file["Content-Type"]) == (PDF, "application/pdf")


def test_any_signed_in_person_reads_the_certificate_and_nobody_else(signed_in, client):
    one = InstrumentFactory.create()
    upload = SimpleUploadedFile("K1.pdf", PDF)
    signed_in("quality").post(page("calibration_new", one.number), typed() | {"certificate": upload})
    address = page("calibration_certificate", Calibration.objects.get().pk)
    assert signed_in("checker").get(address).status_code == 200
    assert client.get(address).status_code == 302
    assert signed_in("checker").get(page("calibration_certificate", CalibrationFactory.create().pk)).status_code == 404


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ({"calibrated_on": "15/01/2026"}, "Write the day as year-month-day, for example 2026-05-14."),
        ({"calibrated_on": "2026-02-30"}, "Write the day as year-month-day, for example 2026-05-14."),
        ({"calibrated_on": "1989-12-31"}, "31 Dec 1989 is before 1 Jan 1990; look at the year again."),
        ({"interval": "0"}, "greater than or equal to 1"),
        ({"interval": "1.5"}, "Enter a whole number."),
        ({"interval": "121"}, "An interval of 121 months is outside 1 to 120 months."),
        ({"calibrated_by": ""}, "This field is required."),
    ],
)
def test_bad_input_is_named_and_the_typing_stays(signed_in, facts, words):
    one = InstrumentFactory.create()
    data = typed(POINT, certificate_number="kept <7>", **facts)
    response = signed_in("quality").post(page("calibration_new", one.number), data)
    text = response.content.decode()
    assert response.status_code == 422
    assert words in text
    for value in ('value="kept &lt;7&gt;"', 'value="846,10"', 'value="1.10"'):
        assert value in text
    assert not Calibration.objects.exists()


def test_tomorrow_is_refused(signed_in):
    tomorrow = (timezone.localdate() + timedelta(days=2)).isoformat()
    response = signed_in("quality").post(
        page("calibration_new", InstrumentFactory.create().number), typed(calibrated_on=tomorrow)
    )
    assert "is in the future; today is" in response.content.decode()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"indication": "84x"}, "“84x” is not a number."),
        ({"indication": ""}, "Indication is missing: a point has reference, indication and unit."),
        ({"unit": "furlong"}, "“furlong” is none of the units this instrument measures in."),
        ({"coverage_factor": "0"}, "A coverage factor is above zero."),
        ({"coverage_probability": "95"}, "Write it as a share, 0.95 or 0.9545."),
        ({"reference": "850.00000000000001"}, "Reference: 850.00000000000001 has more than 15 digits."),
        ({"unit": ""}, "Unit is missing: a point has reference, indication and unit."),
        ({"reference": "1.234"}, "“1.234” can be read in two ways."),
        ({"expanded_uncertainty": "-1.0"}, "An uncertainty is not below zero."),
    ],
)
def test_a_bad_point_is_named_with_its_row(signed_in, change, words):
    one = InstrumentFactory.create()
    response = signed_in("quality").post(page("calibration_new", one.number), typed({}, POINT | change))
    text = response.content.decode()
    assert response.status_code == 422
    assert words in text
    assert "in row 2</a>:" in text
    assert not Calibration.objects.exists()


def test_a_refused_file_is_named_and_asked_for_again(signed_in):
    upload = SimpleUploadedFile("page.pdf", b"<html>")
    data = typed(POINT) | {"certificate": upload}
    response = signed_in("quality").post(page("calibration_new", InstrumentFactory.create().number), data)
    text = response.content.decode()
    assert response.status_code == 422
    assert "“page.pdf” is not a PDF, JPEG or PNG file" in text
    assert "choose “page.pdf” once more" in text
    assert 'value="850.0"' in text


def test_more_rows_keep_everything_typed_and_enter_nothing(signed_in):
    one, client = InstrumentFactory.create(), signed_in("quality")
    data = typed(POINT, calibrated_on="typo", certificate_number="K-7") | {"more": "yes"}
    response = client.post(page("calibration_new", one.number), data)
    text = response.content.decode()
    assert response.status_code == 200
    assert 'name="points-TOTAL_FORMS" value="12"' in text
    for value in ('value="846,10"', 'value="K-7"'):
        assert value in text
    assert not Calibration.objects.exists()
    many = typed(*[POINT] * 12, rows=12) | {"points-INITIAL_FORMS": "6"}
    assert client.post(page("calibration_new", one.number), many).status_code == 302
    assert CalibrationPoint.objects.count() == 12


def test_a_tampered_number_of_rows_is_refused_in_words(signed_in):
    data = FACTS | {"points-TOTAL_FORMS": "x", "points-INITIAL_FORMS": "0"}
    response = signed_in("quality").post(page("calibration_new", InstrumentFactory.create().number), data)
    assert response.status_code == 422
    assert not Calibration.objects.exists()


def test_the_keeper_decides_and_the_page_shows_both_people(signed_in):
    waiting, client = CalibrationFactory.create(entered_by__full_name="Eve Enterer"), signed_in("quality")
    assert (
        "Are the figures of 15 Jan 2026 good enough"
        in client.get(page("calibration_decide", waiting.pk)).content.decode()
    )
    response = client.post(page("calibration_decide", waiting.pk), {"decision": "rejected", "reason": "3.9 K <low>"})
    assert response.url == page("instrument", waiting.instrument.number)
    text = client.get(response.url).content.decode()
    assert "must not be used: its calibration of 15 Jan 2026 was rejected: 3.9 K &lt;low&gt;." in text
    assert "entered by Eve Enterer" in text
    again = client.post(page("calibration_decide", waiting.pk), {"decision": "accepted", "reason": ""})
    assert again.status_code == 422
    assert "is already decided: rejected" in again.content.decode()


def test_a_rejection_without_reason_and_no_choice_are_named(signed_in):
    waiting, client = CalibrationFactory.create(), signed_in("quality")
    answers = [
        client.post(page("calibration_decide", waiting.pk), {"decision": decision, "reason": ""}).content.decode()
        for decision in ("rejected", "", "awaits")
    ]
    assert "Write the reason; it stands on the instrument&#x27;s page from now on." in answers[0]
    assert "This field is required." in answers[1]
    assert "Select a valid choice" in answers[2]


@pytest.mark.parametrize("role", ["counter", "technician", "lead", "checker", "signatory", "administrator"])
def test_only_the_keeper_enters_and_decides(signed_in, role):
    waiting, client = CalibrationFactory.create(), signed_in(role)
    answers = (
        client.post(page("calibration_decide", waiting.pk), {"decision": "accepted"}),
        client.post(page("calibration_new", waiting.instrument.number), typed()),
    )
    assert [answer.status_code for answer in answers] == [403, 403]
    waiting.refresh_from_db()
    assert (waiting.decision, Calibration.objects.count()) == ("awaits", 1)

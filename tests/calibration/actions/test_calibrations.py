"""Entering a calibration with its certificate, and deciding on it once."""

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from calibration.actions.calibrations import PointValues, decide_calibration, enter_calibration
from calibration.actions.certificate_files import LARGEST_BYTES
from calibration.models import Calibration, CalibrationPoint
from calibration.queries.usability import usability
from labsite.ledger.models import Entry, StoredFile
from labsite.ledger.queries import ledger_faults
from labsite.ledger.refusals import Refused
from tests.factories.calibration import CalibrationFactory, InstrumentFactory
from tests.factories.ledger import NOON

pytestmark = pytest.mark.django_db
FACTS: dict[str, Any] = {
    "calibrated_on": date(2026, 3, 2),
    "interval": 12,
    "interval_unit": "months",
    "calibrated_by": "Nowhere Metrology",
}
PDF, PNG, JPEG = b"%PDF-1.7\nrest", b"\x89PNG\r\n\x1a\nrest", b"\xff\xd8\xff\xe0rest"


def test_an_entered_calibration_waits_keeps_its_digits_its_file_and_its_entry(person):
    keeper, one = person("quality"), InstrumentFactory.create()
    point: PointValues = {
        "kind": "as found", "reference": Decimal("850.0"), "indication": Decimal("846.10"), "unit": "°C",
        "expanded_uncertainty": Decimal("1.10"), "coverage_factor": None,
    }  # fmt: skip
    upload = SimpleUploadedFile("K-1.pdf", PDF)
    made = enter_calibration(by=keeper, at=NOON, instrument=one, certificate=upload, points=[point], **FACTS)
    stored = CalibrationPoint.objects.get(calibration=made)
    assert [str(stored.reference), str(stored.indication), str(stored.expanded_uncertainty)] == [
        "850.0",
        "846.10",
        "1.10",
    ]
    assert (str(stored.error), stored.coverage_factor) == ("-3.90", None)
    file = StoredFile.objects.get()
    assert (bytes(file.content), file.media_type, file.name) == (PDF, "application/pdf", "K-1.pdf")
    entry = Entry.objects.get(book__name=one.book)
    assert (entry.act, entry.by) == ("entered a calibration", keeper)
    assert entry.data["after"]["due on"] == "2027-03-02"
    assert entry.data["after"]["certificate file"] == file.sha256
    assert entry.data["after"]["points"][0]["indication"] == "846.10"
    assert usability(one, NOON).reason == "Its calibration of 2 Mar 2026 awaits verification."
    assert list(ledger_faults()) == []


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        (
            {"calibrated_on": date(2026, 3, 11)},
            "calibrated_on",
            "11 Mar 2026 is in the future; today is 10 Mar 2026 here.",
        ),
        (
            {"calibrated_on": date(1989, 12, 31)},
            "calibrated_on",
            "31 Dec 1989 is before 1 Jan 1990; look at the year again.",
        ),
        ({"interval": 0}, "interval", "An interval of 0 months is outside 1 to 120 months."),
        ({"interval": 121}, "interval", "An interval of 121 months is outside 1 to 120 months."),
        (
            {"interval": 3661, "interval_unit": "days"},
            "interval",
            "An interval of 3661 days is outside 1 to 3660 days.",
        ),
        ({"interval_unit": "weeks"}, "interval_unit", "The interval is in months or in days."),
    ],
)
def test_what_cannot_be_meant_is_refused_in_words_and_nothing_is_kept(person, change, field, words):
    with pytest.raises(Refused) as refusal:
        enter_calibration(by=person("quality"), at=NOON, instrument=InstrumentFactory.create(), **(FACTS | change))
    assert (refusal.value.sentence, refusal.value.field) == (words, field)
    assert not Calibration.objects.exists()
    assert not Entry.objects.exists()


def test_today_is_the_laboratorys_day_not_the_servers(person):
    # 23:30 UTC on 9 March is 00:30 on 10 March in Berlin (UTC+1).
    late, keeper, one = datetime(2026, 3, 9, 23, 30, tzinfo=UTC), person("quality"), InstrumentFactory.create()
    made = enter_calibration(by=keeper, at=late, instrument=one, **(FACTS | {"calibrated_on": date(2026, 3, 10)}))
    assert made.calibrated_on == date(2026, 3, 10)
    with pytest.raises(Refused, match="in the future"):
        enter_calibration(by=keeper, at=late, instrument=one, **(FACTS | {"calibrated_on": date(2026, 3, 11)}))


@pytest.mark.parametrize(
    ("name", "content", "media_type", "kept_as"),
    [
        ("scan.png", PNG, "image/png", "scan.png"),
        ("scan.JPEG", JPEG, "image/jpeg", "scan.JPEG"),
        ("certificate.exe", PDF, "application/pdf", "certificate.exe.pdf"),
        ("certificate.pdf", JPEG, "image/jpeg", "certificate.pdf.jpg"),
    ],
)
def test_a_certificate_is_known_by_its_first_bytes(person, name, content, media_type, kept_as):
    upload = SimpleUploadedFile(name, content, content_type="text/html")
    enter_calibration(by=person("quality"), at=NOON, instrument=InstrumentFactory.create(), certificate=upload, **FACTS)
    file = StoredFile.objects.get()
    assert (file.name, file.media_type, bytes(file.content)) == (kept_as, media_type, content)


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("page.pdf", b"<html><script>alert(1)</script>", "“page.pdf” is not a PDF, JPEG or PNG file"),
        ("drawing.png", b'<svg xmlns="http://www.w3.org/2000/svg"/>', "is not a PDF, JPEG or PNG file"),
        ("empty.pdf", b"", "“empty.pdf” is empty"),
        ("big.pdf", PDF + bytes(LARGEST_BYTES), "“big.pdf” has 20.0 MB; up to 20 MB are kept."),
    ],
)
def test_another_file_is_refused_whatever_its_name_says(person, name, content, words):
    upload = SimpleUploadedFile(name, content, content_type="application/pdf")
    with pytest.raises(Refused, match=words) as refusal:
        enter_calibration(
            by=person("quality"), at=NOON, instrument=InstrumentFactory.create(), certificate=upload, **FACTS
        )
    assert refusal.value.field == "certificate"
    assert not Calibration.objects.exists()


def test_one_certificate_is_entered_once_unless_the_first_entry_was_struck_out(person):
    keeper, one = person("quality"), InstrumentFactory.create()
    facts = FACTS | {"certificate_number": "NM-77"}
    first = enter_calibration(by=keeper, at=NOON, instrument=one, **facts)
    with pytest.raises(Refused, match=f"NM-77 is already entered for {one.code}, calibrated on 2 Mar 2026"):
        enter_calibration(by=keeper, at=NOON, instrument=one, **facts)
    decide_calibration(by=keeper, at=NOON, calibration=first, decision="mistaken", reason="wrong year")
    enter_calibration(by=keeper, at=NOON, instrument=one, **facts)
    assert one.calibrations.count() == 2


def test_acceptance_makes_it_usable_and_keeps_both_people(person):
    entered_by, decided_by = person("quality"), person("quality")
    waiting = CalibrationFactory.create(calibrated_on=date(2026, 3, 2), entered_by=entered_by)
    made = decide_calibration(by=decided_by, at=NOON, calibration=waiting, decision="accepted")
    assert (made.entered_by, made.decided_by, made.decided_at) == (entered_by, decided_by, NOON)
    answer = usability(waiting.instrument, NOON)
    assert (answer.usable, answer.calibration_id, answer.due_on) == (True, waiting.pk, date(2027, 3, 2))
    entry = Entry.objects.get(book__name=waiting.instrument.book)
    assert (entry.act, entry.by, entry.data["entered by"]) == (
        "accepted the calibration",
        decided_by,
        entered_by.username,
    )
    assert (entry.data["before"], entry.data["after"]) == ("awaits", "accepted")


def test_who_entered_it_may_decide(person):
    keeper = person("quality")
    waiting = CalibrationFactory.create(entered_by=keeper)
    assert decide_calibration(by=keeper, at=NOON, calibration=waiting, decision="accepted").decided_by == keeper


@pytest.mark.parametrize("decision", ["rejected", "mistaken"])
def test_a_no_needs_its_reason(person, decision):
    waiting = CalibrationFactory.create()
    with pytest.raises(Refused, match="Write the reason") as refusal:
        decide_calibration(by=person("quality"), at=NOON, calibration=waiting, decision=decision, reason=" ")
    assert refusal.value.field == "reason"
    waiting.refresh_from_db()
    assert waiting.decision == "awaits"


@pytest.mark.parametrize(
    ("first", "word"), [("accepted", "accepted"), ("rejected", "rejected"), ("mistaken", "entered by mistake")]
)
def test_a_decision_is_made_once(person, first, word):
    keeper, waiting = person("quality", full_name="Kim Keeper"), CalibrationFactory.create()
    decide_calibration(by=keeper, at=NOON, calibration=waiting, decision=first, reason="reads low")
    with pytest.raises(Refused, match=f"of 15 Jan 2026 is already decided: {word}, by Kim Keeper"):
        decide_calibration(by=person("quality"), at=NOON, calibration=waiting, decision="accepted")
    waiting.refresh_from_db()
    assert (waiting.decision, waiting.decided_by) == (first, keeper)
    assert Entry.objects.filter(book__name=waiting.instrument.book).count() == 1


def test_waiting_is_no_decision(person):
    with pytest.raises(Refused, match="accepted or rejected"):
        decide_calibration(by=person("quality"), at=NOON, calibration=CalibrationFactory.create(), decision="awaits")

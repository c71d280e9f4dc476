"""A digital certificate on the page that enters a calibration: looked at first, kept byte for byte, or refused."""

import hashlib
import re
from html import unescape

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from calibration.forms import digital_certificates
from calibration.models import Calibration, CalibrationPoint
from labsite.ledger.models import Entry, StoredFile
from tests.calibration.digital_certificates import FORCE_GAUGE, HYGROMETER, THERMOCOUPLE, certificate_bytes
from tests.factories.calibration import InstrumentFactory

pytestmark = pytest.mark.django_db
EMPTY_ROWS = {"points-TOTAL_FORMS": "6", "points-INITIAL_FORMS": "0"}
TYPED = EMPTY_ROWS | {
    "calibrated_on": "2026-05-05",
    "interval": "6",
    "interval_unit": "months",
    "calibrated_by": "We",
}
READ = EMPTY_ROWS | {"read": "yes"}


def upload(content: bytes = b"", name: str = "from the laboratory.xml") -> dict[str, SimpleUploadedFile]:
    return {"data_file": SimpleUploadedFile(name, content or certificate_bytes())}


def address(one) -> str:
    return reverse("calibration:calibration_new", args=[one.number])


def fields(text: str) -> dict[str, str]:
    """What a browser would send back of the page: every named input with its value, every chosen option."""
    found = {}
    for tag in re.findall(r"<input[^>]*>", text):
        name, value = re.search(r'name="([^"]*)"', tag), re.search(r'value="([^"]*)"', tag)
        if name and 'type="file"' not in tag and ('type="checkbox"' not in tag or "checked" in tag):
            found[name[1]] = unescape(value[1]) if value else ""
    for name, inner in re.findall(r'<select name="([^"]*)"[^>]*>(.*?)</select>', text, re.S):
        chosen = re.search(r'<option value="([^"]*)" selected', inner) or re.search(r'<option value="([^"]*)"', inner)
        found[name] = unescape(chosen[1]) if chosen else ""
    return found


@pytest.fixture
def one():
    return InstrumentFactory.create(code="TC-7", serial_number="HV 00417")


def test_its_figures_are_filled_in_to_look_at_and_nothing_is_kept(signed_in, one):
    client = signed_in("quality")
    page = client.post(address(one), READ | upload())
    text = page.content.decode()
    assert page.status_code == 200
    sent = fields(text)
    facts = ("calibrated_on", "calibrated_by", "certificate_number", "interval")
    assert [sent[name] for name in facts] == ["2026-05-05", "Vogsósar Calibration", "VS-T-2026-0417", "12"]
    row = ("kind", "reference", "indication", "unit", "expanded_uncertainty", "coverage_factor")
    assert [sent[f"points-1-{name}"] for name in row] == ["as left", "850.05", "851.25", "°C", "1.2", "2.00"]
    assert "Sheathed thermocouple, type K, Hraunvír HV-K 0.5, serial number HV 00417" in text
    assert "Nothing is kept until you enter the calibration" in text
    assert Calibration.objects.count() == StoredFile.objects.count() == 0


def test_it_is_kept_byte_for_byte_when_the_calibration_is_entered(signed_in, one):
    client = signed_in("quality")
    sent = fields(client.post(address(one), READ | upload()).content.decode())
    done = client.post(address(one), sent)
    assert (done.status_code, done.url) == (302, reverse("calibration:instrument", args=[one.number]))
    made = Calibration.objects.get()
    kept = client.get(reverse("calibration:calibration_data", args=[made.pk]))
    assert kept.content == certificate_bytes()
    assert (kept["Content-Type"], kept["Content-Disposition"]) == (
        "application/octet-stream",
        'attachment; filename="from the laboratory.xml"',
    )
    assert made.awaits
    points = CalibrationPoint.objects.order_by("pk")
    assert [(str(point.reference), str(point.coverage_factor)) for point in points] == [
        ("550.10", "2.00"),
        ("850.05", "2.00"),
        ("959.97", "2.00"),
    ]
    entry = Entry.objects.get(act="entered a calibration")
    assert entry.data["after"]["digital certificate"] == hashlib.sha256(certificate_bytes()).hexdigest()


def test_what_a_person_put_right_is_what_is_entered(signed_in, one):
    client = signed_in("quality")
    sent = fields(client.post(address(one), READ | upload()).content.decode())
    client.post(address(one), sent | {"points-0-indication": "550.95", "certificate_number": "VS-T-2026-0417 rev. 1"})
    made = Calibration.objects.get()
    assert made.certificate_number == "VS-T-2026-0417 rev. 1"
    assert str(made.points.earliest("pk").indication) == "550.95"


def test_three_decimals_of_the_file_are_not_asked_about_but_typed_ones_are(signed_in, one):
    client = signed_in("quality")
    content = certificate_bytes(THERMOCOUPLE, ("550.10 850.05 959.97", "550.102 850.051 959.970"))
    sent = fields(client.post(address(one), READ | upload(content)).content.decode())
    assert sent["points-0-reference"] == "550.102"
    asked = client.post(address(one), sent | {"points-1-reference": "850.052"})
    assert asked.status_code == 422
    assert "“850.052” can be read in two ways" in asked.content.decode()
    assert "“550.102” can be read" not in asked.content.decode()
    assert (
        client.post(address(one), fields(asked.content.decode()) | {"points-1-reference": "850.051"}).status_code == 302
    )
    assert str(CalibrationPoint.objects.earliest("pk").reference) == "550.102"


def test_figures_nobody_has_looked_at_are_never_taken_over(signed_in, one):
    client = signed_in("quality")
    page = client.post(address(one), TYPED | upload())
    text = page.content.decode()
    assert (page.status_code, Calibration.objects.count()) == (200, 0)
    assert "Calibrated by: the file says Vogsósar Calibration; what you wrote is kept." in text
    sent = fields(text)
    assert (sent["calibrated_by"], sent["interval"], sent["points-0-reference"]) == ("We", "6", "550.10")
    assert client.post(address(one), sent).status_code == 302


def test_typed_points_are_not_written_over(signed_in, one):
    client = signed_in("quality")
    page = client.post(address(one), READ | {"points-0-kind": "as left", "points-0-reference": "500"} | upload())
    sent = fields(page.content.decode())
    assert (sent["points-0-reference"], sent["points-1-reference"]) == ("500", "")
    assert "There are points written below already" in page.content.decode()


def test_more_rows_keep_the_file_and_leaving_it_out_keeps_the_typing(signed_in, one):
    client = signed_in("quality")
    sent = fields(client.post(address(one), READ | upload()).content.decode())
    more = fields(client.post(address(one), sent | {"more": "yes"}).content.decode())
    assert (more["seen"], more["carried"]) == (sent["seen"], sent["carried"])
    without = fields(client.post(address(one), sent | {"leave_out": "yes"}).content.decode())
    assert (without.get("seen"), without["points-2-indication"]) == (None, "961.95")
    assert client.post(address(one), without).status_code == 302
    assert Calibration.objects.get().data_file is None


def test_a_large_file_is_chosen_once_more(signed_in, one, monkeypatch):
    monkeypatch.setattr(digital_certificates, "CARRIED_BYTES", 100)
    client = signed_in("quality")
    sent = fields(client.post(address(one), READ | upload()).content.decode())
    assert "carried" not in sent
    missing = client.post(address(one), sent)
    assert missing.status_code == 422
    assert "Choose the digital certificate once more, or leave it out." in missing.content.decode()
    again = fields(missing.content.decode())
    assert (again["seen"], again["points-0-reference"]) == (sent["seen"], "550.10")
    assert client.post(address(one), again | upload()).status_code == 302
    assert bytes(StoredFile.objects.get().content) == certificate_bytes()


def test_another_file_than_the_one_looked_at_is_looked_at_first(signed_in, one):
    client = signed_in("quality")
    sent = fields(client.post(address(one), READ | upload()).content.decode())
    other = certificate_bytes(THERMOCOUPLE, ("550.90 851.25 961.95", "550.90 851.25 961.96"))
    assert client.post(address(one), sent | upload(other)).status_code == 200
    assert Calibration.objects.count() == 0


def test_relative_humidity_in_per_cent(signed_in):
    one = InstrumentFactory.create(kind="hygrometer", serial_number="o2-8815")
    text = signed_in("quality").post(address(one), READ | upload(certificate_bytes(HYGROMETER))).content.decode()
    assert fields(text)["points-0-unit"] == "% RH"
    assert "does not say whether its points are as found or as left" in text


def test_what_it_leaves_open_is_said(signed_in):
    one = InstrumentFactory.create(code="FG-9", kind="force gauge", serial_number="")
    text = signed_in("quality").post(address(one), READ | upload(certificate_bytes(FORCE_GAUGE))).content.decode()
    assert "No serial number is recorded for FG-9; the certificate is for 5512-B." in text
    assert (fields(text)["points-1-expanded_uncertainty"], fields(text)["points-1-coverage_factor"]) == ("", "")


REFUSED = [
    (b"<!DOCTYPE a [<!ENTITY b 'c'>]><a>&b;</a>", "The file declares a document type"),
    (b"%PDF-1.7", "The file is not well-formed XML"),
    (b"<a/>", "The file is not a digital calibration certificate"),
    (certificate_bytes(THERMOCOUPLE, ("HV 00417", "HV 00418")), "The certificate is for serial number HV 00418"),
    (certificate_bytes(THERMOCOUPLE, (r"<si:unitXMLList>\degreecelsius</si:unitXMLList>", "")), "no unit is stated"),
]


@pytest.mark.parametrize(("content", "sentence"), REFUSED)
@pytest.mark.parametrize("pressed", [{"read": "yes"}, {}])
def test_a_refused_file_is_one_sentence_and_nothing_is_stored(signed_in, one, content, sentence, pressed):
    client = signed_in("quality")
    page = client.post(address(one), TYPED | pressed | upload(content))
    text = page.content.decode()
    assert page.status_code == 422
    assert re.search(f"“from the laboratory.xml”: [^<]*{sentence}", unescape(text))
    assert (fields(text)["calibrated_by"], fields(text)["points-0-reference"]) == ("We", "")
    assert Calibration.objects.count() == StoredFile.objects.count() == 0


def test_fifty_megabytes_are_refused_by_their_size(signed_in, one):
    page = signed_in("quality").post(address(one), READ | upload(b" " * 50 * 1024**2))
    assert page.status_code == 422
    assert "“from the laboratory.xml”: The file has 50.0 MB; up to 20 MB are read." in page.content.decode()


@pytest.mark.parametrize("carried", ["no base64!", "PGEvPg==", "é"])
def test_what_the_page_carried_is_not_trusted(signed_in, one, carried):
    page = signed_in("quality").post(address(one), EMPTY_ROWS | {"carried": carried, "carried_name": "x.xml"})
    assert page.status_code == 422
    assert Calibration.objects.count() == StoredFile.objects.count() == 0


def test_read_without_a_file(signed_in, one):
    page = signed_in("quality").post(address(one), READ)
    assert page.status_code == 422
    assert "Choose the digital certificate’s XML file first." in page.content.decode()


def test_a_serial_number_changed_meanwhile_is_noticed(signed_in, one):
    client = signed_in("quality")
    sent = fields(client.post(address(one), READ | upload()).content.decode())
    type(one).objects.filter(pk=one.pk).update(serial_number="HV 00419")
    page = client.post(address(one), sent)
    assert page.status_code == 422
    assert "The certificate is for serial number HV 00417, the instrument’s is HV 00419." in page.content.decode()
    assert Calibration.objects.count() == StoredFile.objects.count() == 0


def test_whoever_decides_sees_where_the_entry_differs_from_the_file(signed_in, one):
    client = signed_in("quality")
    sent = fields(client.post(address(one), READ | upload()).content.decode())
    client.post(address(one), sent | {"points-0-indication": "550.95"})
    text = client.get(reverse("calibration:calibration_decide", args=[Calibration.objects.get().pk])).content.decode()
    assert "In the file, and not entered: 550.10 → 550.90 °C, U 1.1, k 2.00." in text
    assert "Entered, and not in the file: 550.10 → 550.95 °C, U 1.1, k 2.00." in text


def test_whoever_decides_sees_that_the_entry_is_the_file(signed_in, one):
    client = signed_in("quality")
    client.post(address(one), fields(client.post(address(one), READ | upload()).content.decode()))
    text = client.get(reverse("calibration:calibration_decide", args=[Calibration.objects.get().pk])).content.decode()
    assert "Date, number and every point entered are those of the" in text


def test_another_file_replaces_the_figures_of_the_first_where_nobody_changed_them(signed_in, one):
    client = signed_in("quality")
    sent = fields(client.post(address(one), READ | upload()).content.decode())
    other = upload(certificate_bytes(THERMOCOUPLE, ("VS-T-2026-0417", "VS-T-2026-0418"), ("550.90", "550.80")))
    page = client.post(address(one), sent | {"read": "yes", "calibrated_by": "Vogsósar"} | other)
    again = fields(page.content.decode())
    assert (again["certificate_number"], again["points-0-indication"]) == ("VS-T-2026-0418", "550.80")
    assert again["calibrated_by"] == "Vogsósar"
    assert "Calibrated by: the file says Vogsósar Calibration; what you wrote is kept." in page.content.decode()


def test_another_file_leaves_points_that_were_changed(signed_in, one):
    client = signed_in("quality")
    sent = fields(client.post(address(one), READ | upload()).content.decode())
    other = upload(certificate_bytes(THERMOCOUPLE, ("550.90", "550.80")))
    page = client.post(address(one), sent | {"read": "yes", "points-0-indication": "550.7"} | other)
    assert fields(page.content.decode())["points-0-indication"] == "550.7"
    assert "There are points written below already" in page.content.decode()

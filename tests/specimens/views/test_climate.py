"""Bringing a recorder's file in through the browser."""

import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from labsite.ledger.models import StoredFile
from specimens.models import ClimateRecord, ClimateUpload
from tests.factories.conditioning import HOUR, chamber, hygrometer, recorder_csv
from tests.factories.ledger import NOON
from tests.specimens.climate_samples import FOLDER

pytestmark = pytest.mark.usefixtures("conditioning_catalogue")


@pytest.fixture
def desk(signed_in, monkeypatch):
    """A browser of a technician in June 2026, a chamber and its recorder."""
    monkeypatch.setattr(timezone, "now", lambda: NOON.replace(month=6))
    chamber()
    return signed_in("technician"), hygrometer(interval=60)


def send(desk, content, name="record.csv"):
    """Send a file as a browser does."""
    client, recorder = desk
    file = SimpleUploadedFile(name, content, content_type="text/csv")
    return client.post("/conditioning/CH-1/record/", {"recorder": recorder.pk, "file": file})


def words(response) -> str:
    """The page without its markup."""
    plain = re.sub(r"<(script|style|svg)\b.*?</\1>", " ", response.content.decode(), flags=re.DOTALL)
    return " ".join(re.sub(r"<[^>]+>", " ", plain).replace("\u00a0", " ").split())


def test_a_file_becomes_a_record_that_shows_how_it_was_read(desk):
    answer = send(desk, recorder_csv(NOON, NOON + HOUR), "HY-1_march.csv")
    record = ClimateRecord.objects.get()
    assert answer["Location"] == f"/conditioning/records/{record.pk}/"
    text = words(desk[0].get(answer["Location"]))
    assert "HY-1_march.csv is attached to CH-1; see below how it was read." in text
    assert "61 readings from Tue 10 Mar 12:00 to Tue 10 Mar 13:00." in text
    for term in (
        "Encoding utf-8",
        "Separator comma",
        "Decimal mark point",
        "Unit of the temperature °C",
        "Order of the date year first: every date is written year first",
        "Rows 61",
        "Step one reading in 1 min",
        "2 Temperature (°C) temperature, used C",
        "Moisture At its medians, 23.0 °C and 50.0 % RH as recorded, the dew point is 12.0 °C",
    ):
        assert term in text


def test_the_same_file_again_leads_to_the_first(desk):
    content = recorder_csv(NOON, NOON + HOUR)
    first, second = send(desk, content), send(desk, content, "copy.csv")
    assert first["Location"] == second["Location"]
    assert ClimateRecord.objects.count() == 1


def test_the_file_comes_back_as_it_came_and_is_never_shown(desk):
    content = recorder_csv(NOON, NOON + HOUR)
    send(desk, content, "<b>é\"'.csv")
    record = ClimateRecord.objects.get()
    answer = desk[0].get(f"/conditioning/records/{record.pk}/file/")
    assert answer.content == content
    assert answer["Content-Type"] == "application/octet-stream"
    assert answer["Content-Disposition"].startswith("attachment;")
    assert "<b>" not in words(desk[0].get(f"/conditioning/records/{record.pk}/"))


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("empty.csv", "The file is empty: take it from the recorder again."),
        ("bom_only.csv", "bom_only.csv: the file is empty."),
        ("header_only.csv", "header_only.csv holds no readings"),
        ("renamed_xlsx.csv", "renamed_xlsx.csv is a spreadsheet workbook under another name"),
        ("html_named.xls", "html_named.xls is a web page or XML document"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_and_the_choice_of_recorder_kept(desk, name, sentence):
    page = send(desk, (FOLDER / name).read_bytes(), name)
    assert page.status_code == 422
    assert sentence in words(page)
    assert f'value="{desk[1].pk}" selected' in page.content.decode()
    assert StoredFile.objects.count() == 0


def test_a_script_in_a_drawing_is_refused(desk):
    page = send(desk, b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>', "e.svg")
    assert page.status_code == 422
    assert "e.svg" in words(page)
    assert "<script>alert" not in page.content.decode()
    assert StoredFile.objects.count() == 0


def test_without_a_file_the_form_says_so(desk):
    client, recorder = desk
    page = client.post("/conditioning/CH-1/record/", {"recorder": recorder.pk})
    assert page.status_code == 422
    assert "Choose the recorder’s file." in words(page)


def test_what_a_file_leaves_open_is_asked_without_choosing_it_again(desk):
    answer = send(desk, (FOLDER / "order_never_resolves.csv").read_bytes(), "HY.csv")
    upload = ClimateUpload.objects.get()
    assert answer["Location"] == f"/conditioning/files/{upload.pk}/"
    client = desk[0]
    asked = words(client.get(answer["Location"]))
    assert "Is “03/04/2026” in line 2 3 April 2026 or 4 March 2026?" in asked
    assert "HY.csv, brought in by" in words(client.get("/conditioning/CH-1/"))
    assert "HY.csv for CH-1" in words(client.get("/conditioning/"))
    nothing = client.post(answer["Location"], {})
    assert nothing.status_code == 422
    assert "Answer this; it is never guessed." in words(nothing)
    done = client.post(answer["Location"], {"date_order": "month-first"})
    record = ClimateRecord.objects.get()
    assert done["Location"] == f"/conditioning/records/{record.pk}/"
    assert "order of day and month: month-first" in words(client.get(done["Location"]))
    assert "HY.csv, brought in by" not in words(client.get("/conditioning/CH-1/"))
    again = client.post(answer["Location"], {"date_order": "month-first"})
    assert again["Location"] == done["Location"]


def test_a_unit_is_asked_and_a_zone_answers_the_question_of_the_clock(desk):
    first = send(desk, (FOLDER / "unit_lost.csv").read_bytes(), "unit.csv")
    client = desk[0]
    page = client.get(first["Location"])
    assert re.findall(r'name="temperature_unit" value="(\w)"', page.content.decode()) == ["C", "F", "K"]
    second = send(desk, b"Time (GMT-06:00),Temp (C),RH (%)\n2026-03-10 08:00,23,50\n2026-03-10 08:10,23,50\n")
    client.post(second["Location"], {"utc_offset": "Europe/Berlin"})
    record = ClimateRecord.objects.get()
    assert (record.answers, record.first_at) == ({"zone": "Europe/Berlin"}, NOON.replace(hour=7))


def test_answers_of_two_rounds_are_kept(desk):
    text = b"Date,Temp,RH (%)\n03/04/2026 08:00,70,50\n03/04/2026 08:10,70,50\n"
    address = send(desk, text)["Location"]
    client = desk[0]
    half = client.post(address, {"temperature_unit": "F"})
    assert half.status_code == 422
    assert 'value="F" id="id_temperature_unit_1" required checked' in half.content.decode() or re.search(
        r'value="F"[^>]* checked', half.content.decode()
    )
    client.post(address, {"temperature_unit": "F", "date_order": "day-first"})
    assert ClimateRecord.objects.get().answers == {"temperature_unit": "F", "date_order": "day-first"}


def test_a_file_is_set_aside(desk):
    address = send(desk, (FOLDER / "unit_lost.csv").read_bytes(), "unit.csv")["Location"]
    client = desk[0]
    assert client.post(f"{address}aside/")["Location"] == "/conditioning/CH-1/"
    assert "unit.csv, brought in by" not in words(client.get("/conditioning/CH-1/"))
    late = client.post(address, {"temperature_unit": "C"})
    assert late.status_code == 422
    assert "Somebody set this file aside in the meantime." in words(late)


def test_a_record_is_withdrawn_with_a_reason(desk):
    send(desk, recorder_csv(NOON, NOON + HOUR))
    record, client = ClimateRecord.objects.get(), desk[0]
    address = f"/conditioning/records/{record.pk}/withdraw/"
    assert client.post(address, {"reason": ""}).status_code == 422
    assert client.post(address, {"reason": "file of CH-2"})["Location"] == f"/conditioning/records/{record.pk}/"
    page = words(client.get(f"/conditioning/records/{record.pk}/"))
    assert "This record no longer counts." in page
    assert "file of CH-2" in page
    again = client.post(address, {"reason": "file of CH-2"})
    assert "This record is withdrawn already." in words(again)


def test_others_look_at_a_record_and_do_not_write(desk, signed_in):
    send(desk, recorder_csv(NOON, NOON + HOUR))
    send(desk, (FOLDER / "unit_lost.csv").read_bytes(), "unit.csv")
    record, upload, client = ClimateRecord.objects.get(), ClimateUpload.objects.get(), signed_in("checker")
    assert client.get(f"/conditioning/records/{record.pk}/").status_code == 200
    assert client.get(f"/conditioning/records/{record.pk}/file/").status_code == 200
    writing = (f"records/{record.pk}/withdraw/", f"files/{upload.pk}/", f"files/{upload.pk}/aside/")
    assert [client.post(f"/conditioning/{address}").status_code for address in writing] == [403] * 3


def test_markup_in_a_file_is_shown_as_text(desk):
    text = b"<script>alert(1)</script>\nTime,Temp (C),RH (%) <b>x</b>\n2026-03-10 08:00,23,50\n2026-03-10 08:01,23,50\n"
    answer = send(desk, b"Logger " + text)
    assert answer.status_code == 302
    assert "<script>alert" not in desk[0].get(answer["Location"]).content.decode()

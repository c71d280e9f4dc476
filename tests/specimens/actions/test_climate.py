"""Attaching recorders' files: kept as they came, read once, refused with a sentence, asked about, explained."""

import hashlib
from datetime import UTC, datetime
from typing import Any

import pytest

from labsite.ledger.models import StoredFile
from labsite.ledger.queries import entries_about
from labsite.ledger.refusals import Refused
from specimens.actions.climate import attach_climate_record, explain_stretch, withdraw_climate_record
from specimens.actions.climate_uploads import answer_climate_questions, bring_in_climate_file, set_upload_aside
from specimens.domain.climate_answers import Answers, ClimateRefused
from specimens.domain.climate_archive import unarchived
from specimens.models import ClimateRecord, ClimateUpload, StretchExplanation
from tests.factories.calibration import InstrumentFactory
from tests.factories.conditioning import HOUR, MINUTE, chamber, hygrometer, recorder_csv
from tests.factories.ledger import NOON
from tests.specimens.climate_samples import FOLDER

LATE = datetime(2027, 6, 1, 12, 0, tzinfo=UTC)
"""After every worked file."""


@pytest.fixture
def scene(person):
    """A chamber, a recorder and a technician."""
    return {"by": person("technician"), "at": LATE, "chamber": chamber(), "recorder": hygrometer(interval=60)}


def worked(name: str) -> dict[str, Any]:
    """A worked file as it is brought in."""
    return {"name": name, "content": (FOLDER / name).read_bytes()}


def nothing_kept() -> bool:
    """Whether neither a record nor an upload nor a file is there."""
    return not (ClimateRecord.objects.exists() or ClimateUpload.objects.exists() or StoredFile.objects.exists())


def test_a_record_keeps_the_file_and_what_was_understood(scene):
    content = recorder_csv(NOON, NOON + HOUR)
    record = attach_climate_record(**scene, name="HY-1.csv", content=content)
    assert bytes(record.file.content) == content
    assert record.file.sha256 == hashlib.sha256(content).hexdigest()
    assert (record.rows, record.interval_s, record.first_at, record.last_at) == (61, 60.0, NOON, NOON + HOUR)
    assert (record.counts_until, record.uncounted_reason) == (None, "")
    series = unarchived(bytes(record.series))
    assert (series.times_utc.size, series.temperature_c[0], series.humidity_percent[-1]) == (61, 23.0, 50.0)
    understood = record.understood
    assert (understood["encoding"], understood["separator"], understood["date_order"]) == ("utf-8", ",", "year-first")
    assert [column["meaning"] for column in understood["columns"]] == ["time", "temperature", "humidity"]
    entry = entries_about("place:CH-1").reverse()[0]
    assert (entry.act, entry.data["sha256"], entry.data["rows"]) == (
        "attached a climate record",
        record.file.sha256,
        61,
    )


def test_the_same_file_again_leads_to_the_first_record(scene):
    content = recorder_csv(NOON, NOON + HOUR)
    first = attach_climate_record(**scene, name="a.csv", content=content)
    assert attach_climate_record(**scene, name="b.csv", content=content) == first
    assert (ClimateRecord.objects.count(), StoredFile.objects.count()) == (1, 1)
    assert entries_about("place:CH-1").count() == 1


def test_the_same_file_is_another_record_in_another_chamber(scene):
    content = recorder_csv(NOON, NOON + HOUR)
    first = attach_climate_record(**scene, name="a.csv", content=content)
    assert attach_climate_record(**scene | {"chamber": chamber("CH-2")}, name="a.csv", content=content) != first


def test_a_withdrawn_file_may_be_attached_anew(scene):
    content = recorder_csv(NOON, NOON + HOUR)
    first = attach_climate_record(**scene, name="a.csv", content=content)
    withdraw_climate_record(by=scene["by"], at=LATE, record=first, reason="read with the wrong zone")
    again = attach_climate_record(**scene | {"at": LATE + HOUR}, name="a.csv", content=content)
    assert again != first
    with pytest.raises(Refused, match="withdrawn already"):
        withdraw_climate_record(by=scene["by"], at=LATE, record=first, reason="again")


def test_a_record_that_contradicts_another_is_refused_with_the_moment(scene):
    attach_climate_record(**scene, name="a.csv", content=recorder_csv(NOON, NOON + HOUR))
    other = recorder_csv(NOON + 30 * MINUTE, NOON + 2 * HOUR, air=lambda at: (29.9, 50.0))
    with pytest.raises(Refused) as caught:
        attach_climate_record(**scene, name="b.csv", content=other)
    assert caught.value.sentence.startswith(
        "b.csv contradicts a record that is attached to CH-1 already. Two records differ for 2026-03-10 11:30:00 UTC:"
    )
    assert ClimateRecord.objects.count() == 1


def test_another_instrument_gives_no_climate_record(scene):
    scene["recorder"] = InstrumentFactory.create(code="TC-7")
    with pytest.raises(Refused, match="TC-7 does not record temperature and humidity"):
        attach_climate_record(**scene, name="a.csv", content=recorder_csv(NOON, NOON + HOUR))
    assert nothing_kept()


def test_readings_from_the_future_ask_for_the_clock(scene):
    scene["at"] = NOON
    found = bring_in_climate_file(**scene, name="a.csv", content=b"Time,Temp (C),RH (%)\n2026-03-10 12:00,23,50\n"
                                  b"2026-03-10 13:30,23,50\n")  # fmt: skip
    assert found.record is None
    assert found.upload is not None
    assert found.upload.open["sentence"] == (
        "The last reading of a.csv would be from Tue 10 Mar 13:30, and it is Tue 10 Mar 12:00 now."
    )
    done = answer_climate_questions(by=scene["by"], at=NOON, upload=found.upload, answers={"utc_offset": "+03:00"})
    assert done.record is not None
    assert done.record.last_at == NOON.replace(hour=10, minute=30)


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("empty.csv", "empty.csv: the file is empty."),
        ("bom_only.csv", "bom_only.csv: the file is empty."),
        ("blank_lines.csv", "blank_lines.csv: the file is empty."),
        ("header_only.csv", "header_only.csv holds no readings"),
        ("renamed_xlsx.csv", "renamed_xlsx.csv is a spreadsheet workbook under another name"),
        ("html_named.xls", "html_named.xls is a web page or XML document"),
        ("semicolon_decimal_comma.csv", "semicolon_decimal_comma.csv has no time column and no unit"),
    ],
)
def test_files_that_cannot_be_read_are_refused_and_nothing_is_kept(scene, name, sentence):
    with pytest.raises(Refused) as caught:
        bring_in_climate_file(**scene, **worked(name))
    assert caught.value.field == "file"
    assert caught.value.sentence.startswith(sentence)
    assert nothing_kept()


@pytest.mark.parametrize(
    "content",
    [
        b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>',
        b"\x00" * 4096,
        b"\xff\xd8\xff\xe0not a picture",
        b"PK\x03\x04" + b"\x00" * 100,
        b"%PDF-1.7\n",
        bytes(range(256)) * 40,
        b'"' * 100_000,
        b"a,b\n" * 50_000,
    ],
)
def test_hostile_bytes_are_refused_and_nothing_is_kept(scene, content):
    with pytest.raises(Refused):
        bring_in_climate_file(**scene, name="record.csv", content=content)
    assert nothing_kept()


def test_a_date_order_is_asked_and_the_answer_kept_with_the_record(scene):
    # 3 April or 4 March: the file never says
    found = bring_in_climate_file(**scene, **worked("order_never_resolves.csv"))
    assert found.upload is not None
    (question,) = found.upload.open["questions"]
    assert (question["key"], [value for value, _ in question["options"]]) == (
        "date_order",
        ["day-first", "month-first"],
    )
    assert ClimateRecord.objects.count() == 0
    done = answer_climate_questions(by=scene["by"], at=LATE, upload=found.upload, answers={"date_order": "month-first"})
    assert done.record is not None
    assert done.record.answers == {"date_order": "month-first"}
    assert done.record.first_at.astimezone(UTC).date().isoformat() == "2026-03-04"
    assert done.record.file == found.upload.file
    found.upload.refresh_from_db()
    assert (found.upload.closed_at, found.upload.closed_by) == (LATE, scene["by"])


def test_a_unit_is_asked(scene):
    found = bring_in_climate_file(**scene, **worked("unit_lost.csv"))
    assert found.upload is not None
    assert [question["key"] for question in found.upload.open["questions"]] == ["temperature_unit"]
    done = answer_climate_questions(by=scene["by"], at=LATE, upload=found.upload, answers={"temperature_unit": "F"})
    assert done.record is not None
    assert done.record.understood["temperature_unit"] == "F"


def test_a_second_round_of_questions_keeps_the_first_answers(scene):
    text = b"Date,Temp,RH (%)\n03/04/2026 08:00,70,50\n03/04/2026 08:10,70,50\n"
    found = bring_in_climate_file(**scene, name="a.csv", content=text)
    assert found.upload is not None
    keys = {question["key"] for question in found.upload.open["questions"]}
    assert keys == {"date_order", "temperature_unit"}
    half = answer_climate_questions(by=scene["by"], at=LATE, upload=found.upload, answers={"temperature_unit": "C"})
    assert half.upload == found.upload
    found.upload.refresh_from_db()
    assert found.upload.answers == {"temperature_unit": "C"}
    assert {question["key"] for question in found.upload.open["questions"]} == keys
    both = {"temperature_unit": "C", "date_order": "day-first"}
    done = answer_climate_questions(by=scene["by"], at=LATE, upload=found.upload, answers=both)
    assert done.record is not None
    assert done.record.answers == both


def test_a_file_that_waits_is_kept_once(scene):
    first = bring_in_climate_file(**scene, **worked("order_never_resolves.csv"))
    second = bring_in_climate_file(**scene, **worked("order_never_resolves.csv"))
    assert first.upload == second.upload
    assert StoredFile.objects.count() == 1


def test_an_answered_file_leads_to_its_record_and_one_set_aside_is_refused(scene):
    found = bring_in_climate_file(**scene, **worked("order_never_resolves.csv")).upload
    assert found is not None
    answers = {"date_order": "day-first"}
    done = answer_climate_questions(by=scene["by"], at=LATE, upload=found, answers=answers)
    found.refresh_from_db()
    assert answer_climate_questions(by=scene["by"], at=LATE, upload=found, answers=answers) == done
    other = bring_in_climate_file(**scene, **worked("unit_lost.csv")).upload
    assert other is not None
    set_upload_aside(by=scene["by"], at=LATE, upload=other)
    other.refresh_from_db()
    with pytest.raises(Refused, match="set this file aside"):
        answer_climate_questions(by=scene["by"], at=LATE, upload=other, answers={"temperature_unit": "C"})
    with pytest.raises(Refused, match="in the meantime"):
        set_upload_aside(by=scene["by"], at=LATE, upload=other)


def test_an_answer_that_is_not_one_of_the_choices_asks_again(scene):
    upload = bring_in_climate_file(**scene, **worked("unit_lost.csv")).upload
    assert upload is not None
    with pytest.raises(Refused, match="is not one of"):
        answer_climate_questions(by=scene["by"], at=LATE, upload=upload, answers={"temperature_unit": "R"})


def test_questions_reach_a_caller_that_answers_itself(scene):
    with pytest.raises(ClimateRefused) as caught:
        attach_climate_record(**scene, **worked("order_never_resolves.csv"))
    assert [question.key for question in caught.value.questions] == ["date_order"]
    answers = Answers(date_order="day-first")
    record = attach_climate_record(**scene, **worked("order_never_resolves.csv"), answers=answers)
    assert record.first_at.date().isoformat() == "2026-04-03"


def test_a_large_file_is_attached_whole(scene):
    """200 000 readings here; two million were tried by hand (10 s, of which reading is nearly all)."""
    content = recorder_csv(NOON, NOON + 199_999 * MINUTE / 6, step=MINUTE / 6)
    record = attach_climate_record(**scene, name="big.csv", content=content)
    assert (record.rows, record.interval_s, record.last_at) == (200_000, 10.0, NOON + 199_999 * MINUTE / 6)
    assert len(record.series) < 100_000


def test_a_file_beyond_the_limit_is_refused_before_it_is_read(scene, monkeypatch):
    monkeypatch.setattr("specimens.actions.climate.LARGEST_FILE_BYTES", 1024**2)
    with pytest.raises(Refused, match="is larger than 1 MB; export it in parts"):
        bring_in_climate_file(**scene, name="a.csv", content=b"x" * (1024**2 + 1))
    assert nothing_kept()


def test_a_stretch_is_explained(scene):
    facts = {"by": scene["by"], "at": LATE, "chamber": scene["chamber"], "text": "Door stood open."}
    row = explain_stretch(**facts, from_at=NOON, until_at=NOON + HOUR)
    assert (row.text, row.by, row.at) == ("Door stood open.", scene["by"], LATE)
    entry = entries_about("place:CH-1").reverse()[0]
    assert (entry.act, entry.data["after"]) == ("explained a stretch", {"text": "Door stood open."})
    with pytest.raises(Refused, match="ends after it begins"):
        explain_stretch(**facts, from_at=NOON, until_at=NOON)
    with pytest.raises(Refused, match="still to come"):
        explain_stretch(**facts, from_at=LATE + HOUR, until_at=LATE + 2 * HOUR)
    assert StretchExplanation.objects.count() == 1

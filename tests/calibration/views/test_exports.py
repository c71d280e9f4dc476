"""The exports read back: what they hold, as of which day, for whom, with how many reads."""

import csv
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from io import BytesIO, StringIO

import openpyxl
import pytest
from django.urls import reverse
from django.utils import timezone

from calibration.actions.events import record_event
from calibration.actions.instruments import register_instrument
from calibration.models import InstrumentLimit, IntermediateCheck
from tests.factories.calibration import CalibrationFactory, MountingFactory
from tests.factories.ledger import NOON, PlaceFactory

pytestmark = pytest.mark.django_db
BEFORE = datetime(2026, 1, 5, 9, 0, tzinfo=UTC)


@pytest.fixture
def one(person):
    """An instrument with a hostile name, calibrated in January 2026, decided on the 20th, mounted, moved in March."""
    keeper = person("quality", full_name="Kim Keeper")
    made = register_instrument(
        by=keeper, at=BEFORE, code="TC-05", kind="thermocouple", description="=cmd|' /C calc'!A0", maker="@Maker",
        model_name="T-9", serial_number="-0042", firmware_version="1.0", range_text="-40 to 1100 °C",
        place=PlaceFactory.create(code="A-1", name="Shelf A"),
    )  # fmt: skip
    calibration = CalibrationFactory.create(
        accepted=True, instrument=made, certificate_number="NM-7", route="accredited laboratory", entered_by=keeper,
        accreditation_number="K-1",
    )  # fmt: skip
    for kind, reference, indication, u, k in (
        ("as found", "850.0", "842.00", "9.0", "2"),
        ("as left", "850.0", "849.10", "1.1", "2.00"),
        ("as left", "650.0", "650.0", "0.90", "2.00"),
    ):
        calibration.points.create(
            kind=kind, reference=reference, indication=indication, unit="°C", expanded_uncertainty=u, coverage_factor=k
        )
    MountingFactory.create(instrument=made, rig__code="GW-1", mounted_at=BEFORE)
    place = PlaceFactory.create(code="B-2")
    record_event(by=keeper, at=NOON, instrument=made, kind="moved", text="nearer to the rig", place=place)
    return made


def address(name, *arguments, query=""):
    return reverse(f"calibration:{name}", args=arguments) + query


def workbook(answer):
    assert answer["Content-Type"] == "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    return openpyxl.load_workbook(BytesIO(answer.content))


def as_dicts(sheet):
    heading, *rows = [list(row) for row in sheet.iter_rows()]
    return [{head.value: cell for head, cell in zip(heading, row, strict=True)} for row in rows]


def as_rows(answer):
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    return list(csv.DictReader(StringIO(answer.content.decode("utf-8-sig"), newline="")))


WANTED = {
    "Code": "TC-05", "Kind": "Thermocouple", "Description": "=cmd|' /C calc'!A0", "Maker": "@Maker",
    "Type or model": "T-9", "Serial number": "-0042", "Software": None, "Firmware": "1.0", "Rig": "GW-1",
    "Calibrated on": datetime(2026, 1, 15), "Due on": datetime(2027, 1, 15),  # noqa: DTZ001
    "Uncertainty U": 1.1, "Unit of U": "K", "k": 2, "Calibrated range": "650.0 to 850.0 °C",
    "Range of the instrument": "-40 to 1100 °C", "Certificate": "NM-7", "Calibrated by": "Measures of Nowhere",
    "Accreditation number": "K-1", "Route": "Accredited calibration laboratory", "Accepted by": "Kim Keeper",
    "Accepted at": "2026-01-20T10:00:00+01:00", "Facts of": "that day",
}  # fmt: skip


@pytest.mark.parametrize(("day", "place"), [("2026-03-09", "A-1, Shelf A"), ("2026-03-10", "B-2, Place B-2")])
def test_the_register_says_what_was_known_that_day(signed_in, one, day, place):
    answer = signed_in("checker").get(address("register_export", "xlsx", query=f"?as_of={day}"))
    assert answer["Content-Disposition"] == f'attachment; filename="instruments-as-of-{day}.xlsx"'
    book = workbook(answer)
    assert book.sheetnames == ["About", "Instruments", "Points"]
    (row,) = as_dicts(book["Instruments"])
    assert book["About"]["B2"].value == f"the end of {date.fromisoformat(day).day} Mar 2026"
    assert {name: row[name].value for name in WANTED} == WANTED
    assert row["Place"].value == place
    assert row["Status"].value == "usable"
    assert [row[name].number_format for name in ("Uncertainty U", "k")] == ["0.0", "0.00"]
    assert {name: row[name].data_type for name in ("Description", "Maker", "Serial number")} == {
        "Description": "s", "Maker": "s", "Serial number": "s",
    }  # fmt: skip
    assert row["Description"].quotePrefix


def test_errors_stay_negative_numbers_with_their_digits(signed_in, one):
    book = workbook(signed_in("checker").get(address("register_export", "xlsx")))
    points = as_dicts(book["Points"])
    found = [(row["Point"].value, Decimal(repr(row["Error"].value)), row["Error"].number_format) for row in points]
    assert found == [
        ("As found", Decimal("-8.0"), "0.00"), ("As left", Decimal(0), "0.0"), ("As left", Decimal("-0.9"), "0.00"),
    ]  # fmt: skip


def test_before_its_acceptance_a_calibration_says_nothing(signed_in, one):
    (row,) = as_rows(signed_in("checker").get(address("register_export", "csv", query="?as_of=2026-01-19")))
    assert (row["Calibrated on"], row["Due on"], row["Uncertainty U"], row["Accepted by"]) == ("", "", "", "")
    assert (row["Status"], row["Reason"]) == ("never calibrated", "No calibration of it is entered.")
    assert as_rows(signed_in("checker").get(address("register_export", "csv", query="?as_of=2026-01-04"))) == []


def test_the_csv_neutralises_text_and_keeps_digits(signed_in, one):
    (row,) = as_rows(signed_in("checker").get(address("register_export", "csv", query="?as_of=2026-03-10")))
    assert (row["Description"], row["Maker"], row["Serial number"], row["Range of the instrument"]) == (
        "'=cmd|' /C calc'!A0", "'@Maker", "'-0042", "'-40 to 1100 °C",
    )  # fmt: skip
    assert (row["Uncertainty U"], row["k"], row["Due on"]) == ("1.1", "2.00", "2027-01-15")
    points = as_rows(signed_in("checker").get(address("record_export", one.number, "csv", query="?table=points")))
    assert [row["Error"] for row in points] == ["-8.00", "0.0", "-0.90"]


def test_points_in_two_units_are_said_in_words(signed_in, person):
    calibration = CalibrationFactory.create(accepted=True, instrument__code="HY-1", instrument__kind="hygrometer")
    for unit, u in (("°C", "0.30"), ("% RH", "1.5")):
        calibration.points.create(
            reference="20", indication="20", unit=unit, expanded_uncertainty=u, coverage_factor="2"
        )
    (row,) = as_rows(signed_in("lead").get(address("register_export", "csv")))
    assert (row["Uncertainty U"], row["Unit of U"], row["k"]) == ("1.5 % RH; 0.30 K", "", "2")
    assert row["Calibrated range"] == "20 % RH; 20 °C"


def test_the_record_holds_everything_kept_by_then(signed_in, one, person):
    keeper = person("quality")
    InstrumentLimit.objects.create(
        instrument=one, unit="°C", absolute="3.4", source="class 1", made_at=BEFORE, made_by=keeper
    )
    check = IntermediateCheck.objects.create(
        instrument=one, kind="foil", checked_at=NOON, reference="961.78", indication="960.0", unit="°C", passed=True,
        sentence="It holds.", entered_at=NOON, entered_by=keeper,
    )  # fmt: skip
    check.struck_at, check.struck_by, check.struck_reason = NOON + timedelta(days=5), keeper, "wrong tip"
    check.save()
    get = signed_in("signatory").get
    book = workbook(get(address("record_export", one.number, "xlsx", query="?as_of=2026-03-10")))
    assert book.sheetnames == [
        "About", "Instrument", "Calibrations", "Points", "Limits", "Checks", "Events", "Service", "Mountings",
    ]  # fmt: skip
    assert [book[name].max_row - 1 for name in book.sheetnames[2:]] == [1, 3, 1, 1, 1, 0, 1]
    facts = {row[0].value: row[1].value for row in book["Instrument"].iter_rows(min_row=2)}
    assert (facts["Code"], facts["Firmware"], facts["Place"], facts["k"]) == ("TC-05", "1.0", "B-2, Place B-2", 2)
    assert as_dicts(book["Checks"])[0]["Struck out at"].value is None
    later = workbook(get(address("record_export", one.number, "xlsx")))
    assert as_dicts(later["Checks"])[0]["Reason"].value == "wrong tip"
    early = workbook(get(address("record_export", one.number, "xlsx", query="?as_of=2026-01-05")))
    assert [early[name].max_row - 1 for name in early.sheetnames[2:]] == [0, 0, 1, 0, 0, 0, 1]


@pytest.mark.parametrize(
    "word", ["instrument", "calibrations", "points", "limits", "checks", "events", "service", "mountings"]
)
def test_each_table_is_there_as_csv(signed_in, one, word):
    answer = signed_in("lead").get(address("record_export", one.number, "csv", query=f"?table={word}&as_of=2026-03-10"))
    assert answer["Content-Disposition"] == f'attachment; filename="TC-05-{word}-as-of-2026-03-10.csv"'
    assert len(answer.content.decode().splitlines()) >= 1


def test_the_same_day_gives_the_same_bytes(signed_in, one):
    get = signed_in("lead").get
    pages = [address("register_export", "xlsx", query="?as_of=2026-03-10"),
             address("record_export", one.number, "xlsx", query="?as_of=2026-03-10")]  # fmt: skip
    assert [get(page).content for page in pages] == [get(page).content for page in pages]


def test_what_is_not_there_is_not_found(signed_in, one):
    get, day = signed_in("quality").get, (timezone.localdate() + timedelta(days=1)).isoformat()
    for page in (
        address("register_export", "pdf"),
        address("register_export", "xlsx", query=f"?as_of={day}"),
        address("register_export", "csv", query="?as_of=soon"),
        address("record_export", "999999", "csv"),
        address("record_export", one.number, "csv", query="?table=people"),
        address("record_export", one.number, "csv", query="?as_of=2025-12-31"),
    ):
        assert get(page).status_code == 404


@pytest.mark.parametrize("role", ["counter", "technician", "lead", "checker", "signatory", "quality", "administrator"])
def test_everybody_of_the_laboratory_may_read_them(signed_in, one, role):
    assert signed_in(role).get(address("register_export", "csv")).status_code == 200
    assert signed_in(role).get(address("record_export", one.number, "csv")).status_code == 200


def test_nobody_reads_them_without_signing_in(client, one):
    assert client.get(address("register_export", "csv")).status_code == 302


@pytest.mark.parametrize("query", ["", "?as_of=2026-03-10"])
def test_any_number_of_rows_takes_as_many_reads(signed_in, one, query, django_assert_max_num_queries):
    get = signed_in("lead").get
    with django_assert_max_num_queries(16) as few:
        get(address("register_export", "xlsx", query=query))
    for _ in range(3):
        calibration = CalibrationFactory.create(accepted=True, instrument__place=PlaceFactory.create())
        calibration.points.create(reference="1", indication="1", unit="°C")
        MountingFactory.create(instrument=calibration.instrument)
    with django_assert_max_num_queries(len(few)) as many:
        get(address("register_export", "xlsx", query=query))
    assert len(many) == len(few)


def test_the_record_takes_as_many_reads_for_many_rows(signed_in, one, django_assert_max_num_queries):
    get, page = signed_in("lead").get, address("record_export", one.number, "xlsx")
    with django_assert_max_num_queries(22) as few:
        get(page)
    for day in (date(2026, 2, 1), date(2026, 2, 2)):
        calibration = CalibrationFactory.create(accepted=True, instrument=one, calibrated_on=day)
        calibration.points.create(reference="1", indication="1", unit="°C")
        record_event(by=calibration.entered_by, at=NOON, instrument=one, kind="doubted", text="odd")
        InstrumentLimit.objects.create(
            instrument=one, unit="°C", absolute="3", source="s", made_at=NOON, made_by=calibration.entered_by
        )
    with django_assert_max_num_queries(len(few)) as many:
        get(page)
    assert len(many) == len(few)

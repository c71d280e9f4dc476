"""By test clause: each quantity with its limit and its instrument, rig by rig, as of a day; read back."""

import csv
from datetime import UTC, datetime
from io import BytesIO, StringIO

import openpyxl
import pytest
from django.urls import reverse

from calibration.actions.instruments import register_instrument
from calibration.actions.rigs import mount_instrument, register_rig, take_off
from calibration.models import Rig
from tests.factories.calibration import CalibrationFactory, InstrumentFactory, MountingFactory, RigFactory
from tests.factories.ledger import NOON
from trials.domain.methods.registry import EDITIONS
from trials.models import ParameterSheet

pytestmark = pytest.mark.django_db
BEFORE = datetime(2026, 1, 5, 9, 0, tzinfo=UTC)


def address(ending, query=""):
    return reverse("reports:clause_export", args=[ending]) + query


def rows_of(answer, standard="IEC 60695-2-11:2021", measured="Force"):
    rows = csv.DictReader(StringIO(answer.content.decode("utf-8-sig"), newline=""))
    return [row for row in rows if (row["Standard"], row["Measured"]) == (standard, measured)]


@pytest.fixture
def gauge(person):
    """A force gauge on GW-1 from January to noon of 10 March."""
    keeper = person("quality")
    one = register_instrument(
        by=keeper, at=BEFORE, code="FG-1", kind="force gauge", description="=0+0", maker="Invented", serial_number="7",
        range_text="0 to 5 N",
    )  # fmt: skip
    calibration = CalibrationFactory.create(accepted=True, instrument=one, certificate_number="NM-7")
    calibration.points.create(
        reference="1.000", indication="0.985", unit="N", expanded_uncertainty="0.0050", coverage_factor="2.00"
    )
    rig = register_rig(by=keeper, at=BEFORE, code="GW-1", name="Rig", kind="glow wire")
    mounting = mount_instrument(by=keeper, at=BEFORE, rig=rig, instrument=one)
    take_off(by=keeper, at=NOON, mounting=mounting)
    return one


def test_the_row_names_what_was_mounted_that_day(signed_in, gauge):
    get = signed_in("checker").get
    (row,) = rows_of(get(address("csv", "?as_of=2026-03-09")))
    wanted = {
        "Unit": "N", "Limit": "0.95 ± 0.10 N", "Read on": "force gauge", "Accuracy asked for": "reads 0.01 N",
        "Rig": "GW-1", "Code": "FG-1", "Description": "'=0+0", "Maker": "Invented", "Serial number": "7",
        "Calibrated on": "2026-01-15", "Due on": "2027-01-15", "Uncertainty U": "0.0050", "Unit of U": "N", "k": "2.00",
        "Calibrated range": "1.000 N", "Range of the instrument": "0 to 5 N", "Certificate": "NM-7",
        "Figures": "as delivered",
    }  # fmt: skip
    assert {name: row[name] for name in wanted} == wanted
    (later,) = rows_of(get(address("csv", "?as_of=2026-03-10")))
    assert (later["Rig"], later["Code"], later["Maker"]) == ("GW-1", "none mounted", "")
    (early,) = rows_of(get(address("csv", "?as_of=2026-01-04")))
    assert (early["Rig"], early["Code"]) == ("no glow wire rig in use", "")


def test_every_rig_of_the_kind_and_every_instrument_on_it_has_its_row(signed_in):
    for rig in (RigFactory.create(code="GW-1"), RigFactory.create(code="GW-2")):
        for number in (1, 2):
            one = InstrumentFactory.create(kind="force gauge", code=f"FG-{rig.code}-{number}")
            MountingFactory.create(rig=rig, instrument=one)
    RigFactory.create(code="NF-1", kind="needle flame")
    RigFactory.create(code="GW-9", in_use=False)
    rows = rows_of(signed_in("lead").get(address("csv")))
    assert [(row["Rig"], row["Code"]) for row in rows] == [
        ("GW-1", "FG-GW-1-1"), ("GW-1", "FG-GW-1-2"), ("GW-2", "FG-GW-2-1"), ("GW-2", "FG-GW-2-2"),
    ]  # fmt: skip


def test_the_laboratorys_own_figures_hold_from_their_day_on(signed_in, person):
    RigFactory.create()
    ParameterSheet.objects.create(
        method_key="glow-wire-end-product@2021", revision=1, changes={"force_n": {"tolerance": "0.05"}},
        reason="our copy", made_at=NOON, made_by=person("lead"),
    )  # fmt: skip
    get = signed_in("lead").get
    (before,) = rows_of(get(address("csv", "?as_of=2026-03-09")))
    (after,) = rows_of(get(address("csv", "?as_of=2026-03-10")))
    assert (before["Limit"], before["Figures"]) == ("0.95 ± 0.10 N", "as delivered")
    assert (after["Limit"], after["Figures"]) == ("0.95 ± 0.05 N", "the laboratory's revision 1")


def test_the_workbook_holds_every_edition_and_only_texts_and_numbers(signed_in, gauge):
    answer = signed_in("administrator").get(address("xlsx", "?as_of=2026-03-09"))
    assert answer["Content-Disposition"] == 'attachment; filename="by-test-clause-as-of-2026-03-09.xlsx"'
    book = openpyxl.load_workbook(BytesIO(answer.content))
    assert book.sheetnames == ["About", "By test clause"]
    sheet = book["By test clause"]
    assert {row[1].value for row in sheet.iter_rows(min_row=2)} == {one.standard for one in EDITIONS.values()}
    assert [cell for row in sheet.iter_rows() for cell in row if cell.data_type == "f"] == []


def test_other_endings_and_days_are_not_found_and_nobody_is_sent_to_sign_in(signed_in, client, lab):
    get = signed_in("lead").get
    assert [get(address(ending, query)).status_code for ending, query in (("pdf", ""), ("csv", "?as_of=x"))] == [
        404,
        404,
    ]
    assert client.get(address("csv")).status_code == 302


@pytest.mark.parametrize("query", ["", "?as_of=2026-03-10"])
def test_any_number_of_rigs_takes_as_many_reads(signed_in, gauge, person, query, django_assert_max_num_queries):
    get = signed_in("lead").get
    mount_instrument(by=person("quality"), at=NOON, rig=Rig.objects.get(code="GW-1"), instrument=gauge)
    with django_assert_max_num_queries(25) as few:
        get(address("csv", query))
    for number in range(3):
        rig = register_rig(by=person("lead"), at=BEFORE, code=f"GW-2{number}", name="Rig", kind="glow wire")
        calibration = CalibrationFactory.create(accepted=True, instrument__kind="force gauge")
        calibration.points.create(reference="1", indication="1", unit="N")
        MountingFactory.create(instrument=calibration.instrument, rig=rig)
    with django_assert_max_num_queries(len(few)) as many:
        assert len(rows_of(get(address("csv", query)))) == 4
    assert len(many) == len(few)

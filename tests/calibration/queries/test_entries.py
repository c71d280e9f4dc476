"""The ledger at the foot of a page: the latest act first, with what changed."""

from datetime import date, timedelta

import pytest

from calibration.actions.calibrations import decide_calibration, enter_calibration
from calibration.actions.instruments import change_instrument, register_instrument
from calibration.actions.rigs import change_rig, mount_instrument, register_rig
from calibration.queries.entries import ledger_lines
from tests.factories.ledger import NOON

pytestmark = pytest.mark.django_db


def test_each_act_says_what_matters(person):
    keeper = person("quality", full_name="Kim Keeper")
    one = register_instrument(by=keeper, at=NOON, code="TC-1", kind="thermocouple", description="type K", maker="M")
    change_instrument(by=keeper, at=NOON, instrument=one, version=1, code="TC-1", description="type N", maker="")
    calibration = enter_calibration(
        by=keeper, at=NOON, instrument=one, calibrated_on=date(2026, 3, 2), interval=12, interval_unit="months",
        calibrated_by="Nowhere Metrology", certificate_number="NM-7",
    )  # fmt: skip
    later = NOON + timedelta(hours=1)
    decide_calibration(by=keeper, at=later, calibration=calibration, decision="rejected", reason="reads low")
    lines = ledger_lines(one.book, later)
    assert (lines[0].at, lines[0].by) == (later, "Kim Keeper")
    assert [(line.act, line.detail) for line in lines] == [
        ("rejected the calibration", "calibrated on: 2 Mar 2026; certificate number: NM-7; reason: reads low"),
        ("entered a calibration", "calibrated on: 2 Mar 2026; certificate number: NM-7"),
        ("changed the instrument", "description: type K → type N; maker: M → nothing"),
        ("registered the instrument", ""),
    ]


def test_a_rigs_book_says_what_was_mounted_and_what_changed(person):
    lead = person("lead")
    rig = register_rig(by=lead, at=NOON, code="GW-1", name="Rig", kind="glow wire")
    one = register_instrument(by=lead, at=NOON, code="TC-1", kind="thermocouple", description="type K")
    mount_instrument(by=lead, at=NOON, rig=rig, instrument=one)
    change_rig(by=lead, at=NOON, rig=rig, version=1, name="Rig", place=None, in_use=False)
    details = [line.detail for line in ledger_lines(rig.book, NOON)]
    assert details == ["in use: yes → no", "TC-1, GW-1", "", ""]


def test_a_book_takes_one_read(person, django_assert_num_queries):
    one = register_instrument(by=person("quality"), at=NOON, code="TC-1", kind="thermocouple", description="type K")
    with django_assert_num_queries(1):
        assert len(ledger_lines(one.book, NOON)) == 1

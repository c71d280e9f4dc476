"""The wire of a rig: fitted in place of another with a reason, cleaned, its tip measured."""

from datetime import timedelta
from decimal import Decimal

import pytest

from calibration.actions.wires import clean_wire, fit_wire, measure_tip
from calibration.models import GlowWire, WireCare
from calibration.queries.wires import care_of, wire_on, wires_of
from labsite.ledger.models import Entry
from labsite.ledger.queries import ledger_faults
from labsite.ledger.refusals import Refused
from tests.factories.calibration import RigFactory
from tests.factories.ledger import NOON

pytestmark = pytest.mark.django_db
LATER = NOON + timedelta(days=3)
FOUR = Decimal("4.00")


@pytest.fixture
def hand(person):
    return person("technician", full_name="Tess Technician")


@pytest.fixture
def rig():
    return RigFactory.create(code="GW-1")


def fitted(rig, by, code="W-1", **more):
    return fit_wire(**{"by": by, "at": NOON, "rig": rig, "code": code, "seen_wire": None, "first_tip_mm": FOUR} | more)


def test_a_wire_is_fitted_and_takes_the_place_of_the_one_before_with_a_reason(rig, hand):
    first = fitted(rig, hand)
    with pytest.raises(Refused, match="Say why wire W-1 comes off") as refusal:
        fitted(rig, hand, "W-2", at=LATER, seen_wire=first.pk)
    assert refusal.value.field == "reason"
    second = fitted(rig, hand, "W-2", at=LATER, seen_wire=first.pk, reason=" worn   thin ")
    first.refresh_from_db()
    assert (first.removed_at, first.removed_by, first.removed_reason) == (LATER, hand, "worn thin")
    moments = (NOON - timedelta(seconds=1), NOON, LATER - timedelta(seconds=1), LATER)
    assert [wire_on(rig.pk, at) for at in moments] == [None, first, first, second]
    assert [wire.removed_at for wire in wires_of(rig, NOON)] == [None]  # what came later is not known yet
    entry = Entry.objects.filter(book__name=rig.book).latest("sequence")
    assert entry.data == {
        "wire": "W-2", "lot": "", "first tip mm": "4.00", "instead of": "W-1", "reason": "worn thin",
    }  # fmt: skip
    assert list(ledger_faults()) == []


def test_who_did_not_see_the_present_wire_replaces_nothing(rig, hand):
    fitted(rig, hand)
    with pytest.raises(Refused, match="Tess Technician fitted wire W-1 to GW-1 meanwhile"):
        fitted(rig, hand, "W-2", reason="worn")
    assert GlowWire.objects.count() == 1


def test_a_wire_comes_back_under_no_name_twice(rig, hand):
    first = fitted(rig, hand)
    with pytest.raises(Refused, match="was on GW-1 already"):
        fitted(rig, hand, "w-1", seen_wire=first.pk, reason="again")
    assert fitted(RigFactory.create(code="GW-2"), hand).code == "W-1"


def test_only_a_glow_wire_rig_carries_one(hand):
    with pytest.raises(Refused, match="NF-1 is no glow-wire rig"):
        fitted(RigFactory.create(code="NF-1", kind="needle flame"), hand)


@pytest.mark.parametrize("tip", ["0", "-4", "50.01", "400"])
def test_a_tip_that_cannot_be_is_refused(rig, hand, tip):
    with pytest.raises(Refused, match="cannot be the measure of a tip") as refusal:
        fitted(rig, hand, first_tip_mm=Decimal(tip))
    assert refusal.value.field == "first_tip_mm"


def test_cleaning_and_measuring_are_kept_with_who_and_when(rig, hand):
    wire = fitted(rig, hand)
    clean_wire(by=hand, at=NOON, wire=wire, note="soft brush")
    measure_tip(by=hand, at=LATER, wire=wire, tip_mm=Decimal("3.970"))
    assert [(one.kind, one.note, one.tip_mm, one.by) for one in care_of(wire, LATER)] == [
        ("cleaned", "soft brush", None, hand), ("measured", "", Decimal("3.970"), hand),
    ]  # fmt: skip
    assert [one.kind for one in care_of(wire, NOON)] == ["cleaned"]
    acts = Entry.objects.filter(book__name=rig.book).order_by("sequence").values_list("act", flat=True)
    assert list(acts) == ["fitted a wire", "cleaned the wire", "measured the tip"]
    assert f"{WireCare.objects.latest('pk').tip_mm:f}" == "3.970"


def test_without_a_first_measure_a_tip_says_nothing(rig, hand):
    wire = fitted(rig, hand, first_tip_mm=None)
    with pytest.raises(Refused, match="The new tip of wire W-1 was not measured"):
        measure_tip(by=hand, at=LATER, wire=wire, tip_mm=Decimal("3.9"))


def test_a_wire_that_came_off_is_neither_cleaned_nor_measured(rig, hand):
    first = fitted(rig, hand)
    fitted(rig, hand, "W-2", seen_wire=first.pk, reason="cracked")
    with pytest.raises(Refused, match="Wire W-1 was taken off GW-1 by Tess Technician: cracked"):
        clean_wire(by=hand, at=LATER, wire=first)


def test_others_leave_the_wires_alone(rig, person, hand):
    with pytest.raises(Refused, match="handle the wires"):
        fitted(rig, person("counter"))
    with pytest.raises(Refused, match="handle the wires"):
        clean_wire(by=person("checker"), at=NOON, wire=fitted(rig, hand))

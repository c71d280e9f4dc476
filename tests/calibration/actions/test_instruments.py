"""Registering, changing, taking out of service and back; each with its ledger entry."""

from typing import Any

import pytest

from calibration.actions.instruments import change_instrument, change_service, register_instrument
from calibration.models import Instrument, ServiceChange
from calibration.queries.usability import usability
from labsite.ledger.models import Entry
from labsite.ledger.numbering import NumberKind, read_number
from labsite.ledger.queries import ledger_faults
from labsite.ledger.refusals import Refused
from tests.factories.calibration import CalibrationFactory, InstrumentFactory
from tests.factories.ledger import NOON

pytestmark = pytest.mark.django_db
OUT, BACK = ServiceChange.State.OUT_OF_SERVICE, ServiceChange.State.IN_SERVICE
PLAIN: dict[str, Any] = {"kind": "thermocouple", "description": "type K"}


def test_each_instrument_gets_the_next_number_with_a_check_digit_and_an_entry(person):
    keeper = person("quality")
    first = register_instrument(by=keeper, at=NOON, code="TC-05", maker="Invented Sensors", **PLAIN)
    second = register_instrument(by=keeper, at=NOON, code="TC-06", **PLAIN)
    assert [read_number(one.number).kind for one in (first, second)] == [NumberKind.INSTRUMENT] * 2
    assert [one.number[:5] for one in (first, second)] == ["00001", "00002"]
    entry = Entry.objects.get(book__name=first.book)
    assert (entry.act, entry.by, entry.at) == ("registered the instrument", keeper, NOON)
    assert entry.data["after"]["code"] == "TC-05"
    assert entry.data["after"]["maker"] == "Invented Sensors"
    assert list(ledger_faults()) == []


@pytest.mark.parametrize("code", ["tc-05", "TC05", "T.C-05"])
def test_a_code_that_reads_like_another_is_refused_and_takes_no_number(person, code):
    keeper = person("quality")
    register_instrument(by=keeper, at=NOON, code="TC-05", **PLAIN)
    with pytest.raises(Refused, match="reads like TC-05") as refusal:
        register_instrument(by=keeper, at=NOON, code=code, **PLAIN)
    assert refusal.value.field == "code"
    assert register_instrument(by=keeper, at=NOON, code="TC-06", **PLAIN).number[:5] == "00002"


@pytest.mark.parametrize("code", ["5-TC", "TC 05", "TC/05", "<b>", "", "T" * 21, "Ä-1", "new", "TC-05\n"])
def test_a_code_that_cannot_stand_on_a_label_is_refused(person, code):
    with pytest.raises(Refused, match="cannot be a code"):
        register_instrument(by=person("quality"), at=NOON, code=code, **PLAIN)
    assert not Instrument.objects.exists()


def test_a_change_keeps_what_was_and_notices_a_faster_hand(person):
    keeper = person("quality")
    one = register_instrument(by=keeper, at=NOON, code="TC-05", **PLAIN)
    changed = change_instrument(by=keeper, at=NOON, instrument=one, version=1, code="TC-15", description="type N")
    assert (changed.code, changed.description, changed.version) == ("TC-15", "type N", 2)
    entry = Entry.objects.filter(book__name=one.book).latest("sequence")
    assert (entry.data["before"]["code"], entry.data["after"]["code"]) == ("TC-05", "TC-15")
    with pytest.raises(Refused, match="Somebody else changed this"):
        change_instrument(by=keeper, at=NOON, instrument=one, version=1, code="TC-16", description="type S")
    one.refresh_from_db()
    assert one.code == "TC-15"


def test_a_changed_code_must_not_read_like_another_but_may_stay(person):
    keeper = person("quality")
    one, _ = (register_instrument(by=keeper, at=NOON, code=code, **PLAIN) for code in ("TC-05", "TC-06"))
    assert change_instrument(by=keeper, at=NOON, instrument=one, version=1, code="TC-05", maker="M").maker == "M"
    with pytest.raises(Refused, match="reads like TC-06"):
        change_instrument(by=keeper, at=NOON, instrument=one, version=2, code="tc06")


@pytest.mark.parametrize("role", ["technician", "lead", "counter", "quality"])
def test_whoever_handles_it_takes_it_out_of_service_at_once(person, role):
    one = CalibrationFactory.create(accepted=True).instrument
    by = person(role)
    change_service(by=by, at=NOON, instrument=one, state=OUT, reason="dropped ")
    found = usability(one, NOON)
    assert (found.usable, found.reason) == (False, "It is out of service since 10 Mar 2026: dropped.")
    entry = Entry.objects.get(book__name=one.book)
    assert (entry.act, entry.by) == ("took out of service", by)
    assert entry.data == {"before": "in service", "after": "out of service", "reason": "dropped"}


def test_only_the_quality_keeper_puts_it_back(person):
    one = CalibrationFactory.create(accepted=True).instrument
    change_service(by=person("technician"), at=NOON, instrument=one, state=OUT, reason="dropped")
    with pytest.raises(Refused, match="Only the quality keeper"):
        change_service(by=person("technician", "lead"), at=NOON, instrument=one, state=BACK, reason="fine again")
    change_service(by=person("quality"), at=NOON, instrument=one, state=BACK, reason="checked at 0 °C")
    assert usability(one, NOON).usable
    acts = Entry.objects.filter(book__name=one.book).order_by("sequence").values_list("act", flat=True)
    assert list(acts) == ["took out of service", "put back into service"]


def test_the_same_twice_and_no_reason_are_refused(person):
    one, keeper = InstrumentFactory.create(), person("quality", full_name="Kim Keeper")
    with pytest.raises(Refused, match=f"{one.code} is already in service"):
        change_service(by=keeper, at=NOON, instrument=one, state=BACK, reason="fine")
    with pytest.raises(Refused, match="Write the reason") as refusal:
        change_service(by=keeper, at=NOON, instrument=one, state=OUT, reason="  ")
    assert refusal.value.field == "reason"
    change_service(by=keeper, at=NOON, instrument=one, state=OUT, reason="dropped")
    with pytest.raises(Refused, match="is already out of service, by Kim Keeper: dropped"):
        change_service(by=keeper, at=NOON, instrument=one, state=OUT, reason="again")
    assert ServiceChange.objects.count() == 1

"""Two people act on the same thing at the same moment: nothing doubled, nothing lost, nobody gets an error."""

import threading
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.core import mail
from django.db import connections, transaction

from calibration.actions.calibrations import decide_calibration
from calibration.actions.check_judging import CheckValues
from calibration.actions.checks import record_check, strike_check
from calibration.actions.commissioning import LineFinding, open_commissioning, record_findings, release_rig
from calibration.actions.limits import set_limit
from calibration.actions.permits import permit_use
from calibration.actions.reminders import send_reminders
from calibration.actions.wires import fit_wire
from calibration.models import (
    Commissioning,
    CommissioningFinding,
    GlowWire,
    InstrumentLimit,
    IntermediateCheck,
    RigKind,
    ServiceChange,
    UsePermit,
)
from calibration.queries.check_subjects import Subject
from labsite.ledger.models import Entry
from labsite.ledger.refusals import Refused
from tests.factories.bench import bench_scene
from tests.factories.calibration import CalibrationFactory, InstrumentFactory, RigFactory
from tests.factories.ledger import NOON, LaboratoryFactory, UserFactory
from trials.actions.bench import open_trial
from trials.models import Trial

pytestmark = pytest.mark.django_db(transaction=True)
DONE = "done"
KNOWN: dict[str, Any] = {"expanded_uncertainty": Decimal("0.01"), "coverage_factor": Decimal(2)}


def at_once(*acts: Callable[[], object]) -> list[str]:
    """What came of acts begun at the same moment: done, the sentence of a refusal, or the name of an error."""
    gate, said = threading.Barrier(len(acts)), [""] * len(acts)

    def run(place: int, act: Callable[[], object]) -> None:
        try:
            gate.wait(timeout=20)
            act()
            said[place] = DONE
        except Refused as refusal:
            said[place] = refusal.sentence
        except Exception as fault:  # any other is what the test looks for
            said[place] = f"{type(fault).__name__}: {fault}"
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=(place, act)) for place, act in enumerate(acts)]
    for one in threads:
        one.start()
    for one in threads:
        one.join(timeout=60)
    return said


@pytest.fixture
def keepers():
    LaboratoryFactory.create()
    return [UserFactory.create(full_name=f"Keeper {name}", roles=["quality"]) for name in ("One", "Two")]


def test_one_of_two_decisions_on_a_calibration_stands(keepers):
    calibration = CalibrationFactory.create()

    def decide(by, decision):
        return lambda: decide_calibration(
            by=by, at=NOON, calibration=calibration, decision=decision, reason="looked at it"
        )

    said = at_once(decide(keepers[0], "accepted"), decide(keepers[1], "rejected"))
    assert sorted(one == DONE for one in said) == [False, True]
    assert "is already decided" in next(one for one in said if one != DONE)
    assert Entry.objects.filter(book__name=calibration.instrument.book).count() == 1


def test_two_limits_follow_each_other(keepers):
    instrument = InstrumentFactory.create()
    acts = [
        lambda by=by, figure=figure: set_limit(
            by=by, at=NOON, instrument=instrument, unit="°C", source="ours", absolute=Decimal(figure)
        )
        for by, figure in zip(keepers, ("3", "4"), strict=True)
    ]
    assert at_once(*acts) == [DONE, DONE]
    assert InstrumentLimit.objects.count() == 2
    first, second = Entry.objects.filter(book__name=instrument.book).order_by("sequence")
    assert first.data["before"]["permitted"] == ""
    assert second.data["before"] == first.data["after"]


def test_one_of_two_wires_is_fitted(keepers):
    rig = RigFactory.create(kind=RigKind.GLOW_WIRE)
    acts = [
        lambda by=by, code=code: fit_wire(by=by, at=NOON, rig=rig, code=code, seen_wire=None)
        for by, code in zip(keepers, ("W-1", "W-2"), strict=True)
    ]
    said = at_once(*acts)
    wire = GlowWire.objects.get(rig=rig, removed_at=None)
    assert sorted(said) == sorted(
        [DONE, f"{wire.fitted_by} fitted wire {wire.code} to {rig.code} meanwhile. Look, then fit yours."]
    )


def test_two_instruments_checked_against_each_other_at_once(keepers):
    """Each check writes into both books; whoever comes second waits."""
    one, other = (CalibrationFactory.create(accepted=True).instrument for _ in range(2))
    for each in (one, other):
        set_limit(by=keepers[0], at=NOON, instrument=each, unit="°C", source="ours", absolute=Decimal(3))

    def check(by, subject, against):
        values = CheckValues(indication=Decimal("850.0"), reference=Decimal("850.5"), unit="°C", **KNOWN)
        return lambda: record_check(
            by=by, at=NOON, subject=Subject(subject), kind="other", values=values, compared_with=against
        )

    for _ in range(5):
        said = at_once(check(keepers[0], one, other), check(keepers[1], other, one))
        assert said == [DONE, DONE]
    assert IntermediateCheck.objects.count() == 10


def test_two_failing_checks_take_out_once(keepers):
    instrument = CalibrationFactory.create(accepted=True).instrument
    set_limit(by=keepers[0], at=NOON, instrument=instrument, unit="°C", source="ours", absolute=Decimal(3))
    values = CheckValues(indication=Decimal(890), reference=Decimal(850), unit="°C", **KNOWN)
    acts = [
        lambda by=by: record_check(by=by, at=NOON, subject=Subject(instrument), kind="other", values=values)
        for by in keepers
    ]
    assert at_once(*acts) == [DONE, DONE]
    assert (IntermediateCheck.objects.count(), ServiceChange.objects.count()) == (2, 1)


def test_a_rig_is_released_with_its_findings_or_they_are_refused(keepers):
    rig = RigFactory.create(kind="other")
    sheet = open_commissioning(by=keepers[0], at=NOON, rig=rig, occasion="repaired", reason="new bench")
    rows = list(sheet.lines.all())
    for row in rows:
        value, answer = (row.low or row.high or Decimal(1), None) if row.kind in ("part",) else (None, True)
        record_findings(
            by=keepers[0], at=NOON, commissioning=sheet, findings=[LineFinding(row.pk, value=value, answer=answer)]
        )
    last = CommissioningFinding.objects.filter(line=rows[0]).latest("pk")
    bad = LineFinding(rows[0].pk, value=last.value, answer=None if last.value is not None else False, seen=last.pk)
    said = at_once(
        lambda: release_rig(by=keepers[0], at=NOON, commissioning=sheet),
        lambda: record_findings(by=keepers[1], at=NOON, commissioning=sheet, findings=[bad]),
    )
    assert DONE in said
    assert not any("Error" in one for one in said)
    released = Commissioning.objects.get(pk=sheet.pk).released_at is not None
    newest = CommissioningFinding.objects.filter(line=rows[0]).latest("pk")
    assert not (released and not newest.holds)


def test_a_list_is_opened_once(keepers):
    rig = RigFactory.create(kind="other")
    acts = [
        lambda by=by: open_commissioning(by=by, at=NOON, rig=rig, occasion="repaired", reason="new bench")
        for by in keepers
    ]
    assert sorted(at_once(*acts)) == sorted(
        [DONE, f"The list of {rig.code} is open already; work that one off, then release the rig."]
    )


def test_a_permit_and_an_acceptance_at_once(keepers):
    old = CalibrationFactory.create(accepted=True, calibrated_on="2025-01-10", interval=12)
    new = CalibrationFactory.create(instrument=old.instrument)
    said = at_once(
        lambda: permit_use(
            by=keepers[0], at=NOON, instrument=old.instrument, until_on=NOON.date(), reason="the new one is here"
        ),
        lambda: decide_calibration(by=keepers[1], at=NOON, calibration=new, decision="accepted", reason="fine"),
    )
    assert said[1] == DONE
    assert UsePermit.objects.count() == int(said[0] == DONE)


def opened_behind(scene, act):
    """What is said to a technician who opens a trial while another act is not finished."""
    said = []

    def open_one() -> None:
        moment, specimen, chosen = NOON + timedelta(seconds=1), scene.specimens[0], scene.by_role()
        said.extend(at_once(lambda: open_trial(by=scene.technician, at=moment, specimen=specimen, instruments=chosen)))

    opening = threading.Thread(target=open_one)
    with transaction.atomic():
        act()
        opening.start()
        opening.join(timeout=2)
    opening.join(timeout=60)
    return said[0]


def test_a_trial_waits_for_the_check_that_takes_its_instrument_out():
    """Were it opened on what was known before the check, the trace up to the removal would miss it."""
    scene = bench_scene(NOON)
    gauge = scene.instruments["FG-02"]
    keeper = UserFactory.create(roles=["quality"])
    set_limit(by=keeper, at=NOON - timedelta(days=1), instrument=gauge, unit="N", source="ours", absolute=Decimal(1))
    values = CheckValues(indication=Decimal(5), reference=Decimal(1), unit="N", **KNOWN)
    said = opened_behind(
        scene, lambda: record_check(by=keeper, at=NOON, subject=Subject(gauge), kind="other", values=values)
    )
    assert said.startswith("FG-02 must not be used now. ")
    assert not Trial.objects.exists()


def test_a_trial_waits_for_the_list_that_takes_its_rig_out_of_use():
    scene = bench_scene(NOON)
    said = opened_behind(
        scene,
        lambda: open_commissioning(by=scene.lead, at=NOON, rig=scene.rig, occasion="repaired", reason="new carriage"),
    )
    assert said.startswith("GW-1 is ")
    assert not Trial.objects.exists()


def test_a_check_and_a_run_of_reminders_write_into_the_same_books(keepers):
    """The run writes into the books of all that fall due, the check into two of them."""
    keepers[0].email = "quinn@lab.example"
    keepers[0].save()
    calibrations = [CalibrationFactory.create(accepted=True, calibrated_on="2025-03-15") for _ in range(12)]
    first, last = calibrations[0].instrument, calibrations[-1].instrument
    for each in (first, last):
        set_limit(by=keepers[0], at=NOON, instrument=each, unit="°C", source="ours", absolute=Decimal(3))
    values = CheckValues(indication=Decimal("850.0"), reference=Decimal("850.5"), unit="°C", **KNOWN)
    with_last_first = [
        lambda: record_check(
            by=keepers[1], at=NOON, subject=Subject(last), kind="other", values=values, compared_with=first
        )
        for _ in range(3)
    ]
    assert at_once(*with_last_first, lambda: send_reminders(at=NOON)) == [DONE] * 4
    assert len(mail.outbox) == 1


def test_whoever_comes_second_is_told_by_whom_a_check_was_struck_out(keepers):
    """What is locked is read anew once the wait is over; a name joined to it would be the one from before."""
    instrument = CalibrationFactory.create(accepted=True).instrument
    set_limit(by=keepers[0], at=NOON, instrument=instrument, unit="°C", source="ours", absolute=Decimal(3))
    values = CheckValues(indication=Decimal("850.0"), reference=Decimal("850.5"), unit="°C", **KNOWN)
    check = record_check(by=keepers[0], at=NOON, subject=Subject(instrument), kind="other", values=values)
    said = at_once(*(lambda by=by: strike_check(by=by, at=NOON, check=check, reason="typed twice") for by in keepers))
    check.refresh_from_db()
    assert sorted(said) == sorted([DONE, f"This check was already struck out by {check.struck_by}: typed twice"])

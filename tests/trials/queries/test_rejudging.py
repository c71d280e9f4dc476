"""Stored verdicts judged again from the database: only the one that holds, by its own figures or by others."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection

from calibration.actions.limits import set_limit
from calibration.models import Calibration
from labsite.ledger.append_only import guard, lift_guard
from labsite.ledger.refusals import Refused
from tests.factories.bench import METHOD, Scene
from tests.factories.trials import signed_trial
from trials.actions.methods import revise_sheet
from trials.actions.observations import correct_observation
from trials.models import Observation, SignedVerdict
from trials.queries.rejudging import Asked, changed_verdicts, rebuilt_differences, verdicts_that_hold

D = Decimal
FLAME = (("contact", "0.0"), ("ignites", "6.8"), ("flame_out", "31.4"), ("withdrawn", "30.2"), ("watch_ends", "61.0"))
TIGHTER = {"force_n": {"value": D("1.00"), "tolerance": D("0.03")}}


@pytest.fixture
def trial(scene):
    return signed_trial(scene, course=FLAME)


def revised(scene: Scene, changes=TIGHTER, seen=0):
    """A revision made a day after the trials."""
    later = scene.at + timedelta(days=1)
    return revise_sheet(by=scene.lead, at=later, method_key=METHOD, revision_seen=seen, changes=changes, reason="why")


def test_the_same_figures_give_the_same_bytes(trial):
    told: list[int] = []
    assert list(changed_verdicts(Asked(), told.append)) == []
    assert told == [1]


def test_a_changed_revision_lists_what_it_would_change(scene, trial):
    revised(scene)
    assert list(changed_verdicts(Asked())) == []
    (changed,) = changed_verdicts(Asked(newest=True))
    assert (changed.stored.trial_id, changed.fault) == (trial.pk, "")
    assert changed.after is not None
    assert changed.after.sentence == "Invalid at 850 °C: force 0.96 N is outside 1.00 ± 0.03 N."
    assert changed.differences[0].words == "Outcome: pass → invalid"


def test_one_revision_is_asked_for_by_its_number(scene, trial):
    revised(scene)
    revised(scene, {"light_lx": {"high": D(30)}}, seen=1)
    assert [one.after and one.after.outcome for one in changed_verdicts(Asked(method_key=METHOD, revision=1))] == [
        "invalid"
    ]
    assert [one.after and one.after.outcome for one in changed_verdicts(Asked(newest=True))] == ["pass"]
    assert list(changed_verdicts(Asked(method_key=METHOD, revision=0))) == []
    with pytest.raises(Refused, match="There is no revision 7"):
        list(changed_verdicts(Asked(method_key=METHOD, revision=7)))


def test_what_was_agreed_for_the_order_stays_agreed(scene, trial):
    revised(scene)
    scene.line.agreed_parameters = {"force_n": {"value": "0.95", "tolerance": "0.10"}}
    scene.line.save()
    (changed,) = changed_verdicts(Asked(newest=True))
    assert changed.after is not None
    assert changed.after.outcome == "pass"  # the figure is the same again, its source says whose it is


def test_only_the_verdict_that_holds_is_judged(scene, trial):
    flame = Observation.objects.get(trial=trial, kind="flame_out")
    correct_observation(
        by=scene.technician, at=scene.at + timedelta(hours=2), observation=flame, t_s=D("65.0"), value="", strike=False,
        reason="read again",
    )  # fmt: skip
    assert SignedVerdict.objects.count() == 2
    (held,) = verdicts_that_hold(Asked())
    assert held.outcome == "fail"
    assert list(changed_verdicts(Asked())) == []


@pytest.mark.parametrize(("since", "count"), [(date(2026, 3, 10), 1), (date(2026, 3, 11), 0)])
def test_the_day_is_the_laboratorys(scene, trial, since, count):
    assert SignedVerdict.objects.get().signed_at.date() == date(2026, 3, 10)
    assert verdicts_that_hold(Asked(since)).count() == count


def test_one_edition_may_be_asked_for(trial):
    assert verdicts_that_hold(Asked(method_key=METHOD)).count() == 1
    assert verdicts_that_hold(Asked(method_key="glow-wire-end-product@2014")).count() == 0


@pytest.fixture
def tampered(trial):
    """A stored record and another stored verdict, as only the database's owner could make them."""
    lift_guard(connection, "trials_signedverdict")
    yield SignedVerdict.objects.get()
    guard(connection, "trials_signedverdict")


def test_a_record_that_cannot_be_read_any_more_is_listed(tampered):
    SignedVerdict.objects.update(record=tampered.record | {"colour": "red"})
    (changed,) = changed_verdicts(Asked())
    assert (changed.after, changed.differences) == (None, ())
    assert changed.fault.startswith("The stored record has other members than a record: colour")


def test_rows_that_give_another_record_are_found(scene, tampered):
    assert list(rebuilt_differences(Asked())) == []
    changed = tampered.record | {"setup": tampered.record["setup"] | {"force_n": "0.97"}}
    SignedVerdict.objects.update(record=changed)
    ((stored, differences),) = rebuilt_differences(Asked())
    assert (stored.pk, [one.words for one in differences]) == (tampered.pk, ["setup, force_n: 0.97 → 0.96"])


@pytest.mark.parametrize("count", [1, 2])
def test_judging_asks_as_often_for_many_as_for_one(scene, django_assert_num_queries, count):
    for number in range(count):
        signed_trial(scene, number, course=FLAME, first=1 + 1000 * number)
    revised(scene)
    with django_assert_num_queries(4):  # sheets, budgets, verdicts, the changed ones
        assert len(list(changed_verdicts(Asked(newest=True)))) == count


def test_what_instruments_come_to_later_changes_no_verdict(scene, trial):
    """A limit, a drift allowance and an accepted calibration with other figures, all entered a day later."""
    later = scene.at + timedelta(days=1)
    for code, unit in (("TC-05", "°C"), ("IN-02", "°C"), ("FG-02", "N")):
        one = scene.instruments[code]
        set_limit(
            by=scene.lead, at=later, instrument=one, unit=unit, source="ours", absolute=D("0.001"),
            drift_allowance=D(50),
        )  # fmt: skip
        made = Calibration.objects.create(
            instrument=one, calibrated_on=later.date(), interval=1, calibrated_by="Example", entered_at=later,
            entered_by=scene.lead, decision="accepted", decided_at=later, decided_by=scene.lead,
        )  # fmt: skip
        for reference, indication in (("0", "77"), ("1000", "1077")):
            made.points.create(kind="as found", reference=reference, indication=indication, unit=unit)
    assert list(changed_verdicts(Asked())) == []
    assert list(rebuilt_differences(Asked())) == []

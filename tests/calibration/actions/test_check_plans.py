"""Planning checks: the newest plan of a kind holds, what cannot be planned is refused."""

from datetime import timedelta

import pytest

from calibration.actions.check_plans import end_plan
from calibration.models import CheckPlan, RigKind
from calibration.queries.check_subjects import Subject, plan_in_force, plans_of
from labsite.ledger.queries import entries_about
from labsite.ledger.refusals import Refused
from tests.calibration.checking import D, gauge, planned
from tests.factories.calibration import InstrumentFactory, RigFactory
from tests.factories.ledger import NOON, UserFactory

pytestmark = pytest.mark.usefixtures("lab")


def test_the_newest_plan_of_a_kind_holds_and_the_older_one_held_then():
    one = InstrumentFactory.create()
    first = planned(one, "foil", at=NOON - timedelta(days=9))
    second = planned(one, "foil", at=NOON, every_days=7)
    subject = Subject(one)
    assert plan_in_force(subject, "foil", NOON) == second
    assert plan_in_force(subject, "foil", NOON - timedelta(seconds=1)) == first
    assert plan_in_force(subject, "foil", NOON - timedelta(days=10)) is None
    assert [entry.act for entry in entries_about(one.book)] == ["planned a check", "planned a check"]


def test_a_plan_of_one_kind_leaves_the_others():
    one = InstrumentFactory.create()
    plans = [planned(one, "other"), planned(one, "foil")]
    assert plans_of(Subject(one), NOON) == plans[::-1]


def test_an_ended_plan_holds_no_more_and_stays_readable():
    one = InstrumentFactory.create()
    plan = planned(one, "foil", at=NOON - timedelta(days=9))
    ended = end_plan(by=UserFactory.create(), at=NOON, subject=Subject(one), kind="foil", reason="no foil left")
    assert ended.pk != plan.pk
    assert plan_in_force(Subject(one), "foil", NOON) is None
    assert plan_in_force(Subject(one), "foil", NOON - timedelta(seconds=1)) == plan
    assert CheckPlan.objects.count() == 2
    with pytest.raises(Refused, match="No check of this kind is planned"):
        end_plan(by=UserFactory.create(), at=NOON, subject=Subject(one), kind="foil", reason="again")


@pytest.mark.parametrize("days", [1, 3660, None])
def test_how_often_up_to_the_longest(days):
    assert planned(InstrumentFactory.create(), "foil", every_days=days).every_days == days


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"every_days": 0}, "outside 1 to 3660"),
        ({"every_days": 3661}, "outside 1 to 3660"),
        ({"error_low": D(2), "error_high": D(1)}, "above the highest"),
        ({"procedure": " "}, "Write it"),
        ({"source": ""}, "Write it"),
    ],
)
def test_what_cannot_be_planned_is_refused(fields, words):
    with pytest.raises(Refused, match=words):
        planned(InstrumentFactory.create(), "foil", **fields)
    assert not CheckPlan.objects.exists()


def test_a_unit_is_one_of_the_list_or_the_kinds_own():
    with pytest.raises(Refused, match="Choose the unit"):
        planned(InstrumentFactory.create(), "other", unit="degC")
    assert planned(gauge(), "masses", unit="kg").unit == "N"


def test_kinds_that_do_not_fit_are_refused():
    for thing, kind in ((gauge(), "foil"), (RigFactory.create(), "flame"), (InstrumentFactory.create(), "masses")):
        with pytest.raises(Refused, match="is no check of"):
            planned(thing, kind)


def test_a_flame_needs_its_seconds_and_a_rig_its_limits():
    rig = RigFactory.create(kind=RigKind.SMALL_BURNER)
    with pytest.raises(Refused, match="seconds the copper block"):
        planned(rig, "flame")
    with pytest.raises(Refused, match="write which errors are allowed"):
        planned(rig, "flame", reference=D(44), error_low=None, error_high=None)


def test_agreement_has_no_limits_but_e_n():
    with pytest.raises(Refused, match="leave the error limits empty"):
        planned(gauge(), "agreement", unit="N")

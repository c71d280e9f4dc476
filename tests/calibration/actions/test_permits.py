"""Permits for overdue instruments: who, when, how long, what ends one; that the gate honours it and trials say so."""

from datetime import date, timedelta

import pytest

from calibration.actions.calibrations import decide_calibration, enter_calibration
from calibration.actions.instruments import OUT_OF_SERVICE, change_service
from calibration.actions.permits import permit_use
from calibration.domain.status import Status
from calibration.models import UsePermit
from calibration.queries.permits import permits_of
from calibration.queries.usability import usability
from labsite.ledger.models import Role
from labsite.ledger.queries import entries_about
from labsite.ledger.refusals import Refused
from tests.factories.bench import bench_scene, opened_trial
from tests.factories.calibration import CalibrationFactory, InstrumentFactory
from tests.factories.ledger import NOON, UserFactory
from trials.models import InstrumentUse
from trials.queries.records import trial_record

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
TODAY = NOON.date()


@pytest.fixture
def lead(person):
    return person("lead")


@pytest.fixture
def overdue(lab):
    """Due 40 days before noon."""
    one = InstrumentFactory.create(code="FG-9")
    CalibrationFactory.create(
        instrument=one, calibrated_on=TODAY - 400 * DAY, interval=360, interval_unit="days",
        entered_at=NOON - 390 * DAY, accepted=True,
    )  # fmt: skip
    return one


def permit(by, instrument, until_on=TODAY + 2 * DAY, reason="The new one comes on Friday."):
    return permit_use(by=by, at=NOON, instrument=instrument, until_on=until_on, reason=reason)


def test_an_overdue_instrument_may_be_used_to_the_end_of_the_permits_day(lead, overdue):
    assert usability(overdue, NOON).status is Status.OVERDUE
    made = permit(lead, overdue)
    answer = usability(overdue, NOON)
    assert (answer.usable, answer.status, answer.permit_id) == (True, Status.PERMITTED, made.pk)
    assert answer.reason.endswith(f"permits its use to the end of {answer_day(made)}: The new one comes on Friday.")
    assert [usability(overdue, at).usable for at in (NOON - timedelta(seconds=1), NOON + 2 * DAY, NOON + 3 * DAY)] == [
        False, True, False,
    ]  # fmt: skip
    (entry,) = [one for one in entries_about(overdue.book) if one.act == "permitted use although overdue"]
    assert entry.data["after"]["reason"] == "The new one comes on Friday."


def answer_day(made):
    return f"{made.until_on.day} {made.until_on:%b %Y}"


@pytest.mark.parametrize("role", [Role.TECHNICIAN, Role.COUNTER, Role.CHECKER])
def test_only_a_lead_or_the_quality_keeper_permits(person, overdue, role):
    with pytest.raises(Refused, match="A lead or the quality keeper permits"):
        permit(person(role.value), overdue)
    assert permit(person("quality"), overdue).pk


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ({"reason": "  "}, "reason"),
        ({"until_on": TODAY - DAY}, "until_on"),
        ({"until_on": TODAY + 15 * DAY}, "until_on"),
    ],
)
def test_a_permit_has_a_reason_and_ends_soon(lead, overdue, asked, field):
    with pytest.raises(Refused) as refused:
        permit(lead, overdue, **asked)
    assert refused.value.field == field
    assert not UsePermit.objects.exists()


def test_an_instrument_that_is_not_overdue_is_not_helped(lead, overdue):
    fresh = InstrumentFactory.create(code="FG-10")
    for instrument in (fresh, in_calibration()):
        with pytest.raises(Refused, match="for an overdue instrument only"):
            permit(lead, instrument)
    permit(lead, overdue)
    change_service(by=lead, at=NOON, instrument=overdue, state=OUT_OF_SERVICE, reason="Fell down.")
    assert usability(overdue, NOON + timedelta(hours=1)).status is Status.OUT_OF_SERVICE
    with pytest.raises(Refused, match="for an overdue instrument only"):
        permit(lead, overdue)


def in_calibration():
    one = InstrumentFactory.create(code="FG-11")
    CalibrationFactory.create(instrument=one, calibrated_on=TODAY - DAY, entered_at=NOON - DAY, accepted=True)
    return one


def test_a_newer_calibration_ends_the_permit(lead, person, overdue):
    permit(lead, overdue)
    keeper, later = person("quality"), NOON + timedelta(hours=1)
    new = enter_calibration(
        by=keeper, at=later, instrument=overdue, calibrated_on=TODAY, interval=12, interval_unit="months",
        calibrated_by="Example Calibrations",
    )  # fmt: skip
    assert usability(overdue, later).status is Status.AWAITS
    decide_calibration(by=keeper, at=later, calibration=new, decision="rejected", reason="Broken.")
    assert usability(overdue, later).usable is False


def test_a_trial_with_it_says_by_whose_permit():
    scene = bench_scene(NOON)
    gauge = scene.by_role()["force gauge"]
    assert gauge is not None
    calibration = gauge.calibrations.get()
    calibration.calibrated_on = date(2020, 1, 1)
    calibration.save()
    with pytest.raises(Refused, match="must not be used now"):
        opened_trial(scene)
    lead = UserFactory.create(roles=["lead"])
    made = permit(lead, gauge)
    trial = opened_trial(scene)
    assert InstrumentUse.objects.get(trial=trial, instrument=gauge).permit == made
    (use,) = [one for one in trial_record(trial).instruments if one.role == "force gauge"]
    assert (use.usable, use.override_reason) == (
        False, f"permitted by {lead}: The new one comes on Friday.",
    )  # fmt: skip
    assert [vars(one)["trials"] for one in permits_of(gauge, NOON)] == [1]


def test_one_more_read_only_where_something_is_overdue(overdue, django_assert_num_queries):
    fine = in_calibration()
    with django_assert_num_queries(3):
        usability(fine, NOON)
    with django_assert_num_queries(4):
        usability(overdue, NOON)

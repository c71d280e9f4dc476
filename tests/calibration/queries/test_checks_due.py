"""Planned checks and when they are due: which plan and which check count, and a constant number of reads."""

from datetime import UTC, date, datetime, timedelta

import pytest

from calibration.actions.check_plans import end_plan
from calibration.actions.checks import strike_check
from calibration.models import RigKind
from calibration.queries.check_subjects import Subject
from calibration.queries.checks_due import check_warnings, checks_to_make, planned_checks, rig_check_warnings
from calibration.queries.instruments import mountings_at
from calibration.queries.rigs import rig_readiness
from tests.calibration.checking import D, planned, recorded
from tests.factories.calibration import CalibrationFactory, InstrumentFactory, MountingFactory, RigFactory
from tests.factories.ledger import NOON, LaboratoryFactory, UserFactory

pytestmark = pytest.mark.usefixtures("lab")


def days(count):
    return timedelta(days=count)


def foil(thing, at):
    return recorded(thing, "foil", indication=D(960), foil_reference="nominal", at=at)


def test_it_counts_from_the_last_check_that_was_not_struck_out():
    """10 March at noon: 30 days from the check of 1 March are 31 March, from that of 1 February 3 March."""
    one = InstrumentFactory.create()
    planned(one, "foil", at=NOON - days(60))
    foil(one, NOON - days(37))
    later = foil(one, NOON - days(9))
    assert [each.due.due_on for each in planned_checks(NOON)] == [date(2026, 3, 31)]
    strike_check(by=UserFactory.create(roles=["quality"]), at=NOON - days(1), check=later, reason="another tip")
    assert [(each.due.due_on, each.due.overdue) for each in planned_checks(NOON)] == [(date(2026, 3, 3), True)]
    assert [each.due.due_on for each in planned_checks(NOON - days(2))] == [date(2026, 3, 31)]  # as known then


def test_a_check_of_another_kind_does_not_count():
    one = InstrumentFactory.create()
    planned(one, "foil")
    planned(one, "other")
    recorded(one, "other", unit="°C", reference=D(20), indication=D(20), at=NOON - days(1))
    assert [(each.plan.kind, each.due.overdue) for each in planned_checks(NOON)] == [("foil", True), ("other", False)]


def test_an_ended_plan_is_due_no_more():
    one = InstrumentFactory.create()
    planned(one, "foil")
    end_plan(by=UserFactory.create(), at=NOON, subject=Subject(one), kind="foil", reason="no foil left")
    assert planned_checks(NOON) == []
    assert len(checks_to_make(NOON - timedelta(seconds=1))) == 1


def test_checks_before_use_come_last_and_are_never_to_make():
    first, second = InstrumentFactory.create(code="A-1"), InstrumentFactory.create(code="B-1")
    planned(first, "foil", every_days=None)
    planned(second, "foil")
    assert [each.subject.code for each in planned_checks(NOON)] == ["B-1", "A-1"]
    assert [each.subject.code for each in checks_to_make(NOON)] == ["B-1"]


def test_the_due_day_ends_in_the_laboratorys_zone():
    """Due on 10 March: over at midnight in Auckland (UTC+13 in March), which is 11:00 UTC of that day."""
    laboratory = LaboratoryFactory.create()
    laboratory.zone = "Pacific/Auckland"
    laboratory.save()
    planned(InstrumentFactory.create(), "foil", at=datetime(2026, 2, 8, 0, 0, tzinfo=UTC), every_days=30)
    end = datetime(2026, 3, 10, 11, 0, tzinfo=UTC)
    assert [each.due.overdue for at in (end - timedelta(microseconds=1), end) for each in planned_checks(at)] == [
        False,
        True,
    ]


def test_a_rig_is_warned_of_its_own_checks_and_of_what_is_mounted_on_it():
    burner, other = RigFactory.create(code="NF-1", kind=RigKind.NEEDLE_FLAME), RigFactory.create(code="GW-9")
    planned(burner, "flame", reference=D("23.5"), error_low=D(-1), error_high=D(1))
    one = CalibrationFactory.create(accepted=True, instrument__code="TC-01").instrument
    MountingFactory.create(rig=burner, instrument=one)
    planned(one, "foil")
    planned(InstrumentFactory.create(code="TC-02"), "foil")  # on no rig
    lines = (
        "NF-1, flame confirmation with the copper block: check overdue since 1 Mar 2026",
        "TC-01, silver foil melts at the tip: check overdue since 1 Mar 2026",
    )
    assert rig_check_warnings(burner, NOON) == lines
    assert rig_check_warnings(other, NOON) == ()
    ready = rig_readiness([burner, other], NOON)
    assert (ready[burner.pk].ready, len(ready[burner.pk].warnings), ready[other.pk].warnings) == (True, 2, ())


@pytest.mark.parametrize("count", [1, 3])
def test_a_constant_number_of_reads(django_assert_num_queries, count):
    rigs = [MountingFactory.create().rig for _ in range(count)]
    for mounting in mountings_at(NOON):
        planned(mounting.instrument, "foil")
        foil(mounting.instrument, NOON - days(39))
    mountings = list(mountings_at(NOON))
    with django_assert_num_queries(3):
        assert len(check_warnings(rigs, mountings, NOON)) == count

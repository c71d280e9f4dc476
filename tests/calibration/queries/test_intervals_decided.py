"""An interval somebody decided on: from that moment on, and everywhere where a due day is answered."""

from datetime import UTC, date, datetime, timedelta

import pytest

from calibration.domain.status import Status
from calibration.models import Calibration, IntervalDecision
from calibration.queries.usability import usabilities, usability
from tests.factories.calibration import CalibrationFactory
from tests.factories.ledger import NOON, UserFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("lab")]


def decided(calibration: Calibration, interval: int, unit: str = "months", at: datetime = NOON) -> IntervalDecision:
    return IntervalDecision.objects.create(
        calibration=calibration, interval=interval, interval_unit=unit, reason="As the drift says.", at=at,
        by=UserFactory.create(),
    )  # fmt: skip


def test_the_decided_interval_holds_from_its_moment_on_and_not_before():
    calibration = CalibrationFactory.create(accepted=True)  # 15 Jan 2026, 12 months
    decided(calibration, 6)
    before, after = NOON - timedelta(microseconds=1), NOON
    dues = [usability(calibration.instrument, at).due_on for at in (before, after)]
    assert dues == [date(2027, 1, 15), date(2026, 7, 15)]
    asked = [Calibration.objects.with_interval_at(at).get().due_on for at in (before, after)]
    assert asked == dues


def test_the_newest_decision_holds_also_back_to_the_first_interval_and_in_another_unit():
    calibration = CalibrationFactory.create(accepted=True)
    decided(calibration, 6)
    decided(calibration, 100, "days", NOON + timedelta(days=1))
    decided(calibration, 12, "months", NOON + timedelta(days=2))
    dues = [usability(calibration.instrument, NOON + timedelta(days=days)).due_on for days in (0, 1, 2)]
    assert dues == [date(2026, 7, 15), date(2026, 4, 25), date(2027, 1, 15)]


def test_of_two_decisions_at_one_moment_the_later_row_holds():
    calibration = CalibrationFactory.create(accepted=True)
    decided(calibration, 6)
    decided(calibration, 9)
    assert usability(calibration.instrument, NOON).due_on == date(2026, 10, 15)


def test_a_shortened_interval_can_end_the_use_at_once():
    calibration = CalibrationFactory.create(accepted=True)
    decided(calibration, 1)  # due 15 Feb 2026, decided on 10 Mar
    assert usability(calibration.instrument, NOON - timedelta(seconds=1)).status is Status.USABLE
    found = usability(calibration.instrument, NOON)
    assert (found.status, found.clause) == (
        Status.OVERDUE,
        "its calibration was due on 15 Feb 2026 and that day is over",
    )


def test_a_new_calibration_stands_on_its_own_interval():
    old = CalibrationFactory.create(accepted=True)
    decided(old, 24)
    CalibrationFactory.create(
        accepted=True, instrument=old.instrument, calibrated_on=date(2026, 3, 2), entered_at=NOON + timedelta(days=1)
    )
    assert usability(old.instrument, NOON).due_on == date(2028, 1, 15)
    assert usability(old.instrument, NOON + timedelta(days=1)).due_on == date(2027, 3, 2)


def test_the_due_day_ends_in_the_laboratorys_zone_after_a_decision_too(lab):
    lab.zone = "Pacific/Auckland"
    lab.save()
    calibration = CalibrationFactory.create(accepted=True)
    decided(calibration, 3)  # 15 Apr 2026; daylight saving has ended there on 5 Apr, so 12:00 UTC is midnight (IANA)
    last = datetime(2026, 4, 15, 11, 59, 59, tzinfo=UTC)
    assert [usability(calibration.instrument, at).usable for at in (last, last + timedelta(seconds=1))] == [True, False]


@pytest.mark.parametrize("count", [1, 3])
def test_decisions_cost_no_read_more(count, django_assert_num_queries):
    instruments = []
    for _ in range(count):
        calibration = CalibrationFactory.create(accepted=True)
        decided(calibration, 6)
        decided(calibration, 7)
        instruments.append(calibration.instrument)
    with django_assert_num_queries(3):
        answers = usabilities(instruments, NOON)
    assert {answer.due_on for answer in answers.values()} == {date(2026, 8, 15)}

"""Deciding on an interval: what is kept, what is refused, what follows."""

from datetime import date, datetime, timedelta

import pytest

from calibration.actions.intervals import decide_interval
from calibration.models import IntervalDecision
from calibration.queries.usability import usability
from labsite.ledger.models import Entry
from labsite.ledger.queries import ledger_faults
from labsite.ledger.refusals import Refused
from tests.factories.calibration import CalibrationFactory
from tests.factories.ledger import NOON, UserFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("lab")]


def decided(calibration, interval=6, unit="months", reason="Hard use.", at: datetime = NOON) -> IntervalDecision:
    return decide_interval(
        by=UserFactory.create(), at=at, calibration=calibration, interval=interval, interval_unit=unit,
        reason=reason,
    )  # fmt: skip


def refusal(*arguments, **more) -> Refused:
    with pytest.raises(Refused) as caught:
        decided(*arguments, **more)
    assert not IntervalDecision.objects.exists()
    return caught.value


def test_the_decision_keeps_the_numbers_and_moves_the_due_day():
    calibration = CalibrationFactory.create(accepted=True)  # 15 Jan 2026, 12 months
    made = decided(calibration, reason="  Hard use.  ")
    assert (made.interval, made.interval_unit, made.reason, made.at) == (6, "months", "Hard use.", NOON)
    assert made.numbers["present"] == "12 months"
    assert made.numbers["proposed"] == "12 months"
    assert set(made.numbers["methods"]) == {"staircase", "control chart", "in-use time", "counts"}
    assert usability(calibration.instrument, NOON).due_on == date(2026, 7, 15)
    entry = Entry.objects.get(book__name=calibration.instrument.book)
    assert entry.act == "decided on the interval"
    assert entry.data["before"] == {"interval": "12 months", "due on": "2027-01-15"}
    assert entry.data["after"] == {"interval": "6 months", "due on": "2026-07-15"}
    assert list(ledger_faults()) == []


def test_to_keep_it_is_a_decision_too():
    calibration = CalibrationFactory.create(accepted=True)
    assert decided(calibration, 12).interval == 12
    assert usability(calibration.instrument, NOON).due_on == date(2027, 1, 15)


def test_a_second_decision_starts_from_the_first():
    calibration = CalibrationFactory.create(accepted=True)
    decided(calibration, 6)
    later = decide_interval(
        by=UserFactory.create(), at=NOON + timedelta(days=1), calibration=calibration, interval=90,
        interval_unit="days", reason="Harder still.",
    )  # fmt: skip
    assert later.numbers["present"] == "6 months"


def test_only_the_calibration_in_force_takes_a_decision():
    old = CalibrationFactory.create(accepted=True)
    CalibrationFactory.create(
        accepted=True, instrument=old.instrument, calibrated_on=date(2026, 3, 2), entered_at=NOON - timedelta(hours=1)
    )
    assert refusal(old).sentence == (
        f"The calibration of 15 Jan 2026 does not speak for {old.instrument.code}: its calibration is due on 2 Mar "
        "2027. An interval is decided on the calibration in force."
    )


def test_one_that_awaits_a_decision_takes_none():
    assert "awaits verification" in refusal(CalibrationFactory.create()).sentence


@pytest.mark.parametrize(
    ("interval", "unit", "field", "words"),
    [
        (0, "months", "interval", "An interval of 0 months is outside 1 to 120 months."),
        (121, "months", "interval", "An interval of 121 months is outside 1 to 120 months."),
        (3661, "days", "interval", "An interval of 3661 days is outside 1 to 3660 days."),
        (3, "weeks", "interval_unit", "The interval is in months or in days."),
    ],
)
def test_an_interval_that_cannot_be_meant_is_refused(interval, unit, field, words):
    found = refusal(CalibrationFactory.create(accepted=True), interval, unit)
    assert (found.sentence, found.field) == (words, field)


def test_a_reason_is_needed():
    assert refusal(CalibrationFactory.create(accepted=True), reason=" \n").field == "reason"


def test_what_is_overdue_is_not_made_good_by_a_longer_interval():
    calibration = CalibrationFactory.create(accepted=True, calibrated_on=date(2025, 3, 9))
    last = datetime.fromisoformat("2026-03-09T22:59:59+00:00")  # the last second of the due day in Berlin
    over = last + timedelta(seconds=1)
    found = refusal(calibration, 13, at=over)
    assert found.sentence == (
        f"{calibration.instrument.code} is overdue since 9 Mar 2026. A longer interval does not make that good: "
        "enter its next calibration."
    )
    decided(calibration, 13, at=last)
    assert usability(calibration.instrument, over).due_on == date(2026, 4, 9)


def test_what_is_overdue_can_be_decided_to_be_called_more_often():
    calibration = CalibrationFactory.create(accepted=True, calibrated_on=date(2025, 3, 9))
    assert decided(calibration, 6).interval == 6

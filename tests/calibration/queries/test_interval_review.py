"""From rows to the interval review: limits and decisions as of a moment, adjustments, uses, constant reads."""

from datetime import UTC, date, datetime, timedelta

import pytest

from calibration.domain.interval_review import Step
from calibration.models import Calibration, Instrument, InstrumentLimit, IntervalDecision
from calibration.queries.instruments import calibration_history
from calibration.queries.interval_review import (
    IntervalReview,
    interval_review,
    offered_interval,
)
from calibration.queries.usability import usability
from tests.factories.calibration import CalibrationFactory, InstrumentFactory
from tests.factories.ledger import NOON, UserFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("lab")]

PERIODS: list[tuple[datetime, datetime]] = []


def counted_uses(instrument_id: int, periods: list[tuple[datetime, datetime]]) -> list[int]:
    """What settings.INSTRUMENT_USES names in these tests: the first period has ten uses, each later one ten more."""
    PERIODS[:] = periods
    return [10 * (place + 1) for place in range(len(periods))]


@pytest.fixture(autouse=True)
def _counted(settings):
    settings.INSTRUMENT_USES = f"{__name__}.counted_uses"


def limit(instrument: Instrument, **stated) -> InstrumentLimit:
    values = {"unit": "°C", "absolute": "2.5", "source": "invented", "made_at": NOON - timedelta(days=900)}
    return InstrumentLimit.objects.create(instrument=instrument, made_by=UserFactory.create(), **(values | stated))


def calibrated(instrument: Instrument, on: date, *points: tuple[str, str, str], **more) -> Calibration:
    entered = datetime(on.year, on.month, on.day, 12, tzinfo=UTC) + timedelta(days=2)
    made = CalibrationFactory.create(accepted=True, instrument=instrument, calibrated_on=on, entered_at=entered, **more)
    for kind, reference, indication in points:
        made.points.create(kind=kind, reference=reference, indication=indication, unit="°C")
    return made


def yearly(*indications: str) -> Instrument:
    """Calibrated at 850 °C as found each 1 March, the last one in 2026."""
    one = InstrumentFactory.create()
    for place, indication in enumerate(indications):
        calibrated(one, date(2027 - len(indications) + place, 3, 1), ("as found", "850.0", indication))
    return one


def review_of(instrument: Instrument, at: datetime = NOON) -> IntervalReview:
    found = interval_review(
        instrument, calibration_history(instrument, at), usability(instrument, at).calibration_id, at
    )
    assert found is not None
    return found


def test_the_history_and_the_limit_make_the_proposal():
    one = yearly("850.1", "850.2", "853.0")
    limit(one)
    found = review_of(one).proposal
    assert (found.step, found.interval) == (Step.SHORTEN, 7)
    assert "On 1 Mar 2026 it was found 3.0 K off at 850.0 °C, 1.200 of the 2.5 K permitted" in found.sentence


def test_without_a_limit_or_outside_its_range_nothing_is_judged():
    one = yearly("850.1", "859.0")
    assert review_of(one).proposal.step is Step.UNKNOWN
    limit(one, high="800")
    assert review_of(one).proposal.step is Step.UNKNOWN


def test_the_newest_limit_of_a_unit_holds_as_of_the_moment_and_until_it_is_ended():
    one = yearly("850.0", "853.0")
    limit(one)
    limit(one, absolute=None, relative="0.004", made_at=NOON - timedelta(hours=2))
    limit(one, ended=True, made_at=NOON - timedelta(hours=1))
    steps = [review_of(one, NOON - timedelta(minutes=minutes)).proposal.step for minutes in (121, 120, 60)]
    assert steps == [Step.SHORTEN, Step.KEEP, Step.UNKNOWN]


def test_the_reading_furthest_off_speaks_for_its_place():
    one = InstrumentFactory.create()
    limit(one)
    calibrated(one, date(2026, 3, 1), ("as found", "850.0", "851.0"), ("as found", "850.0", "846.0"))
    assert "found 4.0 K off" in review_of(one).proposal.sentence


@pytest.mark.parametrize(
    ("adjusted", "step"),
    # As left tells how it came in only where the certificate says that nothing was adjusted.
    [(False, Step.SHORTEN), (None, Step.UNKNOWN), (True, Step.UNKNOWN)],
)
def test_as_left_is_as_found_only_where_nothing_was_adjusted(adjusted, step):
    one = InstrumentFactory.create()
    limit(one)
    calibrated(one, date(2026, 3, 1), ("as left", "850.0", "853.0"), adjusted=adjusted)
    assert review_of(one).proposal.step is step


def test_an_adjustment_is_judged_as_found():
    one = InstrumentFactory.create()
    limit(one)
    calibrated(one, date(2026, 3, 1), ("as found", "850.0", "853.0"), ("as left", "850.0", "850.0"), adjusted=True)
    assert review_of(one).proposal.step is Step.SHORTEN


def test_rejected_and_waiting_calibrations_do_not_speak():
    one = yearly("850.1", "850.2")
    limit(one)
    keeper = UserFactory.create()
    entered = datetime(2025, 6, 3, tzinfo=UTC)
    wrong = CalibrationFactory.create(
        instrument=one, calibrated_on=date(2025, 6, 1), entered_at=entered, decision="mistaken", decided_at=entered,
        decided_by=keeper, decision_reason="another instrument",
    )  # fmt: skip
    wrong.points.create(kind="as found", reference="850.0", indication="899", unit="°C")
    assert review_of(one).proposal.findings[-1].says.startswith("2 of 2 came back within limits")
    CalibrationFactory.create(instrument=one, calibrated_on=date(2026, 3, 5), entered_at=NOON)
    assert interval_review(one, calibration_history(one, NOON), usability(one, NOON).calibration_id, NOON) is None


def test_the_interval_in_force_is_reviewed_as_of_its_moment():
    one = yearly("850.1", "850.2")
    decision = IntervalDecision.objects.create(
        calibration=one.calibrations.latest("calibrated_on"), interval=200, interval_unit="days", reason="Hard use.",
        at=NOON, by=UserFactory.create(),
    )  # fmt: skip
    before, after = review_of(one, NOON - timedelta(seconds=1)), review_of(one)
    assert [(found.proposal.present, found.proposal.unit) for found in (before, after)] == [
        (12, "months"),
        (200, "days"),
    ]
    assert [found.decisions for found in (before, after)] == [(), (decision,)]
    assert offered_interval(one, NOON) == {"interval": 200, "interval_unit": "days"}
    assert offered_interval(one, NOON - timedelta(seconds=1)) == {"interval": 12, "interval_unit": "months"}


def test_a_first_calibration_is_offered_no_interval_of_another():
    assert offered_interval(InstrumentFactory.create(), NOON) == {}
    assert offered_interval(CalibrationFactory.create().instrument, NOON) == {}


def test_uses_are_counted_from_the_end_of_each_calibration_day_in_the_laboratorys_zone():
    one = yearly("850.1", "850.2", "850.3")
    limit(one)
    findings = {finding.method: finding.says for finding in review_of(one).proposal.findings}
    assert findings["in-use time"] == (
        "30 trials since the newest calibration, more than the 20 after which it was ever found within limits: "
        "calibrate early?"
    )
    midnight = [datetime(year, 3, 1, 23, tzinfo=UTC) for year in (2024, 2025, 2026)]  # 00:00 of 2 March in Berlin
    assert [(midnight[0], midnight[1]), (midnight[1], midnight[2]), (midnight[2], NOON)] == PERIODS


@pytest.mark.parametrize("count", [1, 4])
def test_the_review_takes_as_many_reads_for_four_calibrations_as_for_one(count, django_assert_num_queries):
    one = yearly(*["850.1"] * count)
    limit(one)
    history, in_force = calibration_history(one, NOON), usability(one, NOON).calibration_id
    with django_assert_num_queries(3):  # limits, zone, decisions; the uses are another app's one read
        assert interval_review(one, history, in_force, NOON) is not None

"""From rows to answers: as of any moment, with a constant number of reads."""

from datetime import UTC, date, datetime, timedelta

import pytest

from calibration.domain.status import Status
from calibration.models import Calibration, ServiceChange
from calibration.queries.instruments import hands_needed_count
from calibration.queries.register import instruments_by_due
from calibration.queries.rigs import rig_readiness, rigs_of_kind
from calibration.queries.usability import usabilities, usability
from tests.factories.calibration import REGISTERED, CalibrationFactory, InstrumentFactory, MountingFactory, RigFactory
from tests.factories.ledger import NOON, UserFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("lab")]


def due(day: date, **more) -> Calibration:
    """An accepted calibration that falls due on a day."""
    return CalibrationFactory.create(
        accepted=True, calibrated_on=day - timedelta(days=100), interval=100, interval_unit="days",
        entered_at=REGISTERED + timedelta(days=1), **more,
    )  # fmt: skip


def test_the_same_function_answers_for_now_and_for_then():
    decided = datetime(2026, 2, 1, 9, 0, tzinfo=UTC)
    one = CalibrationFactory.create(accepted=True, decided_at=decided).instrument
    moments = (datetime(2026, 1, 19, tzinfo=UTC), datetime(2026, 1, 25, tzinfo=UTC), decided, NOON)
    expected = [Status.NEVER, Status.AWAITS, Status.USABLE, Status.USABLE]
    assert [usability(one, moment).status for moment in moments] == expected
    assert usability(one, datetime(2027, 1, 15, 23, 0, tzinfo=UTC)).status is Status.OVERDUE  # midnight in Berlin


def test_a_rejection_and_a_service_change_reach_the_answer():
    keeper = UserFactory.create()
    rejected = CalibrationFactory.create(
        decision="rejected", decided_at=NOON, decided_by=keeper, decision_reason="reads 3.9 K low"
    )
    assert (
        usability(rejected.instrument, NOON).reason == "Its calibration of 15 Jan 2026 was rejected: reads 3.9 K low."
    )
    good = CalibrationFactory.create(accepted=True).instrument
    ServiceChange.objects.create(instrument=good, state="out of service", reason="dropped", at=NOON, by=keeper)
    assert usability(good, NOON).clause == "it is out of service since 10 Mar 2026: dropped"
    assert usability(good, NOON - timedelta(seconds=1)).usable


@pytest.mark.parametrize("count", [1, 3])
def test_many_answers_take_as_many_reads_as_one(count, django_assert_num_queries):
    instruments = [due(date(2026, 12, 1)).instrument for _ in range(count)]
    with django_assert_num_queries(3):
        answers = usabilities(instruments, NOON)
    assert set(answers) == {one.pk for one in instruments}
    assert all(answer.usable for answer in answers.values())


def test_the_list_has_four_groups_soonest_first():
    keeper = UserFactory.create()
    due(date(2026, 5, 1), instrument__code="REST-2")
    due(date(2026, 4, 30), instrument__code="REST-1")
    due(date(2026, 4, 9), instrument__code="SOON-2")
    due(date(2026, 3, 10), instrument__code="SOON-1")
    due(date(2026, 3, 9), instrument__code="LATE")
    InstrumentFactory.create(code="NEVER")
    CalibrationFactory.create(instrument__code="WAITS")
    out = due(date(2026, 6, 1), instrument__code="OUT").instrument
    ServiceChange.objects.create(instrument=out, state="out of service", reason="dropped", at=NOON, by=keeper)
    InstrumentFactory.create(code="LATER", registered_at=NOON + timedelta(days=1))
    groups = {group.key: [row.instrument.code for row in group.rows] for group in instruments_by_due(NOON)}
    assert groups == {
        "hand": ["NEVER", "WAITS", "LATE"],
        "soon": ["SOON-1", "SOON-2"],
        "rest": ["REST-1", "REST-2"],
        "out": ["OUT"],
    }
    assert hands_needed_count(NOON) == 3
    words = [row.to_do for group in instruments_by_due(NOON) for row in group.rows]
    assert words[:4] == [
        "Calibrate NEVER for the first time",
        "Decide on WAITS",
        "Calibrate LATE",
        "Plan the calibration of SOON-1",
    ]


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_takes_as_many_reads_for_three_rows_as_for_one(count, django_assert_num_queries):
    for _ in range(count):
        MountingFactory.create(instrument=due(date(2026, 12, 1)).instrument)
    with django_assert_num_queries(16):
        groups = instruments_by_due(NOON)
        shown = [
            (row.instrument.place, row.rig and row.rig.code, row.usability.reason)
            for group in groups
            for row in group.rows
        ]
    assert len(shown) == count


@pytest.mark.parametrize("count", [1, 3])
def test_the_count_for_the_frame_takes_four_reads(count, django_assert_num_queries):
    for _ in range(count):
        InstrumentFactory.create()
    with django_assert_num_queries(4):
        assert hands_needed_count(NOON) == count


def test_a_rig_stands_ready_when_all_it_carries_may_be_used():
    rig, bare, idle = RigFactory.create(), RigFactory.create(), RigFactory.create(in_use=False)
    MountingFactory.create(rig=rig, instrument=due(date(2026, 12, 1)).instrument)
    late = due(date(2026, 12, 24), instrument__code="TC-9").instrument
    MountingFactory.create(rig=rig, instrument=late)
    found = rig_readiness([rig, bare, idle], NOON)
    assert (found[rig.pk].ready, found[rig.pk].reason) == (True, "All 2 instruments are in calibration.")
    assert (found[bare.pk].ready, found[bare.pk].reason) == (False, "No instrument is mounted on it.")
    assert (found[idle.pk].ready, found[idle.pk].reason) == (False, "It is taken out of use.")
    overdue = rig_readiness([rig], datetime(2026, 12, 5, tzinfo=UTC))[rig.pk]
    assert not overdue.ready
    assert overdue.reason.endswith("its calibration was due on 1 Dec 2026 and that day is over.")
    both = rig_readiness([rig], datetime(2027, 1, 5, tzinfo=UTC))[rig.pk]
    assert both.reason.endswith("; 1 more of its instruments must not be used.")


def test_rigs_of_a_kind_are_those_in_use_by_code():
    second, first = RigFactory.create(code="GW-2"), RigFactory.create(code="GW-1")
    RigFactory.create(code="GW-0", in_use=False)
    RigFactory.create(code="NF-1", kind="needle flame")
    assert rigs_of_kind("glow wire") == [first, second]


@pytest.mark.parametrize("count", [1, 3])
def test_readiness_takes_as_many_reads_for_three_rigs_as_for_one(count, django_assert_num_queries):
    rigs = [MountingFactory.create(instrument=due(date(2026, 12, 1)).instrument).rig for _ in range(count)]
    with django_assert_num_queries(6):
        found = rig_readiness(rigs, NOON)
    assert [one.ready for one in found.values()] == [True] * count


def test_what_was_taken_off_no_longer_blocks():
    rig = RigFactory.create()
    MountingFactory.create(rig=rig, instrument=due(date(2026, 12, 1)).instrument)
    MountingFactory.create(rig=rig, removed_at=NOON, removed_by=UserFactory.create())
    assert not rig_readiness([rig], NOON - timedelta(seconds=1))[rig.pk].ready
    assert rig_readiness([rig], NOON)[rig.pk].ready

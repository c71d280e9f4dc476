"""Whether specimens are conditioned at a moment: hours by hand, clock changes, what was known then, query counts."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from calibration.models import CalibrationPoint
from specimens.actions.climate import attach_climate_record, withdraw_climate_record
from specimens.actions.conditioning import start_conditioning, take_out
from specimens.domain.atmospheres import ATMOSPHERES
from specimens.models import DeviationAnswer
from specimens.queries.climate import climates, forget_decoded
from specimens.queries.conditioning import conditioning_states, source_of, specimen_conditioning
from tests.factories.calibration import CalibrationFactory
from tests.factories.conditioning import HOUR, MINUTE, chamber, hygrometer, recorder_csv, set_of_specimens
from tests.factories.ledger import NOON, PlaceFactory
from tests.factories.specimens import DeviationFactory, OrderLineFactory

pytestmark = pytest.mark.usefixtures("conditioning_catalogue")


class Scene:
    """A set in a chamber since `in_at`, and files brought in for it."""

    def __init__(
        self, by, *, in_at=NOON, method_key="glow-wire-end-product@2021", atmosphere_key="15-35/45-75", count=1
    ):
        self.by, self.in_at = by, in_at
        self.line = OrderLineFactory.create(method_key=method_key)
        self.specimens = set_of_specimens(count, line=self.line, came_at=in_at)
        self.chamber, self.recorder, self.shelf = (
            chamber(f"CH-{self.line.pk}"),
            hygrometer(f"HY-{self.line.pk}"),
            PlaceFactory.create(),
        )
        self.stay = self.put_in(in_at, atmosphere_key)

    def put_in(self, at, atmosphere_key="15-35/45-75"):
        return start_conditioning(
            by=self.by, at=at, order_line=self.line, specimens=self.specimens, chamber=self.chamber,
            atmosphere_key=atmosphere_key, recorder=self.recorder,
        )  # fmt: skip

    def out(self, at, specimens=None):
        take_out(by=self.by, at=at, stay=self.stay, specimens=specimens or self.specimens, place=self.shelf)

    def bring(self, from_at, until_at, *, at=None, recorder=None, **facts):
        return attach_climate_record(
            by=self.by, at=at or until_at + MINUTE, chamber=self.chamber, recorder=recorder or self.recorder,
            name="record.csv", content=recorder_csv(from_at, until_at, **facts),
        )  # fmt: skip

    def state(self, at, number=0):
        key = self.specimens[number].pk
        return specimen_conditioning([key], at)[key]


@pytest.fixture
def by(person):
    """A technician."""
    return person("technician")


def test_hours_count_less_a_gap_and_an_excursion(by):
    """30 h inside; 40 min without readings; 75.1 % RH at six readings, so 5 min and the minute on either side."""
    scene = Scene(by)
    gap = (NOON + 5 * HOUR, NOON + 5 * HOUR + 40 * MINUTE)
    damp = (NOON + 9 * HOUR, NOON + 9 * HOUR + 5 * MINUTE, (23.0, 75.1))
    scene.bring(NOON - HOUR, NOON + 30 * HOUR, gaps=[gap], excursions=[damp])
    state = scene.state(NOON + 30 * HOUR + MINUTE)
    assert state.counted_s == 30 * 3600 - 40 * 60 - 7 * 60
    assert state.not_counted_s == 47 * 60
    assert state.awaiting_record_s == 60
    assert (state.ready, state.ready_at) == (True, NOON + 24 * HOUR + 47 * MINUTE)


@pytest.mark.parametrize(
    ("value", "counts"), [((35.0, 75.0), True), ((35.01, 75.0), False), ((15.0, 45.0), True), ((15.0, 44.9), False)]
)
def test_the_limits_are_in_band(by, value, counts):
    scene = Scene(by)
    scene.bring(NOON, NOON + 24 * HOUR, air=lambda at: value)
    assert scene.state(NOON + 25 * HOUR).ready is counts


@pytest.mark.parametrize(
    "change_at", [datetime(2026, 3, 29, 1, 0, tzinfo=UTC), datetime(2026, 10, 25, 1, 0, tzinfo=UTC)]
)
def test_48_hours_across_a_clock_change_are_48_hours(by, change_at):
    # clock changes in the EU in 2026 (Directive 2000/84/EC)
    scene = Scene(by, in_at=change_at - 20 * HOUR, method_key="material@2021", atmosphere_key="23/50 class 2")
    scene.bring(scene.in_at, scene.in_at + 50 * HOUR)
    state = scene.state(scene.in_at + 50 * HOUR + MINUTE)
    assert (state.counted_s, state.ready_at) == (50 * 3600, scene.in_at + 48 * HOUR)


def test_the_answer_is_that_of_the_moment_asked_about(by):
    scene = Scene(by)
    scene.bring(NOON, NOON + 10 * HOUR)
    scene.bring(NOON + 10 * HOUR, NOON + 30 * HOUR)
    scene.out(NOON + 31 * HOUR)
    before, early, middle = scene.state(NOON - MINUTE), scene.state(NOON + 10 * HOUR), scene.state(NOON + 20 * HOUR)
    assert before.sentence == "Not in a chamber yet; 24 h at 15 to 35 °C and 45 to 75 % RH are needed."
    assert (early.counted_s, early.awaiting_record_s) == (0, 10 * 3600)  # the first file came a minute later
    assert (middle.counted_s, middle.inside, middle.taken_out_at) == (10 * 3600, True, None)
    late = scene.state(NOON + 32 * HOUR)
    assert (late.inside, late.taken_out_at, late.ready, late.use_by) == (
        False, NOON + 31 * HOUR, True, NOON + 35 * HOUR,
    )  # fmt: skip


def test_expected_counts_on_from_the_last_reading(by):
    scene = Scene(by)
    scene.bring(NOON, NOON + 10 * HOUR)
    assert scene.state(NOON + 12 * HOUR).expected_at == NOON + 24 * HOUR
    assert scene.state(NOON + 26 * HOUR).expected_at == NOON + 26 * HOUR


def test_only_the_last_stay_counts(by):
    scene = Scene(by)
    scene.bring(NOON, NOON + 60 * HOUR)
    scene.out(NOON + 30 * HOUR)
    assert scene.state(NOON + 61 * HOUR).counted_s == 30 * 3600
    scene.put_in(NOON + 40 * HOUR)
    again = scene.state(NOON + 61 * HOUR)
    assert (again.counted_s, again.ready, again.inside, again.awaiting_record_s) == (20 * 3600, False, True, 3600)


def test_use_by_is_enforced_where_the_method_says_so(by):
    scene = Scene(by, method_key="material@2021", atmosphere_key="23/50 class 1")
    scene.bring(NOON, NOON + 50 * HOUR)
    scene.out(NOON + 50 * HOUR)
    assert scene.state(NOON + 54 * HOUR).ready is True
    assert scene.state(NOON + 54 * HOUR + timedelta(microseconds=1)).ready is False


def test_hours_under_another_atmosphere_do_not_count(by):
    scene = Scene(by, atmosphere_key="oven 70")
    scene.bring(NOON, NOON + 30 * HOUR, air=lambda at: (70.0, 5.0))
    state = scene.state(NOON + 31 * HOUR)
    assert (state.counted_s, state.ready, state.expected_at) == (0, False, None)


def test_a_method_without_conditioning_is_ready_at_once(by):
    scene = Scene(by, method_key="nothing@2021")
    assert (scene.state(NOON).ready, scene.state(NOON - HOUR).ready) == (True, True)


def test_readings_count_to_the_end_of_the_recorders_due_day(by):
    """Calibrated 11 March 2025 for a year: due 11 March 2026, usable until 23:00 UTC, 36 h after noon in Berlin."""
    scene = Scene(by)
    worn = hygrometer("HY-OLD", calibrated_on=date(2025, 3, 11), interval=12)
    scene.stay.recorder = worn
    scene.stay.save()
    record = scene.bring(NOON, NOON + 50 * HOUR, recorder=worn)
    assert record.counts_until == datetime(2026, 3, 11, 23, 0, tzinfo=UTC)
    assert record.uncounted_reason == "HY-OLD: its calibration was due on 11 Mar 2026 and that day is over."
    state = scene.state(NOON + 51 * HOUR)
    # the last pair whose readings both count ends a minute before the day does
    assert state.counted_s == 36 * 3600 - 60
    assert state.not_counted_s == 14 * 3600 + 60


def test_a_record_of_a_recorder_that_was_overdue_from_the_start_does_not_count(by):
    scene = Scene(by)
    worn = hygrometer("HY-OLD", calibrated_on=date(2025, 3, 1), interval=12)
    scene.stay.recorder = worn
    scene.stay.save()
    record = scene.bring(NOON, NOON + 30 * HOUR, recorder=worn)
    assert record.counts_until == NOON
    assert scene.state(NOON + 31 * HOUR).counted_s == 0


def test_records_of_another_recorder_in_the_chamber_do_not_count(by):
    scene = Scene(by)
    scene.bring(NOON, NOON + 30 * HOUR, recorder=hygrometer("HY-X"))
    assert scene.state(NOON + 31 * HOUR).counted_s == 0


def test_overlapping_records_that_agree_count_once(by):
    scene = Scene(by)
    scene.bring(NOON, NOON + 10 * HOUR)
    scene.bring(NOON + 5 * HOUR, NOON + 20 * HOUR)
    assert scene.state(NOON + 20 * HOUR + 2 * MINUTE).counted_s == 20 * 3600


def test_a_withdrawn_record_counts_until_it_was_withdrawn(by):
    scene = Scene(by)
    record = scene.bring(NOON, NOON + 30 * HOUR)
    withdraw_climate_record(by=by, at=NOON + 40 * HOUR, record=record, reason="file of the other chamber")
    assert scene.state(NOON + 39 * HOUR).counted_s == 30 * 3600
    assert scene.state(NOON + 40 * HOUR).counted_s == 0


def test_a_line_is_as_conditioned_as_its_least_conditioned_specimen(by):
    scene = Scene(by, count=3)
    scene.bring(NOON, NOON + 30 * HOUR)
    scene.out(NOON + 20 * HOUR, [scene.specimens[1]])
    state = conditioning_states([scene.line.pk], NOON + 31 * HOUR)[scene.line.pk]
    assert (state.ready, state.counted_s, state.inside) == (False, 20 * 3600, False)


def test_specimens_the_client_replaces_do_not_speak_for_the_line(by):
    scene = Scene(by)
    scene.bring(NOON, NOON + 30 * HOUR)
    broken = set_of_specimens(1, line=scene.line)
    DeviationAnswer.objects.create(
        deviation=DeviationFactory.create(item=broken[0].item), decision=DeviationAnswer.Decision.REPLACE,
        answered_by="Contact", answer="Others follow.", recorded_at=NOON, recorded_by=by,
    )  # fmt: skip
    assert conditioning_states([scene.line.pk], NOON + 31 * HOUR)[scene.line.pk].ready is True


def test_a_line_nothing_came_in_for_is_not_ready(lab):
    line = OrderLineFactory.create()
    state = conditioning_states([line.pk], NOON)[line.pk]
    assert (state.ready, state.needed_s, state.sentence) == (False, 24 * 3600, "Nothing has come in yet.")


@pytest.mark.parametrize("stays", [1, 3])
def test_the_number_of_queries_does_not_grow(by, stays, django_assert_num_queries):
    scenes = [Scene(by, count=2) for _ in range(stays)]
    for scene in scenes:
        scene.bring(NOON, NOON + 30 * HOUR)
    ids, lines = [one.pk for scene in scenes for one in scene.specimens], [scene.line.pk for scene in scenes]
    forget_decoded()
    with django_assert_num_queries(7):  # specimens, stays, records, readings, calibrations, points, laboratory
        states = specimen_conditioning(ids, NOON + 31 * HOUR)
    assert {state.counted_s for state in states.values()} == {30 * 3600}
    with django_assert_num_queries(6):  # the readings are remembered
        specimen_conditioning(ids, NOON + 31 * HOUR)
    with django_assert_num_queries(7):  # lines, specimens, stays, records, calibrations, points, laboratory
        assert set(conditioning_states(lines, NOON + 31 * HOUR)) == set(lines)


def test_nothing_asked_costs_little(lab, django_assert_max_num_queries):
    with django_assert_max_num_queries(2):
        assert specimen_conditioning([], NOON) == {}
    with django_assert_max_num_queries(3):
        assert conditioning_states([], NOON) == {}


def stated(scene, unit, *points):
    """Let the recorder's calibration state points (reference, indication) in a unit."""
    for reference, indication in points:
        CalibrationPoint.objects.create(
            calibration=scene.recorder.calibrations.get(), reference=reference, indication=indication, unit=unit
        )


def test_hours_count_by_the_readings_with_the_recorders_correction(by):
    """35.2 degC read is 34.9 when the recorder reads 0.3 high; without the points the hours would not count."""
    plain, corrected = Scene(by), Scene(by)
    stated(corrected, "°C", ("15.0", "15.3"), ("36.0", "36.3"))
    for scene in (plain, corrected):
        scene.bring(NOON, NOON + 4 * HOUR, air=lambda _: (35.2, 50.0))
    assert plain.state(NOON + 4 * HOUR + MINUTE).counted_s == 0
    assert corrected.state(NOON + 4 * HOUR + MINUTE).counted_s == 4 * 3600
    source = source_of(corrected.stay)
    known = climates([source], from_at=NOON, until_at=NOON + HOUR, at=NOON + 5 * HOUR)[source]
    assert known.corrected_by == (f"{corrected.recorder.code}, calibrated 15 Jan 2026",)
    assert set(np.round(known.series.temperature_c, 6)) == {34.9}


def test_readings_outside_the_calibrated_range_prove_nothing(by):
    """In band from 15 to 35 degC, calibrated from 20 to 30 only: 31 degC is no proof, 36 degC is still out of band."""
    scene = Scene(by)
    stated(scene, "°C", ("20.0", "20.0"), ("30.0", "30.0"))
    hot = [(NOON + HOUR, NOON + 2 * HOUR, (31.0, 50.0)), (NOON + 3 * HOUR, NOON + 4 * HOUR, (36.0, 50.0))]
    scene.bring(NOON, NOON + 5 * HOUR, excursions=hot)
    source = source_of(scene.stay)
    known = climates([source], from_at=NOON, until_at=NOON + 5 * HOUR, at=NOON + 6 * HOUR)[source]
    judged = known.judged(ATMOSPHERES["15-35/45-75"], NOON, NOON + 5 * HOUR)
    assert [stretch.kind for stretch in judged.not_counted] == ["fault", "temperature high"]
    first, second = judged.not_counted
    assert known.reason_at(first.from_at, first.until_at) == "outside the calibrated range of the recorder"
    assert second.furthest == 36.0


def test_a_calibration_accepted_after_the_readings_does_not_correct_them(by):
    scene = Scene(by)
    later = CalibrationFactory.create(
        instrument=scene.recorder, calibrated_on=date(2026, 3, 20), entered_at=NOON + 20 * 24 * HOUR, accepted=True
    )
    CalibrationPoint.objects.create(calibration=later, reference="23.0", indication="29.0", unit="°C")
    record = scene.bring(NOON, NOON + HOUR, at=NOON + 40 * 24 * HOUR)
    assert record.calibration_id == scene.recorder.calibrations.exclude(pk=later.pk).get().pk

"""How often an instrument was used: by trial, between moments, in one read."""

from datetime import timedelta

import pytest

from tests.factories.bench import bench_scene, opened_trial
from tests.factories.ledger import NOON
from trials.models import InstrumentUse
from trials.queries.instrument_uses import uses_between

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


def test_a_trial_is_one_use_in_the_period_that_holds_its_moment(django_assert_num_queries):
    scene = bench_scene(NOON)
    trial = opened_trial(scene, 0)
    one = scene.instruments["TC-05"]
    use = InstrumentUse.objects.get(trial=trial, instrument=one)
    InstrumentUse.objects.create(
        trial=trial, role="a second role", instrument=one, calibration=use.calibration, due_on=use.due_on, at=use.at
    )
    periods = [(use.at - HOUR, use.at), (use.at, use.at + HOUR), (use.at + HOUR, use.at + 2 * HOUR), (use.at, use.at)]
    with django_assert_num_queries(1):
        assert uses_between(one.pk, periods) == [0, 1, 0, 0]


def test_each_trial_counts_and_other_instruments_do_not():
    scene = bench_scene(NOON)
    for number in range(2):
        opened_trial(scene, number)
    everything = [(NOON - 900 * HOUR, NOON + 900 * HOUR)]
    assert uses_between(scene.instruments["TC-05"].pk, everything) == [2]
    assert uses_between(scene.instruments["TC-05"].pk + 10_000, everything) == [0]
    assert uses_between(scene.instruments["TC-05"].pk, []) == []

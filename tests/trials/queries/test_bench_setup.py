"""What the set-up page is told at once, before anything burns."""

from datetime import UTC, datetime
from typing import Any

import pytest

from tests.factories.bench import bench_scene, opened_trial
from trials.actions.bench import enter_setup_values
from trials.queries.bench_setup import setup_json, setup_state

pytestmark = pytest.mark.django_db

NOON = datetime(2026, 3, 10, 11, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("method", "key", "what"),
    [
        ("horizontal-flame@2013", "thickness_off", "the bar"),
        ("vertical-flame@2013", "thickness_off", "the bar"),
        ("glow-wire-flammability-index@2021", "off_nominal", "the plate"),
    ],
)
def test_a_thickness_far_off_the_nominal_one_is_told_as_soon_as_both_are_typed(method: str, key: str, what: str):
    scene = bench_scene(NOON, method=method, severity=None)
    trial = opened_trial(scene)

    def told(measured: str) -> list[dict[str, Any]]:
        values = {"nominal_mm": "0.8", "thickness_mm": measured}
        enter_setup_values(by=scene.technician, at=NOON, trial_id=trial.pk, values=values)
        return [one for one in setup_json(setup_state(trial, None))["others"] if one["key"] == key]

    off = told("3.05")
    assert [(one["holds"], one["enforced"]) for one in off] == [(None, True)]
    assert off[0]["reason"].startswith(f"{what} measures 3.05 mm, 2.25 mm off its nominal 0.8 mm")
    assert [one["holds"] for one in told("0.82")] == [True]

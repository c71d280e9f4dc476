"""What a trial's page says of corrections, from the calibration's points to the words."""

from decimal import Decimal

import pytest

from calibration.models import CalibrationPoint, InstrumentLimit
from tests.factories.bench import bench_scene, opened_trial, readings
from tests.factories.ledger import NOON
from trials.actions.bench import enter_setup_values
from trials.actions.observations import record_events
from trials.queries.records import trial_record
from trials.queries.shown_corrections import shown_corrections
from trials.queries.trial_page import trial_page

pytestmark = pytest.mark.django_db


def stated(instrument, unit, *points, u="1.2", k="2"):
    for reference, indication in points:
        CalibrationPoint.objects.create(
            calibration=instrument.calibrations.get(), reference=reference, indication=indication, unit=unit,
            expanded_uncertainty=u, coverage_factor=k,
        )  # fmt: skip


def started(scene):
    trial = opened_trial(scene)
    enter_setup_values(by=scene.technician, at=NOON, trial_id=trial.pk, values={"force_n": "0.96"})
    record_events(by=scene.technician, at=NOON, trial_id=trial.pk, events=readings("848.0", "850.4"))
    return trial


def test_figures_are_shown_as_read_and_as_they_count():
    scene = bench_scene(NOON)
    tools = scene.by_role()
    stated(tools["thermocouple"], "°C", ("500.0", "498.0"), ("1000.0", "996.0"))
    stated(tools["indicator"], "°C", ("0.0", "0.0"), ("1000.0", "1000.0"), u="0.2")
    stated(tools["force gauge"], "N", ("0.50", "0.51"), ("2.00", "2.01"), u="0.012", k=None)
    trial = started(scene)
    indicator = tools["indicator"]
    assert indicator is not None
    source = f"{indicator.code}, calibrated"
    tip, force = trial_page(trial).corrections
    assert (tip.what, tip.read, tip.correction, tip.counts, tip.uncertainty, tip.why) == (
        "Tip, last reading before the start", "850.4 °C", "+3.42 K", "853.82 °C", "1.2 K", "",
    )  # fmt: skip
    assert tip.source.startswith(source)
    assert (force.what, force.read, force.correction, force.counts, force.uncertainty) == (
        "Force", "0.96 N", "−0.010 N", "0.950 N", "not known",
    )  # fmt: skip
    assert trial_record(trial).figure("force_n") == Decimal("0.950")


def test_of_a_display_without_points_nobody_knows_how_sure_it_is():
    scene = bench_scene(NOON)
    stated(scene.by_role()["thermocouple"], "°C", ("500.0", "498.0"), ("1000.0", "996.0"))
    (tip,) = trial_page(started(scene)).corrections
    assert (tip.correction, tip.uncertainty) == ("+3.42 K", "not known")


def test_the_drift_allowance_that_held_at_opening_widens_the_uncertainty():
    """u = sqrt(0.6² + (2/√3)² + 0.1²) = 1.305, U = 2.6 K; a limit set afterwards changes nothing."""
    scene = bench_scene(NOON)
    tip = scene.by_role()["thermocouple"]
    stated(scene.by_role()["indicator"], "°C", ("0.0", "0.0"), ("1000.0", "1000.0"), u="0.2")
    stated(tip, "°C", ("500.0", "500.0"), ("1000.0", "1000.0"))
    facts = {"instrument": tip, "unit": "°C", "absolute": "4", "source": "class 1", "made_by": scene.technician}
    InstrumentLimit.objects.create(**facts, drift_allowance="2.0", made_at=NOON.replace(hour=1))
    trial = started(scene)
    assert trial_page(trial).corrections[0].uncertainty == "2.6 K"
    InstrumentLimit.objects.create(**facts, drift_allowance="9.0", made_at=NOON.replace(hour=23))
    assert trial_page(trial).corrections[0].uncertainty == "2.6 K"


def test_outside_the_calibrated_range_the_page_says_why_there_is_none():
    scene = bench_scene(NOON)
    stated(scene.by_role()["thermocouple"], "°C", ("500.0", "500.0"), ("800.0", "800.0"))
    (tip,) = trial_page(started(scene)).corrections
    assert (tip.counts, tip.uncertainty) == ("", "not known")
    assert tip.why.endswith("calibrated from 500.0 to 800.0 °C, and 850.4 °C is outside")


def test_without_points_there_is_nothing_to_show():
    trial = started(bench_scene(NOON))
    assert trial_page(trial).corrections == ()
    assert shown_corrections(trial_page(trial).edition, None) == ()

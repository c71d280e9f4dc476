"""Values offered at the set-up from the checks of the rig and of the trial's instruments."""

from datetime import timedelta
from decimal import Decimal

import pytest

from calibration.actions.checks import strike_check
from calibration.models import Instrument
from tests.calibration.checking import planned, recorded
from tests.factories.bench import bench_scene, opened_trial
from tests.factories.calibration import InstrumentFactory
from tests.factories.ledger import NOON, UserFactory
from trials.models import SetupValue, Trial
from trials.queries.methods import trial_edition
from trials.queries.setup_offers import checked_offers, setup_offers

D = Decimal
pytestmark = pytest.mark.usefixtures("lab")


@pytest.fixture
def scene():
    return bench_scene(NOON)


@pytest.fixture
def trial(scene):
    return opened_trial(scene)


def foil(thing, reading, *, at=NOON):
    return recorded(thing, "foil", indication=D(reading), foil_reference="nominal", at=at)


def offered(trial):
    found = setup_offers(trial, trial_edition(trial)).get("foil_check_c")
    return (found.value, found.why) if found else None


@pytest.fixture
def tip(trial):
    one = Instrument.objects.get(code="TC-05")
    planned(one, "foil")
    planned(trial.rig, "foil")
    return one


def test_nothing_is_offered_without_a_check(trial, tip):
    assert offered(trial) is None


def test_the_last_check_of_the_instrument_or_the_rig_is_offered_with_its_date(trial, tip):
    foil(trial.rig, "958.0", at=NOON - timedelta(days=1))
    foil(tip, "962.50")
    assert offered(trial) == ("962.50", "foil check of 10 Mar 2026")


def test_a_check_of_another_instrument_is_not_offered(trial, tip):
    other = InstrumentFactory.create(code="IN-77", kind="indicator")
    planned(other, "foil")
    foil(other, "962.5")
    assert offered(trial) is None


def test_what_failed_or_was_struck_out_is_not_offered(trial, tip):
    foil(tip, "958.0", at=NOON - timedelta(days=2))
    failed = foil(trial.rig, "999", at=NOON - timedelta(days=1))
    assert offered(trial) is None
    strike_check(by=UserFactory.create(roles=["quality"]), at=NOON, check=failed, reason="wrong rig")
    assert offered(trial) == ("958.0", "foil check of 8 Mar 2026")


@pytest.mark.parametrize(
    ("hours", "expected"), [(-1, ("962.5", "foil check of 9 Mar 2026")), (1, ("961.0", "in the last trial here"))]
)
def test_the_later_of_check_and_last_trial_is_offered(scene, trial, tip, hours, expected):
    checked_at = NOON - timedelta(days=1)
    foil(tip, "962.5", at=checked_at)
    before = opened_trial(scene, 1)
    at = checked_at + timedelta(hours=hours)
    SetupValue.objects.create(trial=before, key="foil_check_c", value="961.0", at=at, by=before.opened_by)
    assert offered(trial) == expected


def test_the_runs_of_a_flame_are_offered_one_by_one():
    scene = bench_scene(NOON, method="needle-flame@2016", severity=None, serial=7)
    planned(scene.rig, "flame", reference=D("23.5"), error_low=D(-1), error_high=D(1))
    recorded(scene.rig, "flame", runs=(D("23.4"), D("23.60"), D("24.1")))
    trial = Trial(rig=scene.rig, method_key="needle-flame@2016", job=scene.job, specimen=scene.specimens[0])
    trial.pk = 0
    edition = trial_edition(trial)
    found = {key: offer.value for key, offer in checked_offers(trial, edition).items()}
    assert found == {"confirm_1_s": "23.4", "confirm_2_s": "23.60", "confirm_3_s": "24.1"}

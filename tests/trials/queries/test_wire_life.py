"""The life of a wire read from the trials made with it, and what the bench says of wire and current."""

from datetime import timedelta
from decimal import Decimal

import pytest

from calibration.actions.wires import clean_wire, fit_wire, measure_tip
from tests.factories.bench import bench_scene, opened_trial
from tests.factories.ledger import NOON
from tests.factories.trials import run_trial, sign
from trials.actions.bench import enter_setup_values
from trials.queries.wire_life import bench_wire_words, wire_life

pytestmark = pytest.mark.django_db
END = NOON + timedelta(hours=1)
CURRENTS = ("128.0", "131.1", "129.4")


@pytest.fixture
def scene(db):
    return bench_scene(NOON, specimens=5)


@pytest.fixture
def wire(scene):
    return fit_wire(
        by=scene.technician, at=NOON - timedelta(days=2), rig=scene.rig, code="W-1", seen_wire=None,
        first_tip_mm=Decimal("4.00"),
    )  # fmt: skip


def life_at(scene, at):
    """The life of the wire that is on the scene's rig at a moment."""
    found = wire_life(scene.rig, at)
    assert found is not None
    return found


def tried(scene, number, current_a="", **values):
    """A signed trial that read the current and the room while it was set up."""
    trial = run_trial(scene, number, first=1000 * number + 1)
    more = {"heating_current_a": current_a, "room_temperature_c": "22.5"} | values
    enter_setup_values(by=scene.technician, at=NOON, trial_id=trial.pk, values=more)
    sign(scene, trial)
    return trial


def test_without_a_wire_there_is_no_life_and_the_bench_says_so(scene):
    assert wire_life(scene.rig, END) is None
    assert bench_wire_words(opened_trial(scene), END) == [
        (
            f"No wire is recorded on {scene.rig.code}: its wear and usual heating current are not known. "
            "Approach slowly from below."
        )
    ]


def test_applications_and_heating_are_read_from_the_trials_while_it_was_fitted(scene, wire):
    for number in range(2):
        tried(scene, number)
    opened_trial(scene, 2)  # opened and never in contact
    use = life_at(scene, END).use
    # The first reading at the level comes 65 s before contact, withdrawal 30.0 s after it: 95 s each.
    assert (use.trials, use.applications, use.heating_s, use.unknown) == (3, 2, Decimal("190.0"), 1)
    fit_wire(
        by=scene.technician, at=END, rig=scene.rig, code="W-2", seen_wire=wire.pk, reason="cracked"
    )  # fmt: skip
    fresh = life_at(scene, END + timedelta(minutes=1))
    assert (fresh.wire.code, fresh.use.trials) == ("W-2", 0)
    assert life_at(scene, END - timedelta(seconds=1)).use.applications == 2  # as it stood then


def test_measures_in_mm_and_shares_at_set_up_stand_in_order_of_time(scene, wire):
    tried(scene, 0, tip_wear_percent="98.9")
    measure_tip(by=scene.technician, at=NOON + timedelta(minutes=30), wire=wire, tip_mm=Decimal("3.89"))
    clean_wire(by=scene.technician, at=NOON - timedelta(days=1), wire=wire)
    life = life_at(scene, END)
    assert [one.shown_percent for one in life.measures] == [Decimal("98.9"), Decimal("97.25")]
    assert life.cleaned == (NOON - timedelta(days=1),)
    assert [(one.percent, one.editions) for one in life.limits] == [(Decimal("97.5"), ("2-11:2021",))]
    assert life.wear.state == "replace"
    assert life_at(scene, NOON + timedelta(minutes=29)).wear.state == "in limit"


def test_a_wire_never_used_goes_by_all_editions_of_its_rig(scene, wire):
    assert [one.percent for one in life_at(scene, END).limits] == [Decimal("97.5"), Decimal(90)]


def test_the_current_is_learned_from_three_valid_trials_at_the_level(scene, wire):
    for number, current in enumerate(CURRENTS[:2]):
        tried(scene, number, current)
    trial = opened_trial(scene, 3)
    assert bench_wire_words(trial, END)[0].startswith(
        "Heating current at 850 °C: not enough trials on this rig yet (2 of 3 with wire W-1"
    )
    tried(scene, 2, CURRENTS[2])
    assert bench_wire_words(trial, END) == [
        (
            f"Start at 129.4 A for 850 °C: median of 3 trials on {scene.rig.code} with wire W-1 in the last 90 days, "
            "128.0 to 131.1 A, room 22.5 °C. Set less at first and approach slowly from below; the reading of the tip "
            "decides."
        ),
        "Wire W-1: The tip of this wire is not measured yet; measure it against the new one.",
    ]
    [typical] = life_at(scene, END).currents
    assert (typical.level_c, typical.median_a) == (Decimal(850), Decimal("129.4"))


def test_invalid_trials_old_ones_and_those_of_another_wire_teach_nothing(scene, wire):
    for number, current in enumerate(CURRENTS):
        tried(scene, number, current, **({"force_n": "0.50"} if number == 2 else {}))  # outside: invalid
    assert life_at(scene, END).currents == ()
    tried(scene, 3, "130.0")
    assert [one.count for one in life_at(scene, END).currents] == [3]
    assert life_at(scene, NOON + timedelta(days=91)).currents == ()
    fit_wire(by=scene.technician, at=END, rig=scene.rig, code="W-2", seen_wire=wire.pk, reason="worn")
    assert life_at(scene, END).currents == ()


def test_the_bench_goes_by_the_limit_of_its_own_edition(scene, wire):
    measure_tip(by=scene.technician, at=NOON, wire=wire, tip_mm=Decimal("3.80"))
    words = bench_wire_words(opened_trial(scene), END)[1]
    assert words == (
        "Wire W-1: The tip stands at 95.00 % of its first measure, below 97.5 %: replace the wire before the next "
        "trial by 2-11:2021."
    )


def test_a_method_without_a_wire_is_told_nothing_of_one(db):
    scene = bench_scene(NOON, method="needle-flame@2016", severity="30", serial=3)
    assert bench_wire_words(opened_trial(scene), END) == []


@pytest.mark.parametrize("count", [1, 3])
def test_the_life_takes_as_many_reads_for_three_trials_as_for_one(scene, wire, count, django_assert_num_queries):
    for number in range(count):
        tried(scene, number, CURRENTS[number])
    with django_assert_num_queries(7):
        assert life_at(scene, END).use.applications == count

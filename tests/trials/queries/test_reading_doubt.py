"""Readings no tip can have: kept as typed, with a remark that stays with the row."""

from datetime import timedelta
from decimal import Decimal

import pytest

from tests.factories.bench import key, opened_trial, pressed, readings, steady_readings
from tests.factories.ledger import NOON
from trials.actions.observations import record_events
from trials.models import Observation

pytestmark = pytest.mark.django_db
LATER = NOON + timedelta(minutes=3)


@pytest.fixture
def trial(scene):
    return opened_trial(scene)


def send(scene, trial, *events):
    return record_events(by=scene.technician, at=LATER, trial_id=trial.pk, events=events)


def notes():
    return list(Observation.objects.order_by("pk").values_list("value", "note"))


def test_an_open_circuit_among_hot_readings_is_marked_and_so_is_the_way_back(scene, trial):
    send(scene, trial, *readings("850.4", "0.0", "850.2", apart_s=2))
    assert notes() == [
        ("850.4", ""),
        ("0.0", "850.4 K from 850.4 °C, 2 s before: faster than a tip changes"),
        ("850.2", "850.2 K from 0.0 °C, 2 s before: faster than a tip changes"),
    ]


def test_a_wire_that_warms_and_steady_readings_are_not_marked(scene, trial):
    send(scene, trial, *readings("22.1", "640", "850", first=200, before_s=95, apart_s=10))
    send(scene, trial, *steady_readings())
    assert {note for _, note in notes()} == {""}


@pytest.mark.parametrize(("figure", "marked"), [("950.0", False), ("950.1", True), ("750.0", False), ("749.9", True)])
def test_a_hundred_kelvin_a_second_itself_is_possible(scene, trial, figure, marked):
    send(scene, trial, *readings("850.0", figure, apart_s=1))
    assert bool(notes()[1][1]) is marked


def test_a_reading_that_was_taken_back_is_not_compared_with(scene, trial):
    first, second, third = readings("850.0", "85.0", "850.1", apart_s=3)
    back = pressed(300, "taken_back", value="", steady_s=Decimal(12), replaces=key(101), reason="mistyped")
    send(scene, trial, first, second, back, third)
    assert notes()[-1] == ("850.1", "")

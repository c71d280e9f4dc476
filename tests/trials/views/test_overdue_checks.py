"""A planned check that was missed warns where a trial is opened, set up and handed out; it blocks nothing."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from calibration.models import Instrument
from tests.calibration.checking import planned
from tests.factories.bench import bench_scene, opened_trial
from tests.factories.ledger import NOON

pytestmark = pytest.mark.django_db
WARNING = "TC-05, silver foil melts at the tip: check overdue since 9 Mar 2026"


@pytest.fixture
def scene():
    """A foil check planned on 1 February, every 35 days: due on 8 March."""
    made = bench_scene(NOON)
    thermocouple = Instrument.objects.get(code="TC-05")
    planned(thermocouple, "foil", at=NOON - timedelta(days=37), every_days=35)
    return made


@pytest.fixture
def technician(scene, monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOON)
    client = Client()
    client.force_login(scene.technician)
    return client


def test_it_warns_where_a_trial_is_opened(scene, technician):
    assert WARNING in technician.get(reverse("trials:bench_open", args=[scene.specimens[0].number])).text


def test_it_warns_at_the_set_up_and_the_trial_was_opened_all_the_same(scene, technician):
    trial = opened_trial(scene)
    assert WARNING in technician.get(reverse("trials:bench_setup", args=[trial.pk])).text


def test_it_warns_where_the_rig_is_chosen(scene, technician):
    assert WARNING in technician.get(reverse("trials:job", args=[scene.line.pk])).text

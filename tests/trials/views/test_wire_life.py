"""The part about a rig's wire on the rig's page, and the lines about it at the bench."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from calibration.actions.wires import fit_wire, measure_tip
from tests.factories.bench import bench_scene, opened_trial
from tests.factories.ledger import NOON

pytestmark = pytest.mark.django_db


@pytest.fixture
def scene(db):
    return bench_scene(NOON)


def fitted(scene, code="W-1"):
    return fit_wire(
        by=scene.technician, at=NOON - timedelta(days=2), rig=scene.rig, code=code, seen_wire=None,
        first_tip_mm=Decimal("4.00"),
    )  # fmt: skip


def part(scene):
    return reverse("trials:wire_life", args=[scene.rig.code])


def test_the_part_stands_on_the_rigs_page_and_says_what_to_do_without_a_wire(scene, client):
    client.force_login(scene.technician)
    assert f'hx-get="{part(scene)}"' in client.get(reverse("calibration:rig", args=[scene.rig.code])).text
    assert f"No wire is recorded on {scene.rig.code}." in client.get(part(scene)).text


def test_the_part_draws_the_wear_and_says_it_in_words(scene, client):
    wire = fitted(scene, "W<1>")
    measure_tip(by=scene.technician, at=NOON, wire=wire, tip_mm=Decimal("3.80"))
    client.force_login(scene.technician)
    text = client.get(part(scene)).text
    assert "Replace the wire" in text
    assert "<bdi>W&lt;1&gt;</bdi>" in text
    label = text.partition('role="img" aria-label="')[2].partition('"')[0]
    assert label.startswith("Tip of wire W&lt;1&gt; against its first measure: ")
    assert label.endswith("95.00 %. Limits: 97.5 % and 90 %.")
    before = client.get(part(scene), {"as_of": f"{NOON - timedelta(days=1):%Y-%m-%d}"}).text
    assert "Not measured" in before


def test_the_bench_shows_starting_value_and_wear_beside_the_level(scene, client):
    trial = opened_trial(scene)
    fitted(scene)
    client.force_login(scene.technician)
    text = client.get(reverse("trials:bench_setup", args=[trial.pk])).text
    assert "Heating current at 850 °C: not enough trials on this rig yet (0 of 3 with wire W-1 in 90 days)." in text
    assert "Wire W-1: The tip of this wire is not measured yet" in text

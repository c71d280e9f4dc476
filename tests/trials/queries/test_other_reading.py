"""What a line's trials could be read as under the other test: offered on the job's page, and nothing is counted."""

import pytest
from django.test import Client

from tests.factories.bench import bench_scene
from tests.factories.ledger import NOON
from tests.trials.views.test_opening import run
from trials.queries.other_reading import reading_beside
from trials.queries.results import line_standing

pytestmark = pytest.mark.django_db


@pytest.fixture
def search(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOON)
    return bench_scene(NOON, method="glow-wire-flammability-index@2021", severity=None, specimens=8)


def test_without_a_trial_nothing_is_read(search):
    assert reading_beside(line_standing(search.line)) is None


def test_trials_of_the_one_index_are_read_for_the_other(search, django_assert_num_queries):
    for number in range(3):
        run(search, number)
    run(search, 3, burned_s="31.0")
    standing = line_standing(search.line)
    with django_assert_num_queries(2):
        found = reading_beside(standing)
    assert found is not None
    assert (found.method_key, found.may_be_read) == ("glow-wire-ignition-temperature@2021", False)
    assert found.sentence == "GWIT cannot be read from 4 trials: 3 more specimens would be needed."
    assert [(level.text, level.state) for level in found.levels] == [("650 °C", "passed"), ("700 °C", "failed")]
    assert line_standing(search.line).result == standing.result


def test_the_job_page_shows_it_as_an_offer(search):
    run(search, 0)
    client = Client()
    client.force_login(search.technician)
    page = " ".join(client.get(f"/jobs/{search.line.pk}/").content.decode().split())
    assert "Read by the other test" in page
    assert "GWIT cannot be read from 1 trial: 2 more specimens would be needed." in page


def test_a_method_that_stands_alone_has_no_reading(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOON)
    scene = bench_scene(NOON)
    assert reading_beside(line_standing(scene.line)) is None

"""Opening a trial of an open order: the level called for, another one with its reason, and the search as it stands."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from labsite.demo.setups import plausible_setup
from labsite.ledger.refusals import Refused
from tests.factories.bench import Scene, bench_scene, opened_trial, pressed, readings
from tests.factories.ledger import NOON
from trials.actions.bench import enter_setup_values
from trials.actions.observations import add_findings, record_events
from trials.actions.signing import judged, sign_trial
from trials.domain.verdicts import verdict_fingerprint
from trials.models import Trial
from trials.queries.methods import trial_edition

pytestmark = pytest.mark.django_db
INDEX = "glow-wire-flammability-index@2021"


@pytest.fixture(autouse=True)
def _at_noon(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOON)


@pytest.fixture
def search() -> Scene:
    return bench_scene(NOON, method=INDEX, severity=None, specimens=8)


@pytest.fixture
def technician(search):
    client = Client()
    client.force_login(search.technician)
    return client


def text(response) -> str:
    return " ".join(response.content.decode().split())


def run(scene: Scene, number: int, *, burned_s: str | None = None) -> Trial:
    """A signed trial at the level called for; `burned_s` is how long it burned after withdrawal at 30 s."""
    trial = opened_trial(scene, number)
    edition = trial_edition(trial)
    enter_setup_values(by=scene.technician, at=NOON, trial_id=trial.pk, values=plausible_setup(edition, THICKNESS))
    first = 1000 * (number + 1)
    flame = [] if burned_s is None else [
        pressed(first + 20, "ignites", "5.0"), pressed(first + 21, "flame_out", str(Decimal(30) + Decimal(burned_s))),
    ]  # fmt: skip
    level = format(trial.severity, "f")
    events = [
        *readings(*(level for _ in range(7)), first=first), pressed(first + 10, "contact", "0.0"),
        pressed(first + 30, "withdrawn", "30.0"), *flame, pressed(first + 31, "watch_ends", "95.0"),
    ]  # fmt: skip
    record_events(by=scene.technician, at=NOON, trial_id=trial.pk, events=events)
    add_findings(by=scene.technician, at=NOON, trial_id=trial.pk, findings={"consumed": "no"})
    fingerprint = verdict_fingerprint(judged(trial)[1])
    sign_trial(by=scene.technician, at=NOON, trial_id=trial.pk, looked_at=fingerprint)
    return trial


THICKNESS = {"thickness_mm": "3.0", "nominal_thickness_mm": "3.0"}


def opening(technician: Client, scene: Scene, number: int = 0, **typed: str):
    address = f"/bench/open/{scene.specimens[number].number}/"
    form = technician.get(address).context["form"]
    return technician.post(address, {name: form.fields[name].initial or "" for name in form.fields} | typed)


def test_the_level_called_for_is_chosen_already_with_its_reason(search, technician):
    page = technician.get(f"/bench/open/{search.specimens[0].number}/")
    assert page.context["form"].fields["severity"].initial == "650"
    assert "Next: 3 specimens at 650 °C" in text(page)
    assert opening(technician, search).status_code == 302
    trial = Trial.objects.get()
    assert (trial.severity, trial.departure) == (Decimal(650), "")


def test_another_level_needs_a_reason_which_stays_with_the_trial(search, technician):
    refused = opening(technician, search, severity="750")
    assert refused.status_code == 422
    assert "Write why 750 °C is tested instead." in text(refused)
    assert not Trial.objects.exists()
    assert opening(technician, search, severity="750", departure="the client asks for it").status_code == 302
    trial = Trial.objects.get()
    assert (trial.severity, trial.departure) == (Decimal(750), "the client asks for it")
    assert "It is not the level called for then. the client asks for it" in text(technician.get(f"/trials/{trial.pk}/"))
    assert "Not as called for: the client asks for it" in text(technician.get(f"/jobs/{search.line.pk}/"))


def test_the_next_level_stands_at_the_bench_on_the_job_and_in_the_queue(search, technician):
    for address in ("/bench/", f"/jobs/{search.line.pk}/", "/queue/"):
        assert "Next: 3 specimens at 650 °C" in text(technician.get(address)), address


def test_a_failing_specimen_ends_its_level_and_the_page_shows_where_the_answer_lies(search, technician):
    run(search, 0, burned_s="31.0")
    page = technician.get(f"/jobs/{search.line.pk}/")
    drawn = page.context["search"].ladder
    assert [(rung.value, rung.marks, rung.state) for rung in drawn.rungs] == [(Decimal(650), ("fail",), "failed")]
    assert drawn.following == (Decimal(600), "600 °C")
    assert "650 °C: 1 of 1 failed" in text(page)
    assert "expected" in page.context["search"].fewest
    assert "Next: 3 specimens at 600 °C" in text(technician.get(f"/bench/open/{search.specimens[1].number}/"))


def test_the_open_trial_does_not_move_the_level_for_the_next_specimen(search, technician):
    opened_trial(search)
    assert opening(technician, search, 1).status_code == 302
    assert [trial.severity for trial in Trial.objects.order_by("pk")] == [Decimal(650), Decimal(650)]


def test_the_pages_of_a_search_read_no_more_with_more_trials(search, technician):
    def reads(address: str) -> int:
        with CaptureQueriesContext(connection) as captured:
            technician.get(address)
        return len(captured)

    run(search, 0)
    addresses = ("/bench/", f"/jobs/{search.line.pk}/", f"/bench/open/{search.specimens[7].number}/")
    for address in addresses:
        technician.get(address)
    one = [reads(address) for address in addresses]
    run(search, 1)
    run(search, 2)
    assert [reads(address) for address in addresses] == one


def test_a_further_place_is_asked_for_only_where_the_edition_knows_places(technician):
    scene = bench_scene(NOON, serial=2)
    client = Client()
    client.force_login(scene.technician)
    trial = opened_trial(scene)
    record_events(by=scene.technician, at=NOON, trial_id=trial.pk, events=[pressed(1, "contact", "0.0")])
    form = client.get(f"/bench/open/{scene.specimens[0].number}/").context["form"]
    assert {"point", "again_reason"} <= set(form.fields)
    assert "point" not in client.get(f"/bench/open/{scene.specimens[1].number}/").context["form"].fields


def test_one_more_than_called_for_is_opened_with_a_reason_only(search):
    for number in range(3):
        opened_trial(search, number)
    with pytest.raises(Refused, match="As many as are called for at 650 °C are open and not signed yet: 3"):
        opened_trial(search, 3)
    trial = opened_trial(search, 3, departure="the first plate looks warped")
    assert (trial.severity, trial.departure) == (Decimal(650), "the first plate looks warped")

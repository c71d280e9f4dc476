"""A ninth method is its module and one registry line: order, bench, verdict, check and certificate follow from that."""

import sys
from collections.abc import Iterator
from datetime import timedelta
from types import MappingProxyType

import pytest
from django.urls import reverse

from labsite.ledger.models import Place, User
from reports.actions.issuing import issue_certificate
from reports.actions.writing import write_certificate
from specimens.queries.methods import method_offers
from tests.factories.bench import Scene, bench_scene, opened_trial, pressed
from tests.factories.ledger import NOON, UserFactory
from tests.factories.reports import file_of
from tests.factories.trials import authorised, checked, sign
from tests.labsite.ninth_method import NINTH
from trials.actions.bench import enter_setup_values
from trials.actions.observations import add_findings, record_events
from trials.domain.methods import registry
from trials.models import Trial
from trials.queries.results import line_standing


@pytest.fixture
def ninth(monkeypatch: pytest.MonkeyPatch, db: None) -> Iterator[Scene]:
    """The registry with one more line, wherever it was imported, and a job by that method."""
    before = registry.EDITIONS
    more = MappingProxyType({**before, NINTH.key: NINTH})
    for module in list(sys.modules.values()):
        if getattr(module, "EDITIONS", None) is before:
            monkeypatch.setattr(module, "EDITIONS", more)
    method_offers.cache_clear()
    scene = bench_scene(NOON, method=NINTH.key, severity="1")
    scene.rig.place = Place.objects.create(code="B-9", name="Bench of the wicks", kind=Place.Kind.BENCH)
    scene.rig.save()
    yield scene
    method_offers.cache_clear()


def run_to_the_end(scene: Scene) -> Trial:
    """A trial that ran and is to be signed."""
    trial = opened_trial(scene)
    values = {"wick_new": "yes", "wick_length_mm": "25"}
    enter_setup_values(by=scene.technician, at=scene.at, trial_id=trial.pk, values=values)
    events = [
        pressed(place, kind, t_s)
        for place, (kind, t_s) in enumerate(
            (("contact", "0.0"), ("sputter", "7.5"), ("withdrawn", "20.1"), ("watch_ends", "60.0")), start=1
        )
    ]
    answers = record_events(by=scene.technician, at=scene.at + timedelta(minutes=4), trial_id=trial.pk, events=events)
    assert [answer.status for answer in answers] == ["saved"] * 4
    findings = {"mass_loss": "1.2"}
    add_findings(by=scene.technician, at=scene.at + timedelta(minutes=5), trial_id=trial.pk, findings=findings)
    return trial


def person_of(scene: Scene) -> User:
    return scene.technician


def test_it_is_offered_at_the_counter(ninth, signed_in):
    page = signed_in("counter").get(reverse("specimens:order_new")).text
    assert ("Lit-wick test" in page, "1 wick" in page) == (True, True)


def test_its_figures_have_a_page(ninth, signed_in):
    page = signed_in("lead").get(reverse("trials:method", args=[NINTH.key])).text
    assert [words in page for words in ("Loss of mass", "at most 1.5 %", "made up for the tests")] == [True] * 3


def test_its_bench_pages_ask_what_it_states(ninth, client):
    client.force_login(person_of(ninth))
    job = client.get(reverse("trials:job", args=[ninth.line.pk])).text
    assert "Lit wick" in job
    trial = opened_trial(ninth)
    setup = client.get(reverse("trials:bench_setup", args=[trial.pk])).text
    run = client.get(reverse("trials:bench_run", args=[trial.pk])).text
    words = ("New wick in the holder", "Length of the wick", "Wick lit", "Wick sputters", "Put the wick out")
    assert [word in setup + run for word in words] == [True] * len(words)


def test_its_verdict_goes_to_a_certificate(ninth, client):
    trial = run_to_the_end(ninth)
    client.force_login(person_of(ninth))
    assert "Passed at 1 wick: the loss of mass is 1.2 %." in client.get(
        reverse("trials:bench_sign", args=[trial.pk])
    ).text  # fmt: skip
    sign(ninth, trial)
    assert client.get(reverse("trials:trial", args=[trial.pk])).status_code == 200
    checker = UserFactory.create(full_name="Cleo Checker", roles=["checker"])
    authorised(checker, "check", by=ninth.lead, at=ninth.at, key=NINTH.key)
    signatory = UserFactory.create(full_name="Sina Signatory", roles=["signatory"])
    authorised(signatory, "sign", by=ninth.lead, at=ninth.at, key=NINTH.key)
    checked(ninth.line, checker, ninth.at + timedelta(hours=2))
    assert line_standing(ninth.line).result.sentence.startswith("Passed at 1 wick: specimen ")
    certificate = issue_certificate(
        order=ninth.line.order, lines=[ninth.line], by=signatory, at=ninth.at + timedelta(hours=3)
    )
    write_certificate(certificate_id=certificate.pk, at=ninth.at + timedelta(hours=3))
    certificate.refresh_from_db()
    assert bytes(file_of(certificate).content)[:5] == b"%PDF-"
    page = client.get(reverse("reports:certificate", args=[certificate.number])).text
    assert "Invented standard 9:2030" in page

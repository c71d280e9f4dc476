"""The bench's list: specimens called for next, what must come out of which chamber, and the rest folded."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from specimens.models import Custody, Deviation, DeviationAnswer, StaySpecimen
from tests.factories.bench import bench_scene, opened_trial, pressed
from tests.factories.ledger import NOON
from tests.factories.trials import signed_trial
from trials.actions.observations import record_events
from trials.actions.signing import judged, sign_trial
from trials.domain.verdicts import verdict_fingerprint
from trials.queries.bench_list import ComingOut, bench_list

pytestmark = pytest.mark.django_db
BARS = "vertical-flame@2013"


def only_job(scene, at=NOON):
    (job,) = bench_list(scene.technician, at).jobs
    return job


def shown(scene, at=NOON):
    """The serial and next act of each specimen called for, and the serials of the others."""
    job = only_job(scene, at)
    return (
        [(one.specimen.number[6:9], one.next) for one in job.called],
        [one.specimen.number[6:9] for one in job.others],
    )


def inside_again(scene, *places):
    """Let these specimens be in their chamber still."""
    pieces = [scene.specimens[place] for place in places]
    StaySpecimen.objects.filter(specimen__in=pieces).update(out_at=None, out_by=None)


@pytest.fixture
def many():
    return bench_scene(NOON, specimens=20)


@pytest.mark.parametrize("ordered", [1, 3])
def test_as_many_are_shown_as_are_called_for(many, ordered):
    many.line.specimens_ordered = ordered
    many.line.save()
    job = only_job(many)
    assert (len(job.called), len(job.others), job.ready) == (ordered, 20 - ordered, ordered)
    assert job.others_words == f"{20 - ordered} more specimens: {20 - ordered} not called for now"
    said = "1 specimen" if ordered == 1 else "3 specimens"
    assert bench_list(many.technician, NOON).answer == f"{said} of yours can be worked on now."


def test_what_is_outside_and_ready_comes_before_what_is_inside():
    scene = bench_scene(NOON, specimens=4)
    inside_again(scene, 0, 2)
    assert shown(scene) == ([("003", "open")], ["005", "002", "004"])


def test_what_must_come_out_of_which_chamber_is_said_and_not_counted_as_ready():
    scene = bench_scene(NOON, specimens=4)
    scene.line.specimens_ordered = 3
    scene.line.save()
    inside_again(scene, 0, 1)
    assert shown(scene) == ([("004", "open"), ("005", "open"), ("002", "take out")], ["003"])
    found = bench_list(scene.technician, NOON)
    chamber = StaySpecimen.objects.get(specimen=scene.specimens[0]).stay.chamber.code
    assert found.answer == "2 specimens of yours can be worked on now."
    assert found.rest == f"Take 1 specimen out of {chamber} for the next trials."
    inside_again(scene, 2, 3)
    found = bench_list(scene.technician, NOON)
    assert (found.answer, found.rest) == (f"Take 3 specimens out of {chamber} first.", "")


def test_an_open_trial_stays_first_and_takes_its_place_among_those_needed(many):
    opened_trial(many, 7)
    assert shown(many)[0] == [("009", "go on")]


def test_tested_specimens_are_folded_with_their_count():
    scene = bench_scene(NOON, specimens=4)
    scene.line.specimens_ordered = 2
    scene.line.save()
    signed_trial(scene)
    called, others = shown(scene, NOON + timedelta(hours=1))
    assert (called, others) == ([("003", "open")], ["004", "005", "002"])
    assert only_job(scene, NOON + timedelta(hours=1)).others_words == (
        "3 more specimens: 1 tested, 2 not called for now"
    )


def test_a_specimen_whose_trial_was_stopped_before_contact_can_be_tested(scene):
    trial = opened_trial(scene)
    stopped = [pressed(1, "note", value="the fuse blew", note="stopped", steady_s=Decimal("80.0"))]
    record_events(by=scene.technician, at=NOON + timedelta(minutes=4), trial_id=trial.pk, events=stopped)
    sign_trial(
        by=scene.technician, at=NOON + timedelta(minutes=9), trial_id=trial.pk, reason="it never began",
        looked_at=verdict_fingerprint(judged(trial)[1]),
    )  # fmt: skip
    assert shown(scene, NOON + timedelta(minutes=20)) == ([("002", "open")], ["003"])


def test_specimens_the_client_replaces_are_not_shown(scene):
    deviation = Deviation.objects.create(
        item=scene.specimens[0].item, text="cracked", raised_at=NOON, raised_by=scene.lead
    )
    DeviationAnswer.objects.create(
        deviation=deviation, decision=DeviationAnswer.Decision.REPLACE, answered_by="Carla Contact",
        answer="others come", recorded_at=NOON, recorded_by=scene.lead,
    )  # fmt: skip
    assert shown(scene) == ([], [])


def test_only_the_set_that_is_asked_for_next_is_called_for():
    scene = bench_scene(NOON, specimens=12, method=BARS, severity=None)
    job = only_job(scene)
    assert {one.asked for one in job.called} == {True}
    assert len(job.called) == job.standing.result.needed


def test_the_number_of_queries_does_not_grow_with_jobs_or_specimens(scene):
    def reads():
        with CaptureQueriesContext(connection) as captured:
            bench_list(scene.technician, NOON)
        return len(captured)

    reads()
    one = reads()
    for serial in (2, 3):
        inside_again(bench_scene(NOON, serial=serial, specimens=9), 0, 1)
    assert reads() == one


def test_several_come_out_of_one_stay_in_one_act():
    scene = bench_scene(NOON, specimens=4)
    scene.line.specimens_ordered = 3
    scene.line.save()
    assert only_job(scene).together == []
    inside_again(scene, 0, 1, 2)
    stay, chamber = StaySpecimen.objects.values_list("stay", "stay__chamber__code")[0]
    numbers = tuple(piece.number for piece in scene.specimens[:2])
    assert only_job(scene).together == [ComingOut(stay, chamber, numbers)]
    client = Client()
    client.force_login(scene.technician)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("django.utils.timezone.now", lambda: NOON)
        text = client.get("/bench/").content.decode()
    address = f"/conditioning/stays/{stay}/out/?specimen={numbers[0]}&amp;specimen={numbers[1]}&amp;back=/bench/"
    assert f'<a class="step" href="{address}">Take 2 out of {chamber} together</a>' in text


@pytest.mark.parametrize("page", ["/bench/", "/bench/open/{number}/"])
def test_take_it_out_leads_to_the_specimens_own_stay(scene, page):
    inside_again(scene, 0, 1)
    member = StaySpecimen.objects.get(specimen=scene.specimens[0])
    client, number = Client(), scene.specimens[0].number
    client.force_login(scene.technician)
    address = page.format(number=number)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("django.utils.timezone.now", lambda: NOON)
        text = client.get(address).content.decode()
        back = f"/conditioning/stays/{member.stay_id}/out/?specimen={number}&amp;back={address}"
        assert f'href="{back}"' in text
        form = client.get(back.replace("&amp;", "&")).context["form"]
    assert form.initial["specimens"] == [scene.specimens[0].pk]
    assert not Custody.objects.exists()

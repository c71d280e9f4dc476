"""Every page of the queue half: who sees it, what it says, what happens to bad input, hostile and long data."""

import uuid
from datetime import timedelta

import pytest
from django.urls import reverse

from labsite.ledger.models import RoleHolding
from tests.factories.bench import METHOD, bench_scene
from tests.factories.ledger import NOON, UserFactory
from tests.factories.trials import LATE_FLAME, authorised, checked, checker_for, signed_trial
from trials.models import Authorisation, Check, EditionConfirmation, Job, Trial
from trials.queries.methods import edition_by_key, parameters_sha256
from trials.queries.results import line_standing, line_state

HOSTILE = "<script>alert(1)</script>\"'&" + "ÄÖ" * 40 + "x" * 60


NOW = NOON + timedelta(hours=3)


@pytest.fixture(autouse=True)
def three_hours_later(monkeypatch):
    """The pages ask the clock: it stands still three hours after the scene."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)


@pytest.fixture
def now_scene(lab):
    """A technician's job with two conditioned specimens at noon."""
    return bench_scene(NOON)


@pytest.fixture
def browse(client):
    """A browser signed in as a given person."""

    def make(person):
        client.force_login(person)
        return client

    return make


def text(response):
    return " ".join(response.content.decode().split())


def post(browser, name, args=(), **data):
    return browser.post(reverse(f"trials:{name}", args=args), {"form_key": str(uuid.uuid4()), **data})


PAGES = ("queue", "authorisations", "methods", "checks")


@pytest.mark.parametrize("name", PAGES)
def test_an_empty_laboratory_has_pages_that_say_what_to_do(signed_in, name):
    response = signed_in("lead").get(reverse(f"trials:{name}"))
    assert response.status_code == 200


def test_an_empty_queue_leads_to_the_counter(signed_in):
    page = text(signed_in("counter").get(reverse("trials:queue")))
    assert "No job is in the queue." in page
    assert reverse("specimens:order_new") in page


def test_hostile_and_long_data_is_escaped_everywhere(now_scene, browse):
    scene = now_scene
    client = scene.line.order.client
    client.name = HOSTILE
    client.save()
    scene.line.subject = HOSTILE[:200]
    scene.line.save()
    scene.technician.full_name = HOSTILE[:120]
    scene.technician.save()
    item = scene.specimens[0].item
    item.description = item.condition = HOSTILE[:200]
    item.save()
    trial = signed_trial(scene)
    checker = checker_for(scene, HOSTILE[:120])
    checked(scene.line, checker, NOW, finding="returned", remarks=HOSTILE * 3)
    browser = browse(checker)
    pages = [
        reverse("trials:queue"), reverse("trials:checks"), reverse("trials:authorisations"),
        reverse("trials:job", args=[scene.line.pk]), reverse("trials:check", args=[scene.line.pk]),
        reverse("trials:trial", args=[trial.pk]), reverse("trials:specimen_life", args=[scene.specimens[0].number]),
        reverse("trials:method", args=[METHOD]),
    ]  # fmt: skip
    for address in pages:
        response = browser.get(address)
        assert response.status_code == 200, address
        assert "<script>alert" not in response.content.decode(), address


def test_a_lead_hands_out_on_the_page(now_scene, browse):
    now_scene.job.delete()
    browser = browse(now_scene.lead)
    assert "Ready to hand out." in text(browser.get(reverse("trials:job", args=[now_scene.line.pk])))
    answer = post(
        browser, "hand_out", [now_scene.line.pk], technician=now_scene.technician.pk, rig=now_scene.rig.pk, seen_job=""
    )
    assert answer.status_code == 302
    assert Job.objects.get().technician == now_scene.technician
    assert "Ready to test: Tess Technician has it on GW-1." in text(browser.get(answer.url))


def test_a_refused_hand_out_keeps_what_was_chosen(now_scene, browse):
    now_scene.job.delete()
    other = UserFactory.create(full_name="Oren Example", roles=["technician"])
    browser = browse(now_scene.lead)
    answer = post(browser, "hand_out", [now_scene.line.pk], technician=other.pk, rig=now_scene.rig.pk, seen_job="")
    assert answer.status_code == 422
    page = text(answer)
    assert "Oren Example is not authorised to perform trials by 2-11:2021" in page
    assert f'<option value="{other.pk}" selected>Oren Example, not authorised</option>' in page
    assert Job.objects.count() == 0


def test_choosing_nothing_is_said(now_scene, browse):
    now_scene.job.delete()
    answer = post(browse(now_scene.lead), "hand_out", [now_scene.line.pk], technician="", rig="", seen_job="")
    assert answer.status_code == 422
    assert "This field is required." in text(answer)


def test_a_technician_takes_a_job_on_the_page(now_scene, browse):
    now_scene.job.delete()
    browser = browse(now_scene.technician)
    assert "Take the job" in text(browser.get(reverse("trials:job", args=[now_scene.line.pk])))
    answer = post(browser, "take_job", [now_scene.line.pk], rig=now_scene.rig.pk, seen_job="")
    assert answer.status_code == 302
    assert Job.objects.get().handed_by == now_scene.technician


def test_a_second_lead_sees_who_has_it_and_keeps_the_typing(now_scene, browse):
    answer = post(
        browse(now_scene.lead), "hand_out", [now_scene.line.pk], technician=now_scene.technician.pk,
        rig=now_scene.rig.pk, seen_job="", reason="I was first",
    )  # fmt: skip
    assert answer.status_code == 422
    assert "Tess Technician has this job on GW-1: Lena Lead handed it out on" in text(answer)
    assert "I was first" in text(answer)


ACTS = {
    "hand_out": ("lead",),
    "take_job": ("technician", "lead"),
    "authorisation_grant": ("lead", "quality"),
    "authorisation_end": ("lead", "quality"),
    "method_confirm": ("lead",),
    "check_sign": ("checker",),
}
ROLES = ("counter", "technician", "lead", "checker", "signatory", "quality", "administrator")


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("name", ACTS)
def test_writing_is_for_the_roles_named(now_scene, signed_in, name, role):
    args = {
        "authorisation_grant": [],
        "authorisation_end": [now_scene.authorisation.pk],
        "method_confirm": [METHOD],
    }.get(name, [now_scene.line.pk])
    answer = post(signed_in(role), name, args)
    assert answer.status_code == (422 if role in ACTS[name] else 403)


def test_granting_on_the_page(now_scene, signed_in):
    person = UserFactory.create(full_name="Neu Example", roles=["technician"])
    browser = signed_in("quality")
    wrong = post(
        browser, "authorisation_grant", person=person.pk, method_key=METHOD, activity="perform", from_on="2020-01-01",
        until_on="",
    )  # fmt: skip
    assert wrong.status_code == 422
    assert "1 Jan 2020 is over." in text(wrong)
    assert 'value="2020-01-01"' in text(wrong)
    day = NOW.date() + timedelta(days=1)
    right = post(
        browser, "authorisation_grant", person=person.pk, method_key=METHOD, activity="perform",
        from_on=day.isoformat(), until_on="",
    )  # fmt: skip
    assert right.status_code == 302
    assert Authorisation.objects.filter(person=person, from_on=day).count() == 1
    assert "Neu Example" in text(browser.get(right.url))


def test_a_laboratory_with_one_granter_is_told_that_two_are_needed(lab, signed_in):
    browser = signed_in("lead", "administrator")
    alone = text(browser.get(reverse("trials:authorisations")))
    assert f"Only {browser.person} can grant, so nobody can authorise {browser.person}." in alone
    UserFactory.create(roles=["quality"])
    assert "Two people needed" not in text(browser.get(reverse("trials:authorisations")))


def test_a_refused_page_names_the_roles_it_is_for(lab, signed_in):
    answer = signed_in("administrator").get(reverse("specimens:order_new"))
    assert answer.status_code == 403
    assert "It is for: counter, technician, lead." in text(answer)
    assert f'give yourself or somebody else the role on the page of <a href="{reverse("laboratory")}">' in text(answer)


def test_ending_on_the_page(now_scene, signed_in):
    browser = signed_in("lead")
    args = [now_scene.authorisation.pk]
    page = text(browser.get(reverse("trials:authorisation_end", args=args)))
    assert "May Tess Technician no longer perform trials by 2-11:2021?" in page
    assert post(browser, "authorisation_end", args, reason="").status_code == 422
    assert post(browser, "authorisation_end", args, reason="moved").status_code == 302
    now_scene.authorisation.refresh_from_db()
    assert now_scene.authorisation.ended_by == browser.person


def test_the_matrix_of_another_day(now_scene, signed_in):
    browser = signed_in("quality")
    long_ago = browser.get(reverse("trials:authorisations"), {"on": "2001-01-31"})
    assert long_ago.status_code == 200
    assert "Who was allowed to do what on 31 Jan 2001." in text(long_ago)
    assert "Tess Technician" not in text(long_ago)
    wrong = browser.get(reverse("trials:authorisations"), {"on": "31.1.2001"})
    assert wrong.status_code == 422
    assert "Write year, month, day" in text(wrong)
    assert "31.1.2001" in text(wrong)


def test_the_method_page_says_what_is_a_default_and_a_lead_confirms(lab, signed_in):
    browser = signed_in("lead")
    page = text(browser.get(reverse("trials:method", args=[METHOD])))
    assert "default, to be confirmed by the laboratory" in page
    assert "0.95 ± 0.10 N" in page
    assert "its figures are not confirmed yet." in page
    sha = parameters_sha256(edition_by_key(METHOD))
    assert post(browser, "method_confirm", [METHOD], note="copy 2", seen_sha256="0" * 64).status_code == 422
    assert post(browser, "method_confirm", [METHOD], note="copy 2", seen_sha256=sha).status_code == 302
    page = text(browser.get(reverse("trials:method", args=[METHOD])))
    assert "its figures are confirmed." in page
    assert "to be confirmed by the laboratory" not in page
    row = EditionConfirmation.objects.get()
    assert f"figures were defaults, confirmed by {row.confirmed_by}" in page
    EditionConfirmation.objects.update(parameters_sha256="0" * 64)
    assert "figures changed since they were confirmed." in text(browser.get(reverse("trials:method", args=[METHOD])))


@pytest.mark.parametrize(
    ("name", "args"),
    [
        ("method", ["unheard-of@1999"]), ("job", [999]), ("trial", [999]), ("check", [999]),
        ("specimen_life", ["0000000000"]),
    ],
)  # fmt: skip
def test_what_is_not_there_is_not_found(lab, signed_in, name, args):
    assert signed_in("lead").get(reverse(f"trials:{name}", args=args)).status_code == 404


def test_the_trial_page_shows_verdict_course_and_the_rule_asked_again(now_scene, browse):
    trial = signed_trial(now_scene, course=LATE_FLAME)
    page = text(browse(now_scene.technician).get(reverse("trials:trial", args=[trial.pk])))
    assert "Failed at 850 °C: the flame ended at 64.3 s, 4.3 s after the limit of 60.0 s." in page
    assert "Judged again now: the same observations give the same verdict, byte for byte." in page
    assert '<tr class="decides"><td>Flames and glow end in time</td>' in page
    assert "flame out 64.3 s" in page
    assert page.count("Correct it<span") == 6


def test_another_person_is_not_offered_corrections(now_scene, signed_in):
    trial = signed_trial(now_scene)
    page = text(signed_in("technician").get(reverse("trials:trial", args=[trial.pk])))
    assert "Correct it" not in page


def test_a_struck_row_and_its_reason_stay_on_the_page(now_scene, browse):
    from trials.actions.observations import correct_observation
    from trials.models import Observation

    trial = signed_trial(now_scene, course=LATE_FLAME)
    correct_observation(
        by=now_scene.technician, at=NOW, observation=Observation.objects.get(kind="flame_out"),
        t_s=None, value="", strike=True, reason="pressed by mistake",
    )  # fmt: skip
    page = text(browse(now_scene.technician).get(reverse("trials:trial", args=[trial.pk])))
    assert '<span class="was">64.3 s</span>' in page
    assert "Taken back: pressed by mistake" in page


def test_an_open_trial_has_a_page(now_scene, browse):
    from tests.factories.bench import opened_trial

    trial = opened_trial(now_scene)
    response = browse(now_scene.technician).get(reverse("trials:trial", args=[trial.pk]))
    assert response.status_code == 200
    assert "Go on at the bench" in text(response)
    assert Trial.objects.count() == 1


def test_the_check_on_its_page(now_scene, browse):
    signed_trial(now_scene)
    checker = checker_for(now_scene)
    browser = browse(checker)
    address = reverse("trials:check", args=[now_scene.line.pk])
    assert "Is this sound?" in text(browser.get(address))
    assert "1 line waits for a check." in text(browser.get(reverse("trials:checks")))
    seen = ",".join(str(pk) for pk in line_standing(now_scene.line).verdict_ids)
    args = [now_scene.line.pk]
    without = post(browser, "check_sign", args, finding="returned", remarks="", seen_verdicts=seen)
    assert (without.status_code, "Say what is to be looked at again" in text(without)) == (422, True)
    old = post(browser, "check_sign", args, finding="sound", remarks="kept words", seen_verdicts="1,2,3x")
    assert (old.status_code, "was signed anew" in text(old), "kept words" in text(old)) == (422, True, True)
    assert post(browser, "check_sign", args, finding="sound", remarks="", seen_verdicts=seen).status_code == 302
    assert line_state(now_scene.line) == "checked"
    assert "No trial waits for a check." in text(browser.get(reverse("trials:checks")))


def test_the_performer_sees_why_they_may_not_check(now_scene, browse):
    signed_trial(now_scene)
    RoleHolding.objects.create(user=now_scene.technician, role="checker")
    authorised(now_scene.technician, "check", by=now_scene.lead, at=now_scene.at)
    browser = browse(now_scene.technician)
    page = text(browser.get(reverse("trials:check", args=[now_scene.line.pk])))
    assert "You performed a trial of this line. Somebody else who is authorised checks it." in page
    assert "Sign the check" not in page
    seen = ",".join(str(pk) for pk in line_standing(now_scene.line).verdict_ids)
    answer = post(browser, "check_sign", [now_scene.line.pk], finding="sound", remarks="", seen_verdicts=seen)
    assert answer.status_code == 422
    assert Check.objects.count() == 0


def test_the_life_of_a_specimen_is_a_part_without_a_frame(now_scene, browse):
    trial = signed_trial(now_scene)
    number = now_scene.specimens[0].number
    page = text(browse(now_scene.lead).get(reverse("trials:specimen_life", args=[number])))
    assert page.startswith('<figure class="thread chart">')
    stages = ["Received", "Conditioned", "Taken out", "Tested", "Signed", "Checked"]
    assert [page.count(f"<td>{stage}</td>") for stage in stages] == [1] * 6
    assert reverse("trials:trial", args=[trial.pk]) in page

"""The bench pages: what they show, whom they let write, and what they say when they refuse."""

import io
import json
import re

import pytest
from django.test import Client
from PIL import Image

from tests.factories.bench import SETUP, Scene, bench_scene, key, opened_trial, pressed, steady_readings
from tests.factories.ledger import NOON, UserFactory
from trials.actions.bench import enter_setup_values
from trials.actions.observations import record_events
from trials.actions.signing import judged, sign_trial
from trials.domain.verdicts import verdict_fingerprint
from trials.models import Doubt, Observation, SetupValue, SignedVerdict, Trial, TrialPhoto

pytestmark = pytest.mark.django_db
PASSING = [pressed(1, "contact", "0.0"), pressed(5, "withdrawn", "30.0"), pressed(7, "watch_ends", "61.0")]


@pytest.fixture(autouse=True)
def _at_noon(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOON)


@pytest.fixture
def technician(scene):
    client = Client()
    client.force_login(scene.technician)
    return client


def text(response) -> str:
    return " ".join(response.content.decode().split())


def finished(scene: Scene) -> Trial:
    trial = opened_trial(scene)
    enter_setup_values(by=scene.technician, at=NOON, trial_id=trial.pk, values=SETUP)
    record_events(by=scene.technician, at=NOON, trial_id=trial.pk, events=[*steady_readings(), *PASSING])
    return trial


def signed(scene: Scene) -> Trial:
    trial = finished(scene)
    looked_at = verdict_fingerprint(judged(trial)[1])
    sign_trial(by=scene.technician, at=NOON, trial_id=trial.pk, looked_at=looked_at)
    return trial


def test_the_bench_shows_a_technicians_own_specimens(scene, technician):
    page = text(technician.get("/bench/"))
    assert "1 specimen of yours can be worked on now." in page
    assert "<summary>1 more specimen: 1 not called for now</summary>" in page
    assert page.count(">Open the trial<") == 2


def test_the_bench_reads_the_same_number_of_times_for_one_job_and_for_three(
    scene, technician, django_assert_num_queries
):
    def reads() -> int:
        from django.db import connection
        from django.test.utils import CaptureQueriesContext

        with CaptureQueriesContext(connection) as captured:
            technician.get("/bench/")
        return len(captured)

    reads()
    one = reads()
    bench_scene(NOON, serial=2)
    bench_scene(NOON, serial=3)
    with django_assert_num_queries(one):
        technician.get("/bench/")


def test_a_scan_leads_to_opening_and_an_open_trial_is_gone_on_with(scene, technician):
    number = scene.specimens[0].number
    dashed = f"{number[:2]}-{number[2:6]}-{number[6:9]}-{number[9]}"
    assert technician.get("/bench/", {"number": dashed}).url == f"/bench/open/{number}/"
    trial = opened_trial(scene)
    assert technician.get("/bench/", {"number": number}).url == f"/bench/{trial.pk}/setup/"


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("2600010031", "The check digit of “2600010031” does not fit"),
        ("hello", "“hello” is not a number of this laboratory"),
        ("999999", "has 6 digits"),
    ],
)
def test_a_scan_that_leads_nowhere_says_why_and_keeps_the_typing(scene, technician, typed, words):
    response = technician.get("/bench/", {"number": typed})
    assert response.status_code == 422
    assert words in text(response) or "check digit" in text(response)
    assert f'value="{typed}"' in text(response)


def test_opening_by_the_page_chooses_the_rigs_instruments(scene, technician):
    number = scene.specimens[0].number
    page = technician.get(f"/bench/open/{number}/")
    form = page.context["form"]
    chosen = {name: form.fields[name].initial for name in form.fields}
    assert chosen == {f"instrument_{role.replace(' ', '_')}": str(one.pk) for role, one in scene.by_role().items()}
    response = technician.post(f"/bench/open/{number}/", chosen)
    assert response.url == f"/bench/{Trial.objects.get().pk}/setup/"


def test_opening_refused_keeps_the_page_and_says_why(scene, technician):
    scene.authorisation.until_on = scene.authorisation.from_on
    scene.authorisation.save()
    number = scene.specimens[0].number
    form = technician.get(f"/bench/open/{number}/").context["form"]
    response = technician.post(f"/bench/open/{number}/", {name: form.fields[name].initial for name in form.fields})
    assert response.status_code == 422
    assert "is not authorised to perform trials" in text(response)


def test_the_set_up_is_saved_by_one_form_without_script(scene, technician):
    trial = opened_trial(scene)
    response = technician.post(f"/bench/{trial.pk}/setup/", SETUP)
    assert response.url == f"/bench/{trial.pk}/setup/"
    assert dict(SetupValue.objects.values_list("key", "value")) == SETUP


def sent_form(page, **changes):
    """The set-up form of a page as a browser sends it, with what the person changed in it."""
    fields = re.findall(r'<input type="hidden" name="(seen_\w+)" value="([^"]*)">', page.content.decode())
    seen = dict(fields)
    return seen | {key.removeprefix("seen_"): value for key, value in seen.items()} | changes


def values_now(trial):
    return dict(SetupValue.objects.filter(trial=trial).order_by("pk").values_list("key", "value"))


def test_a_value_changed_since_by_its_key_is_not_set_back_by_the_form(scene, technician):
    trial = opened_trial(scene)
    technician.post(f"/bench/{trial.pk}/setup/", SETUP)
    page = technician.get(f"/bench/{trial.pk}/setup/")
    technician.post(f"/bench/{trial.pk}/value/", {"key": "force_n", "value": "1.01"})
    response = technician.post(f"/bench/{trial.pk}/setup/", sent_form(page, light_lx="9"), follow=True)
    assert "1 set-up value is saved." in text(response)
    assert values_now(trial) == SETUP | {"force_n": "1.01", "light_lx": "9"}
    again = technician.post(f"/bench/{trial.pk}/setup/", sent_form(response), follow=True)
    assert "Nothing had changed." in text(again)


def test_a_value_changed_in_both_places_is_refused_and_both_are_told(scene, technician):
    trial = opened_trial(scene)
    technician.post(f"/bench/{trial.pk}/setup/", SETUP)
    page = technician.get(f"/bench/{trial.pk}/setup/")
    for name, value in (("force_n", "1.01"), ("light_lx", "7"), ("board_mm", "11")):
        technician.post(f"/bench/{trial.pk}/value/", {"key": name, "value": value})
    sent = sent_form(page, force_n="0.99", light_lx="9", penetration_mm="6.9")
    refused = technician.post(f"/bench/{trial.pk}/setup/", sent)
    assert refused.status_code == 422
    assert "Force is 1.01 N by now, 0.96 was shown when this page was loaded; look, then save again." in text(refused)
    assert "is 7 lx by now, 12 was shown" in text(refused)
    held = SETUP | {"force_n": "1.01", "light_lx": "7", "board_mm": "11"}
    assert values_now(trial) == held
    form = refused.context["form"]
    shown = {name: form[name].value() for name in form.fields if form[name].value()}
    assert shown == held | {"force_n": "0.99", "light_lx": "9", "penetration_mm": "6.9"}
    technician.post(f"/bench/{trial.pk}/setup/", sent_form(refused) | shown)
    assert values_now(trial) == shown


def test_the_same_value_from_both_places_is_no_contradiction(scene, technician):
    trial = opened_trial(scene)
    page = technician.get(f"/bench/{trial.pk}/setup/")
    technician.post(f"/bench/{trial.pk}/value/", {"key": "force_n", "value": "0.96"})
    response = technician.post(f"/bench/{trial.pk}/setup/", sent_form(page, force_n="0,96"), follow=True)
    assert "Nothing had changed." in text(response)


def test_a_value_is_emptied_only_by_a_hand_that_saw_it(scene, technician):
    trial = opened_trial(scene)
    page = technician.get(f"/bench/{trial.pk}/setup/")
    technician.post(f"/bench/{trial.pk}/value/", {"key": "force_n", "value": "0.96"})
    technician.post(f"/bench/{trial.pk}/setup/", sent_form(page))
    assert values_now(trial) == {"force_n": "0.96"}
    technician.post(f"/bench/{trial.pk}/setup/", sent_form(technician.get(f"/bench/{trial.pk}/setup/"), force_n=""))
    assert values_now(trial) == {"force_n": ""}


def test_what_the_start_waits_for_is_marked_and_the_rest_is_not(scene, technician):
    trial = opened_trial(scene)
    page = technician.get(f"/bench/{trial.pk}/setup/")
    form, states = page.context["form"], page.context["state"].fields
    needed = {one.field.key for one in states if one.missing}
    assert {key for key, field in form.fields.items() if field.required} == needed
    html = text(page)
    assert html.count("Needed.") == len(needed)
    assert "Needed. At most 20 lx." in html
    assert html.count('<span class="soft">if any</span>') == len(states) - len(needed)
    assert " required" not in html[html.index('id="values"') :]


def test_a_text_that_is_no_number_stays_beside_its_reason(scene, technician):
    trial = opened_trial(scene)
    response = technician.post(f"/bench/{trial.pk}/setup/", SETUP | {"force_n": "1,5.0"})
    assert response.status_code == 422
    assert "“1,5.0” is not a number" in text(response)
    assert 'value="1,5.0"' in text(response)
    assert not SetupValue.objects.exists()


def test_one_value_is_saved_at_once_and_answered_with_the_state(scene, technician):
    trial = opened_trial(scene)
    answer = technician.post(f"/bench/{trial.pk}/value/", {"key": "force_n", "value": "0,75"}).json()
    assert answer["state"]["fields"]["force_n"] == {
        "value": "0.75",
        "holds": False,
        "sentence": "0.75 N is outside 0.85 to 1.05 N; a trial with it is invalid.",
        "missing": False,
    }


def test_the_steadiness_is_answered_by_the_rule_for_the_moment_of_the_device(scene, technician):
    trial = opened_trial(scene)
    record_events(by=scene.technician, at=NOON, trial_id=trial.pk, events=steady_readings()[:5])  # at 5 to 45 s
    at_46 = technician.get(f"/bench/{trial.pk}/state/", {"steady_s": "46.0"}).json()["state"]["steady"]
    assert at_46 == {
        "steady": False, "steady_s": "41.0", "spread_k": "0.9", "lack": "too short",
        "sentence": "steady for 41.0 s of 60 s, 19.0 s more",
    }  # fmt: skip


def event(number: int, kind: str, t_s: str, **more):
    return {
        "key": str(key(number)), "kind": kind, "steady_s": "70.0", "t_s": t_s, "value": "", "note": "",
        "device_at": "2026-03-10T11:01:10.000Z", "replaces": None, "reason": "",
    } | more  # fmt: skip


def send(client, trial, person, *events):
    body = json.dumps({"person": person.pk, "sent_at": "2026-03-10T11:00:00.100Z", "events": events})
    return client.post(f"/bench/{trial.pk}/events/?steady_s=71", body, content_type="application/json")


def test_events_are_taken_as_json_and_answered_one_by_one(scene, technician):
    trial = opened_trial(scene)
    answer = send(technician, trial, scene.technician, event(1, "contact", "0.0"), event(2, "dances", "0.0")).json()
    assert [(one["key"], one["status"]) for one in answer["answers"]] == [
        (str(key(1)), "saved"),
        (str(key(2)), "refused"),
    ]
    assert answer["state"]["steady"]["lack"] == "no reading"
    assert format(Observation.objects.get().t_s, "f") == "0.0"


def test_presses_of_one_person_never_go_in_under_another(scene, technician):
    trial = opened_trial(scene)
    response = send(technician, trial, scene.lead, event(1, "contact", "0.0"))
    assert response.status_code == 409
    assert response.json()["sentence"].startswith("These entries were pressed by somebody else than Tess Technician.")
    assert not Observation.objects.exists()


@pytest.mark.parametrize("body", [b"", b"[]", b'{"person": 1}', b'{"person": 1, "events": [{"key": "x"}]}'])
def test_a_posting_that_is_no_list_of_entries_is_answered_with_a_sentence(scene, technician, body):
    trial = opened_trial(scene)
    response = technician.post(f"/bench/{trial.pk}/events/", body, content_type="application/json")
    assert response.status_code == 409
    assert response.json()["sentence"].startswith("The tablet sent something that is no list of entries")


@pytest.mark.parametrize("member", ["sent_at", "device_at"])
@pytest.mark.parametrize(
    "moment", ["2026-03-10T12:00:00", "9999-12-31T23:59:59-23:59", "0001-01-01T00:00:00+23:59", "3000-01-01T00:00Z", 5]
)
def test_a_clock_that_days_cannot_be_counted_from_is_refused(scene, technician, member, moment):
    trial, entry = opened_trial(scene), event(1, "contact", "0.0")
    body = {"person": scene.technician.pk, "sent_at": "2026-03-10T11:00:00Z", "events": [entry]}
    (entry if member == "device_at" else body)[member] = moment
    response = technician.post(f"/bench/{trial.pk}/events/", json.dumps(body), content_type="application/json")
    assert response.status_code == 409
    assert response.json()["sentence"].startswith("The tablet sent something that is no list of entries")
    assert not Observation.objects.exists()


@pytest.mark.parametrize("person", [float("inf"), float("nan"), [1], None, "", "1" * 5000])
def test_entries_of_nobody_are_refused(scene, technician, person):
    trial = opened_trial(scene)
    body = json.dumps({"person": person, "events": [event(1, "contact", "0.0")]})
    response = technician.post(f"/bench/{trial.pk}/events/", body, content_type="application/json")
    assert response.status_code == 409
    assert response.json()["sentence"].startswith("The tablet sent something that is no list of entries")


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("smoke\0 from\x07 below\n", "smoke from below"),
        ("cut in half \ud83d", "cut in half \ufffd"),
        ("a pair \ud83d\ude00", "a pair 😀"),
        ("turned \u202eround", "turned round"),
        ("=1+1", "=1+1"),
    ],
)
def test_words_from_a_tablet_are_kept_without_what_no_database_keeps(scene, technician, typed, kept):
    trial = opened_trial(scene)
    entry = event(1, "note", "1.0", steady_s="71.0") | {"value": typed, "note": typed}
    assert send(technician, trial, scene.technician, entry).json()["answers"][0]["status"] == "saved"
    row = Observation.objects.get()
    assert (row.value, row.note.partition("; ")[0]) == (kept, kept)
    again = send(technician, trial, scene.technician, entry).json()["answers"][0]
    assert (again["status"], Observation.objects.count()) == ("saved", 1)


def test_a_set_up_text_is_kept_without_what_no_database_keeps(scene, technician):
    trial = opened_trial(scene)
    technician.post(f"/bench/{trial.pk}/value/", {"key": "point", "value": "rear\0 \u202ewall"})
    assert SetupValue.objects.get().value == "rear wall"


def test_others_look_on_and_cannot_write(scene, technician):
    trial = opened_trial(scene)
    counter = Client()
    counter.force_login(UserFactory.create(roles=["counter"]))
    assert "only they record in it" in text(counter.get(f"/bench/{trial.pk}/setup/"))
    assert counter.post(f"/bench/{trial.pk}/value/", {"key": "force_n", "value": "1"}).status_code == 403
    assert send(counter, trial, scene.technician, event(1, "contact", "0.0")).status_code == 403


def test_the_pages_of_the_bench_name_no_method(scene, technician):
    """What is asked and shown comes from the edition; the templates and scripts know no method."""
    from pathlib import Path

    folder = Path(__file__).resolve().parents[3] / "trials"
    files = [
        *folder.glob("templates/trials/bench*.html"),
        *folder.glob("static/trials/*.js"),
        *folder.glob("views/*.py"),
    ]
    assert [file.name for file in files if "glow wire" in file.read_text().lower().replace("-", " ")] == []


def test_the_verdict_is_shown_with_its_criteria_and_signed(scene, technician):
    trial = finished(scene)
    page = technician.get(f"/bench/{trial.pk}/sign/")
    assert "Passed at 850 °C: no flame and no glow, and the layer did not catch." in text(page)
    assert "Sign: passed" in text(page)
    response = technician.post(f"/bench/{trial.pk}/sign/", {"looked_at": page.context["looked_at"], "unsaved": "0"})
    assert response.url == f"/trials/{trial.pk}/"
    assert SignedVerdict.objects.get().outcome == "pass"
    assert technician.get(f"/bench/{trial.pk}/setup/").url == f"/trials/{trial.pk}/"  # Back leads on, not to old keys


def test_a_signature_under_an_old_page_shows_the_verdict_as_it_is_now(scene, technician):
    trial = finished(scene)
    response = technician.post(f"/bench/{trial.pk}/sign/", {"looked_at": "0" * 64, "unsaved": "0"})
    assert response.status_code == 422
    assert "The record changed since you looked." in text(response)


def test_findings_late_entries_and_a_doubt_are_entered_after_the_trial(scene, technician):
    trial = finished(scene)
    technician.post(f"/bench/{trial.pk}/findings/", {"board_scorched": "no", "note": "much smoke"})
    technician.post(f"/bench/{trial.pk}/late/", {"kind": "drip", "t_s": "12,5", "value": ""})
    technician.post(f"/bench/{trial.pk}/doubt/", {"reason": "a draught was felt"})
    added = Observation.objects.filter(note="entered later").order_by("pk")
    assert [(row.kind, None if row.t_s is None else str(row.t_s), row.value) for row in added] == [
        ("board_scorched", None, "no"),
        ("note", None, "much smoke"),
        ("drip", "12.5", ""),
    ]
    assert Doubt.objects.get().reason == "a draught was felt"


def test_a_late_entry_that_is_refused_stays_in_its_form(scene, technician):
    trial = finished(scene)
    response = technician.post(f"/bench/{trial.pk}/late/", {"kind": "flame_height", "t_s": "20", "value": "tall"})
    assert response.status_code == 422
    assert "is not a number" in text(response)
    assert 'value="tall"' in text(response)


def test_a_photo_is_kept_and_its_shown_copy_handed_out(scene, technician):
    trial = finished(scene)
    picture = io.BytesIO()
    Image.new("RGB", (40, 30), "black").save(picture, "JPEG")
    upload = io.BytesIO(picture.getvalue())
    upload.name = "after.jpg"
    technician.post(f"/bench/{trial.pk}/photo/", {"photo": upload, "caption": "the hole"})
    photo = TrialPhoto.objects.get()
    response = technician.get(f"/trials/photos/{photo.pk}/")
    assert (response["Content-Type"], photo.caption, bytes(photo.file.content)) == (
        "image/jpeg", "the hole", picture.getvalue(),
    )  # fmt: skip


def test_a_file_that_is_no_picture_is_refused_with_its_name(scene, technician):
    trial = finished(scene)
    upload = io.BytesIO(b"not a picture")
    upload.name = "notes.txt"
    response = technician.post(f"/bench/{trial.pk}/photo/", {"photo": upload, "caption": "kept"})
    assert response.status_code == 422
    assert "“notes.txt” is not a JPEG, PNG or WebP picture" in text(response)
    assert 'value="kept"' in text(response)


def test_a_correction_after_the_signature_signs_again(scene, technician):
    trial = signed(scene)
    row = Observation.objects.get(key=key(5))
    page = text(technician.get(f"/observations/{row.pk}/correct/"))
    assert 'Withdrawn at <span class="keep">30.0 s</span>: what is right instead?' in page
    refused = technician.post(f"/observations/{row.pk}/correct/", {"t_s": "31.5", "reason": ""})
    assert refused.status_code == 422
    response = technician.post(f"/observations/{row.pk}/correct/", {"t_s": "31.5", "reason": "the video shows it"})
    assert response.url == f"/trials/{trial.pk}/"
    assert [one.outcome for one in SignedVerdict.objects.order_by("pk")] == ["pass", "invalid"]

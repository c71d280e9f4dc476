"""Handing out: who may have a job, on which rig, and what two leads at once are told."""

from datetime import timedelta

import pytest

from calibration.actions.commissioning import open_commissioning, record_findings, release_rig
from calibration.models import Mounting, Rig, ServiceChange
from calibration.queries.commissioning import rig_use
from labsite.ledger.models import Entry
from labsite.ledger.refusals import Refused
from specimens.models import Deviation, DeviationAnswer
from tests.calibration.actions.test_commissioning import in_order
from tests.factories.bench import bench_scene, instrument, opened_trial
from tests.factories.ledger import NOON, UserFactory
from tests.factories.trials import authorised, signed_trial
from trials.actions.jobs import hand_out, take_job
from trials.models import Job


@pytest.fixture
def free(scene):
    """The scene's line before anybody had it."""
    scene.job.delete()
    return scene


def give(scene, **changes):
    arguments = {
        "line": scene.line, "technician": scene.technician, "rig": scene.rig, "seen_job": None, "by": scene.lead,
        "at": NOON,
    } | changes  # fmt: skip
    return hand_out(**arguments)


def second_rig(scene, code="GW-9"):
    rig = Rig.objects.create(code=code, name="Glow-wire rig", kind="glow wire")
    for place, kind in enumerate(("thermocouple", "indicator", "force gauge", "timer")):
        instrument(70 + place, f"X{place}", kind, scene.lead, NOON, rig=rig)
    return rig


def test_a_lead_hands_out_and_the_order_s_book_says_so(free):
    job = give(free)
    assert (job.technician, job.rig, job.handed_by, job.superseded_at) == (free.technician, free.rig, free.lead, None)
    entry = Entry.objects.get(act="handed out the job")
    assert (entry.book.name, entry.by) == (free.line.order.book, free.lead)
    assert entry.data == {
        "before": {}, "after": {"job": job.pk, "technician": "tech1", "rig": "GW-1"}, "line": 1,
    }  # fmt: skip


def test_a_technician_takes_a_job_but_hands_none_out(free):
    with pytest.raises(Refused, match="Only a lead hands out work"):
        give(free, by=free.technician)
    job = take_job(line=free.line, rig=free.rig, seen_job=None, by=free.technician, at=NOON)
    assert (job.technician, job.handed_by) == (free.technician, free.technician)
    assert Entry.objects.filter(act="took the job").count() == 1


def test_nobody_else_takes_a_job(free):
    with pytest.raises(Refused, match="Only a technician or a lead takes a job"):
        take_job(line=free.line, rig=free.rig, seen_job=None, by=UserFactory.create(roles=["counter"]), at=NOON)


def test_without_an_authorisation_the_sentence_names_who_has_one(free):
    other = UserFactory.create(full_name="Oren Example", roles=["technician"])
    with pytest.raises(Refused) as refusal:
        give(free, technician=other)
    assert (refusal.value.field, refusal.value.sentence) == (
        "technician",
        "Oren Example is not authorised to perform trials by 2-11:2021 on 10 Mar 2026. Tess Technician is.",
    )


def test_the_last_day_counts_to_its_end_at_the_laboratory(free):
    free.authorisation.until_on = NOON.date()
    free.authorisation.save()
    late = NOON.replace(hour=22, minute=59)  # 23:59 in Berlin, still the 10th
    with pytest.raises(Refused, match="ran out on 10 Mar 2026"):
        give(free, at=late + timedelta(minutes=1))
    assert give(free, at=late).technician == free.technician


def test_the_role_of_a_technician_is_needed_besides(free):
    person = UserFactory.create(full_name="Tilda Example", roles=["counter"])
    authorised(person, "perform", by=free.lead, at=NOON)
    with pytest.raises(Refused, match="Tilda Example has not the role of a technician"):
        give(free, technician=person)


def test_who_left_gets_no_job(free):
    free.technician.is_active = False
    free.technician.save()
    with pytest.raises(Refused, match="Tess Technician no longer signs in here"):
        give(free)


def test_a_rig_with_an_unusable_instrument_is_refused_naming_it_and_another_rig(free):
    second_rig(free)
    gauge = free.instruments["FG-02"]
    ServiceChange.objects.create(
        instrument=gauge, state="out of service", reason="dropped", at=NOON - timedelta(hours=1), by=free.lead
    )
    with pytest.raises(Refused) as refusal:
        give(free)
    assert refusal.value.field == "rig"
    assert refusal.value.sentence.startswith("GW-1 is blocked: FG-02: ")
    assert "dropped" in refusal.value.sentence
    assert refusal.value.sentence.endswith(" GW-9 would do.")


def test_a_rig_without_a_needed_instrument_is_refused(free):
    Mounting.objects.filter(instrument=free.instruments["TM-01"]).update(removed_at=NOON, removed_by=free.lead)
    with pytest.raises(Refused) as refusal:
        give(free)
    assert refusal.value.sentence == "GW-1 is blocked: no timer is mounted. No other rig of this kind is ready."


def test_an_instrument_the_method_need_not_have_blocks_nothing(free):
    ServiceChange.objects.create(
        instrument=free.instruments["LG-01"], state="out of service", reason="bent", at=NOON - timedelta(hours=1),
        by=free.lead,
    )  # fmt: skip
    assert give(free).rig == free.rig


def test_a_rig_that_is_not_released_is_refused_until_it_is(free):
    second_rig(free)
    opened = open_commissioning(by=free.lead, at=NOON, rig=free.rig, occasion="repaired", reason="New bearing")
    with pytest.raises(Refused) as refusal:
        give(free)
    assert refusal.value.sentence == "GW-1 is blocked: back from repair and not released for use yet. GW-9 would do."
    assert rig_use([free.rig], NOON)[free.rig.pk].commissioning == opened
    record_findings(by=free.lead, at=NOON, commissioning=opened, findings=in_order(opened))
    release_rig(by=free.lead, at=NOON, commissioning=opened)
    assert give(free).rig == free.rig


def test_a_rig_of_another_kind_is_refused(free):
    other = Rig.objects.create(code="NF-1", name="Needle flame", kind="needle flame")
    with pytest.raises(Refused, match=r"NF-1 is not a rig for “Glow wire, end product” in use\. GW-1 would do\."):
        give(free, rig=other)


def test_no_job_without_a_signed_review(free):
    free.line.order.version += 1
    free.line.order.save()
    with pytest.raises(Refused, match="The contract review of the order as it stands is not signed"):
        give(free)


def test_no_job_while_a_deviation_waits_for_its_answer(free):
    item = free.specimens[0].item
    found = Deviation.objects.create(item=item, text="cracked", raised_at=NOON, raised_by=free.lead)
    with pytest.raises(Refused, match="A deviation waits for the client’s answer"):
        give(free)
    DeviationAnswer.objects.create(
        deviation=found, decision="test anyway", answered_by="Carla", answer="go on", recorded_at=NOON,
        recorded_by=free.lead,
    )  # fmt: skip
    assert give(free).technician == free.technician


def test_nothing_is_handed_out_once_all_is_signed(scene):
    signed_trial(scene)
    with pytest.raises(Refused, match="Every specimen needed is tested and signed: Passed at 850 °C"):
        give(scene, seen_job=scene.job.pk, reason="again")


def test_a_withdrawn_line_is_not_handed_out(free):
    free.line.withdrawn_at = NOON
    free.line.save()
    with pytest.raises(Refused, match="This line is withdrawn"):
        give(free)


def test_a_second_lead_is_told_who_has_it(free):
    give(free)
    other = UserFactory.create(full_name="Liam Lead", roles=["lead"])
    with pytest.raises(Refused) as refusal:
        give(free, by=other, at=NOON + timedelta(minutes=1))
    assert refusal.value.sentence == (
        "Tess Technician has this job on GW-1: Lena Lead handed it out on Tue 10 Mar 12:00. Your typing is kept; hand "
        "it out anew only if that must change, and say why."
    )
    assert Job.objects.filter(order_line=free.line).count() == 1


def test_a_new_hand_out_supersedes_the_old_with_a_reason(scene):
    rig = second_rig(scene)
    with pytest.raises(Refused, match=r"Tess Technician has this job on GW-1\. Say why") as refusal:
        give(scene, rig=rig, seen_job=scene.job.pk)
    assert refusal.value.field == "reason"
    job = give(scene, rig=rig, seen_job=scene.job.pk, reason=" GW-1 is needed elsewhere ")
    scene.job.refresh_from_db()
    assert (scene.job.superseded_at, job.superseded_at, job.rig) == (NOON, None, rig)
    assert Entry.objects.get(act="handed out the job").data["reason"] == "GW-1 is needed elsewhere"


def test_the_same_hand_out_again_is_refused(scene):
    with pytest.raises(Refused, match="Tess Technician has this job on GW-1 already"):
        give(scene, seen_job=scene.job.pk, reason="again")


def test_an_open_trial_is_signed_before_the_job_changes_hands(scene):
    rig = second_rig(scene)
    opened_trial(scene)
    with pytest.raises(Refused, match="Tess Technician has a trial open at GW-1, on specimen 26-0001-002-"):
        give(scene, rig=rig, seen_job=scene.job.pk, reason="moved")


@pytest.mark.django_db
def test_jobs_of_other_lines_do_not_matter():
    one, two = bench_scene(NOON), bench_scene(NOON, serial=2)
    two.job.delete()
    assert give(two).technician == two.technician
    assert Job.objects.get(order_line=one.line).superseded_at is None

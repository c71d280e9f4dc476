"""The queue: which group a line is in and why, and a number of queries that does not grow with the rows."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from specimens.models import Deviation, OrderLine, StaySpecimen
from specimens.queries.climate import forget_decoded
from tests.factories.bench import bench_scene, opened_trial
from tests.factories.ledger import NOON, UserFactory
from tests.factories.trials import LATE_FLAME, checked, checker_for, signed_trial
from trials.models import Authorisation
from trials.queries.counts import hands_needed
from trials.queries.jobs import work_line
from trials.queries.queue import queue, queue_rows

CHECKED_AT = NOON + timedelta(hours=3)


def only_row(at=NOON, person=None):
    (row,) = queue_rows(at, person)
    return row


def test_ready_and_handed_out_can_start(scene):
    row = only_row()
    assert (row.group, row.shape, row.act, row.who, row.where) == (
        "start", "ready", "Start at the bench", "Tess Technician", "GW-1",
    )  # fmt: skip
    assert row.why == "Handed out Tue 10 Mar 11:00. 1 specimen is ready."


def test_ready_and_nobody_has_it(scene):
    scene.job.delete()
    row = only_row()
    assert (row.group, row.act, row.why) == ("start", "Hand out", "1 specimen is ready. Tess Technician may do it.")
    assert (row.who, row.where, row.address) == ("nobody yet", "GW-1", f"/jobs/{scene.line.pk}/")


def test_too_few_specimens_do_not_keep_those_that_are_ready_from_the_bench(scene):
    scene.line.specimens_ordered = 3
    scene.line.save()
    row = only_row()
    assert (row.group, row.act) == ("start", "Start at the bench")
    assert "3 specimens still to be tested, 2 untested here." in row.why
    StaySpecimen.objects.all().delete()
    row = only_row()
    assert (row.group, row.act) == ("hand", "Put 2 specimens into conditioning")


def test_an_open_trial_is_under_way(scene):
    opened_trial(scene)
    row = only_row(NOON + timedelta(minutes=1))
    assert (row.group, row.shape, row.act) == ("run", "run", "At the rig, specimen 1 of 1")


def test_signed_waits_for_a_check_by_somebody_else(scene):
    signed_trial(scene)
    row = only_row(CHECKED_AT)
    assert (row.group, row.shape, row.act, row.who, row.where) == (
        "check", "hand", "Check the trials", "nobody yet", "nobody may check",
    )  # fmt: skip
    checker = checker_for(scene)
    assert only_row(CHECKED_AT).where == "Cleo Checker may check"
    assert only_row(CHECKED_AT, checker).where == "you may check"
    assert row.why == (
        "Signed by Tess Technician Tue 10 Mar 12:10. Passed at 850 °C: no flame and no glow, and the layer did not "
        "catch."
    )
    assert row.address == f"/checks/{scene.line.pk}/"


def test_returned_needs_the_technician(scene):
    signed_trial(scene)
    checked(scene.line, checker_for(scene), CHECKED_AT, finding="returned", remarks="look\nat the height")
    row = only_row(CHECKED_AT)
    assert (row.group, row.act, row.who) == ("hand", "Answer the checker", "Tess Technician")
    assert row.why == "Cleo Checker returned the trials: look at the height"


def every_line():
    """What a higher app says is certified: all there is."""
    return OrderLine.objects.values("pk")


def test_checked_is_ready_for_a_certificate_until_it_has_one(scene, settings):
    signed_trial(scene, course=LATE_FLAME)
    checked(scene.line, checker_for(scene), CHECKED_AT)
    row = only_row(CHECKED_AT)
    assert (row.group, row.shape, row.act) == ("certificate", "done", "Issue the certificate")
    settings.CERTIFIED_LINES = "tests.trials.queries.test_queue.every_line"
    assert queue_rows(CHECKED_AT, None) == []


def test_a_deviation_outranks_waiting_and_counts_the_other_reasons(scene):
    Deviation.objects.create(
        item=scene.specimens[0].item, text="one is cracked", raised_at=NOON - timedelta(hours=2), raised_by=scene.lead
    )
    Authorisation.objects.all().delete()
    row = only_row()
    assert (row.group, row.act, row.who) == ("hand", "Ring the client", "Tess Technician")
    assert row.why == "On hold since Tue 10 Mar 10:00, no answer recorded: one is cracked. One more reason."


def test_nothing_received_waits_for_someone_outside(scene):
    for specimen in scene.specimens:
        specimen.stays.all().delete()
        specimen.delete()
    row = only_row()
    assert (row.group, row.shape, row.act) == ("outside", "other", "Parcel not here yet")


def test_a_specimen_never_conditioned_needs_a_hand(scene):
    for specimen in scene.specimens:
        specimen.stays.all().delete()
    row = only_row()
    assert (row.group, row.act) == ("hand", "Put 1 specimen into conditioning")


def test_of_more_specimens_than_needed_the_best_conditioned_count(scene):
    scene.specimens[0].stays.all().delete()
    assert only_row().group == "start"
    scene.line.specimens_ordered = 2
    scene.line.save()
    assert only_row().act == "Put 2 specimens into conditioning"


def test_tested_specimens_are_not_asked_about_again(scene):
    scene.line.specimens_ordered = 2
    scene.line.save()
    signed_trial(scene)
    work = work_line(scene.line, NOON + timedelta(minutes=20))
    assert (work.standing.state, work.facts.needed, work.facts.untested, work.reasons) == ("under way", 1, 1, ())


@pytest.mark.parametrize(
    ("days", "when", "small"),
    [
        (-2, "Sun 8 Mar", "2 days late"), (0, "today", "promised today"), (1, "Wed 11 Mar", "tomorrow"),
        (9, "Thu 19 Mar", "in 9 days"),
    ],
)  # fmt: skip
def test_promised_days_in_words(scene, days, when, small):
    scene.line.order.promised_on = date(2026, 3, 10) + timedelta(days=days)
    scene.line.order.save()
    row = only_row()
    assert (row.when, row.when_small) == (when, small)


def test_what_is_promised_first_stands_first(scene):
    second = bench_scene(NOON, serial=2)
    for line, day in ((scene.line, 20), (second.line, 12)):
        line.order.promised_on = date(2026, 3, day)
        line.order.save()
    assert [row.work.line for row in queue_rows(NOON, None)] == [second.line, scene.line]


def test_the_answer_is_a_sentence(scene):
    second = bench_scene(NOON, serial=2)
    second.specimens[0].stays.all().delete()
    second.specimens[1].stays.all().delete()
    found = queue(NOON, None)
    assert (found.answer, found.rest) == ("One job needs a hand now; one can start.", "")
    assert [(group.key, group.words) for group in found.groups] == [
        ("hand", "1 needs a hand now"),
        ("start", "1 can start"),
    ]


def test_people_and_rigs_in_the_margin(scene):
    opened_trial(scene)
    found = queue(NOON + timedelta(minutes=1), None)
    assert [(one.name, one.doing, one.may) for one in found.people] == [
        ("Lena Lead", "free", "No authorisation"),
        ("Tess Technician", "at GW-1", "Glow wire, end product"),
    ]
    assert [(rig.code, rig.word) for rig in found.rigs] == [("GW-1", "Running")]


def counted(call):
    forget_decoded()  # else the first call would read climate records that later ones remember
    with CaptureQueriesContext(
        connection,
    ) as queries:
        call()
    return len(queries)


@pytest.mark.django_db
def test_the_number_of_queries_does_not_grow_with_the_rows():
    bench_scene(NOON)
    person = UserFactory.create(roles=["checker"])
    one = counted(lambda: queue(NOON, person)), counted(lambda: hands_needed(NOON))
    for serial in (2, 3):
        bench_scene(NOON, serial=serial)
    assert len(queue(NOON, person).rows) == 3
    assert (counted(lambda: queue(NOON, person)), counted(lambda: hands_needed(NOON))) == one


def test_counts_for_the_frame(scene):
    assert hands_needed(NOON) == {"counter": 0, "queue": 0, "bench": 0, "certificates": 0, "calibration": 0}
    opened_trial(scene)
    Deviation.objects.create(item=scene.specimens[0].item, text="cracked", raised_at=NOON, raised_by=scene.lead)
    assert hands_needed(NOON + timedelta(hours=9)) == {
        "counter": 1, "queue": 0, "bench": 1, "certificates": 0, "calibration": 0,
    }  # fmt: skip


@pytest.mark.django_db
def test_counts_before_the_first_run():
    assert hands_needed(NOON) == {}

"""Presses from a bench device: each once, in any order of arrival, whatever gets lost; corrections are new rows."""

import threading
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import DatabaseError, connection, transaction

from labsite.ledger.models import Entry
from labsite.ledger.queries import ledger_faults
from labsite.ledger.refusals import Refused
from tests.factories.bench import bench_scene, key, opened_trial, pressed, readings, steady_readings
from tests.factories.ledger import NOON
from trials.actions.observations import (
    EventAnswer,
    add_findings,
    add_late_observation,
    correct_observation,
    record_events,
)
from trials.models import Observation
from trials.queries.records import trial_record

LATER = NOON + timedelta(minutes=3)
RUN = [
    pressed(1, "contact", "0.0"),
    pressed(2, "ignites", "6.4"),
    pressed(3, "drip", "19.7"),
    pressed(4, "flame_height", "22.8", "40"),
    pressed(5, "withdrawn", "30.1"),
    pressed(6, "flame_out", "45.2"),
    pressed(7, "watch_ends", "61.0"),
]


@pytest.fixture
def trial(scene):
    return opened_trial(scene)


def send(scene, trial, *events, at=LATER, sent_at=None):
    return record_events(by=scene.technician, at=at, trial_id=trial.pk, events=events, sent_at=sent_at)


def rows(trial):
    return list(Observation.objects.filter(trial=trial).order_by("key").values_list("kind", "t_s", "value"))


EXPECTED = [
    ("contact", Decimal("0.0"), ""),
    ("ignites", Decimal("6.4"), ""),
    ("drip", Decimal("19.7"), ""),
    ("flame_height", Decimal("22.8"), "40"),
    ("withdrawn", Decimal("30.1"), ""),
    ("flame_out", Decimal("45.2"), ""),
    ("watch_ends", Decimal("61.0"), ""),
]


def test_a_row_keeps_both_clocks_and_the_digits(scene, trial):
    send(scene, trial, *RUN)
    row = Observation.objects.get(key=key(2))
    assert (row.steady_s, format(row.t_s, "f"), row.device_at, row.received_at, row.by, row.note) == (
        Decimal("76.4"), "6.4", NOON + timedelta(seconds=76.4), LATER, scene.technician, "",
    )  # fmt: skip


def test_the_queue_sent_again_after_a_lost_reply_counts_once(scene, trial):
    first = send(scene, trial, *RUN[:3])
    again = send(scene, trial, *RUN, at=LATER + timedelta(seconds=9))
    assert first == [EventAnswer(event.key, "saved") for event in RUN[:3]]
    assert again == [EventAnswer(event.key, "saved") for event in RUN]
    assert rows(trial) == EXPECTED
    assert Observation.objects.get(key=key(1)).received_at == LATER
    acts = Entry.objects.filter(act="recorded at the bench").order_by("sequence")
    assert [[row["key"] for row in entry.data["after"]] for entry in acts] == [
        [str(key(n)) for n in (1, 2, 3)],
        [str(key(n)) for n in (4, 5, 6, 7)],
    ]


@pytest.mark.parametrize("order", [(6, 5, 4, 3, 2, 1, 0), (3, 0, 6, 1, 5, 2, 4)])
def test_the_record_is_the_same_whatever_the_order_of_arrival(scene, trial, order):
    for place in order:
        send(scene, trial, RUN[place])
    assert rows(trial) == EXPECTED


def test_an_entry_that_is_refused_stops_the_queue_and_nothing_after_it_is_taken(scene, trial):
    answers = send(scene, trial, RUN[0], pressed(90, "explodes", "3.0"), RUN[1])
    assert [(one.key, one.status) for one in answers] == [(key(1), "saved"), (key(90), "refused"), (key(2), "waits")]
    assert answers[1].sentence.startswith("observation 00000000: 'explodes' is not a kind of observation")
    assert rows(trial) == EXPECTED[:1]


def test_a_key_that_comes_with_another_content_is_refused(scene, trial):
    send(scene, trial, RUN[0], RUN[1])
    answers = send(scene, trial, replace(RUN[1], t_s=Decimal("9.9"), steady_s=Decimal("79.9")))
    assert [(one.status, "same key and another content" in one.sentence) for one in answers] == [("refused", True)]


def test_two_figures_of_the_steady_clock_that_contradict_each_other_are_refused(scene, trial):
    answers = send(scene, trial, RUN[0], pressed(2, "ignites", "6.4", steady_s=Decimal("99.0")))
    assert answers[1].status == "refused"
    assert "6.4 s from contact by one clock, 29.0 s by the other" in answers[1].sentence


@pytest.mark.parametrize(
    ("event", "words"),
    [
        (pressed(9, "flame_height", "3.0", "high"), "'high' is not a number"),
        (pressed(9, "flame_height", "3.0"), "the value is missing"),
        (pressed(9, "ignites"), "the time is missing"),
        (pressed(9, "ignites", "3.0", "blue"), "'blue' is none of bright, colourless, corona"),
        (pressed(9, "temperature", value="hot", steady_s=Decimal(3)), "'hot' is not a number"),
        (pressed(9, "temperature", value="NaN", steady_s=Decimal(3)), "NaN is not a number that can be judged"),
        (pressed(9, "temperature", value="1e999", steady_s=Decimal(3)), "1E+999 has more than 15 digits"),
        (pressed(9, "temperature", value="8.5e2", steady_s=Decimal(3)), "“8.5e2” is not a number"),
        (pressed(9, "temperature", value="８５０", steady_s=Decimal(3)), "“８５０” is not a number"),
        (pressed(9, "flame_height", "3.0", "Infinity"), "Infinity is not a number that can be judged"),
        (pressed(9, "flame_height", "3.0", "1_0"), "“1_0” is not a number"),
        (pressed(9, "flame_height", "3.0", "1" * 16), "has more than 15 digits"),
        (pressed(9, "temperature", value="850"), "the figure or its moment is missing"),
        (pressed(9, "taken_back"), "must name it"),
        (pressed(9, "taken_back", replaces=key(77), reason="x"), "changes one that has not arrived"),
    ],
)
def test_what_the_edition_does_not_know_is_refused_with_the_place(scene, trial, event, words):
    answers = send(scene, trial, event)
    assert (answers[0].status, words in answers[0].sentence) == ("refused", True), answers[0].sentence


def test_taking_back_is_a_new_row_and_the_old_one_stays(scene, trial):
    send(scene, trial, *RUN[:3], pressed(8, "taken_back", replaces=key(3), reason="taken back at the bench"))
    assert [row.kind for row in Observation.objects.filter(trial=trial).order_by("key")] == [
        "contact", "ignites", "drip", "taken_back",
    ]  # fmt: skip
    taken = Observation.objects.get(key=key(8))
    assert (taken.replaces, taken.reason) == (Observation.objects.get(key=key(3)), "taken back at the bench")
    answers = send(scene, trial, pressed(9, "taken_back", replaces=key(3), reason="again"))
    assert answers[0].sentence == "The entry it changes was already corrected or taken back."


def test_a_tablet_seven_minutes_ahead_is_marked_and_its_times_stay(scene, trial):
    seven = timedelta(minutes=7)
    late = [replace(event, device_at=event.device_at and event.device_at + seven) for event in RUN[:2]]
    send(scene, trial, *late, sent_at=LATER + seven)
    row = Observation.objects.get(key=key(2))
    assert (row.t_s, row.note) == (Decimal("6.4"), "device clock 7 min 0 s ahead")


def test_readings_are_timed_from_contact_by_the_steady_clock(scene, trial):
    send(scene, trial, *steady_readings(), RUN[0])
    assert [(reading.t_s, str(reading.read_c)) for reading in trial_record(trial).temperature_readings] == [
        (Decimal(-65 + 10 * n), figure)
        for n, figure in enumerate(("850.4", "850.9", "850.2", "851.1", "850.6", "850.8", "850.4"))
    ]


def test_a_correction_of_contact_leaves_the_readings_on_their_clock(scene, trial):
    send(scene, trial, *readings("850.4", "850.9"), RUN[0])
    contact = Observation.objects.get(key=key(1))
    correct_observation(
        by=scene.technician,
        at=LATER,
        observation=contact,
        t_s=Decimal("1.0"),
        value="",
        strike=False,
        reason="late press",
    )
    assert [reading.t_s for reading in trial_record(trial).temperature_readings] == [Decimal(-65), Decimal(-55)]


def test_a_correction_is_a_new_row_with_its_reason_and_stands(scene, trial):
    send(scene, trial, *RUN)
    old = Observation.objects.get(key=key(6))
    new = correct_observation(
        by=scene.technician,
        at=LATER,
        observation=old,
        t_s=Decimal("48.0"),
        value="",
        strike=False,
        reason=" seen on video ",
    )
    assert (new.kind, new.t_s, new.replaces, new.reason, new.note, new.steady_s) == (
        "flame_out", Decimal("48.0"), old, "seen on video", "entered later", None,
    )  # fmt: skip
    entry = Entry.objects.get(act="corrected an observation")
    assert (entry.data["before"]["t_s"], entry.data["after"]["t_s"]) == ("45.2", "48.0")
    with pytest.raises(Refused, match="no longer stands"):
        correct_observation(
            by=scene.technician, at=LATER, observation=old, t_s=Decimal(1), value="", strike=False, reason="twice"
        )


def test_a_correction_is_taken_back_by_the_row_it_had_replaced(scene, trial):
    send(scene, trial, *RUN)

    def correct(row, **changes):
        arguments = {"t_s": None, "value": "", "strike": False, "reason": "looked again"} | changes
        return correct_observation(by=scene.technician, at=LATER, observation=row, **arguments)

    first = correct(Observation.objects.get(key=key(6)), t_s=Decimal("48.0"))
    second = correct(first, strike=True)
    assert (second.kind, second.t_s, second.replaces) == ("flame_out", Decimal("45.2"), first)
    answers = send(scene, trial, pressed(9, "taken_back", replaces=second.key, reason="x"))
    assert answers[0].sentence == "A correction is taken back by saying again what it had replaced."
    assert [
        row.t_s for row in trial_record(trial).observations if row.kind == "flame_out" and row.replaces is None
    ] == [Decimal("45.2")]


def test_a_struck_row_falls_away(scene, trial):
    send(scene, trial, *RUN)
    drip = Observation.objects.get(key=key(3))
    struck = correct_observation(
        by=scene.technician, at=LATER, observation=drip, t_s=None, value="", strike=True, reason="it was the lamp"
    )
    assert (struck.kind, struck.replaces) == ("taken_back", drip)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"reason": "  "}, "needs its reason"),
        ({}, "Nothing is changed"),
        ({"value": "blue"}, "'blue' is none of"),
        ({"t_s": None}, "the time is missing"),
    ],
)
def test_a_correction_that_says_nothing_is_refused(scene, trial, changes, words):
    send(scene, trial, *RUN)
    arguments = {"t_s": Decimal("6.4"), "value": "", "strike": False, "reason": "because"} | changes
    with pytest.raises(Refused, match=words):
        correct_observation(by=scene.technician, at=LATER, observation=Observation.objects.get(key=key(2)), **arguments)


def test_findings_come_all_or_none(scene, trial):
    with pytest.raises(Refused, match="yes or no is needed"):
        add_findings(
            by=scene.technician, at=LATER, trial_id=trial.pk, findings={"consumed": "no", "board_scorched": "a little"}
        )
    assert rows(trial) == []
    add_findings(by=scene.technician, at=LATER, trial_id=trial.pk, findings={"consumed": "no", "note": "smoked a lot"})
    assert [(row.kind, row.value, row.note) for row in Observation.objects.order_by("pk")] == [
        ("consumed", "no", "entered later"),
        ("note", "smoked a lot", "entered later"),
    ]


def test_a_late_entry_is_marked_and_has_no_bench_clock(scene, trial):
    row = add_late_observation(
        by=scene.technician, at=LATER, trial_id=trial.pk, kind="drip", t_s=Decimal("12.0"), value=""
    )
    assert (row.kind, row.t_s, row.steady_s, row.device_at, row.note) == (
        "drip", Decimal("12.0"), None, None, "entered later",
    )  # fmt: skip


def test_the_database_itself_refuses_to_change_a_row(scene, trial):
    send(scene, trial, RUN[0])
    with pytest.raises(DatabaseError, match="never changed"), transaction.atomic():
        Observation.objects.filter(key=key(1)).update(value="5")


@pytest.mark.django_db(transaction=True)
def test_parallel_senders_of_one_queue_write_each_row_once():
    scene = bench_scene(NOON)
    trial = opened_trial(scene)
    answers, barrier = [], threading.Barrier(4)

    def sender(events):
        try:
            barrier.wait()
            answers.extend(send(scene, trial, *events))
        finally:
            connection.close()

    queues = [RUN, RUN[:4], RUN[2:], list(reversed(RUN))]
    threads = [threading.Thread(target=sender, args=(events,)) for events in queues]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [one.status for one in answers] == ["saved"] * sum(map(len, queues))
    assert rows(trial) == EXPECTED
    assert list(ledger_faults()) == []

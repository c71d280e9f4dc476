"""Revisions of an edition's figures: counted, guarded, refused when stale, kept by the trials opened under them."""

import threading
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import DatabaseError, connection, transaction

from labsite.ledger.models import Entry
from labsite.ledger.refusals import Refused
from tests.factories.bench import METHOD, opened_trial
from tests.factories.ledger import NOON, LaboratoryFactory, UserFactory
from trials.actions.methods import confirm_edition, revise_sheet
from trials.models import ParameterSheet
from trials.queries.methods import edition_by_key, edition_confirmation, parameters_sha256, trial_edition
from trials.queries.sheets import line_confirmations, line_parameters, newest_edition, revision_history, sheet_edition

D = Decimal
TIGHTER = {"force_n": {"tolerance": D("0.05")}}
LATER = NOON + timedelta(hours=1)


@pytest.fixture
def lead(lab):
    return UserFactory.create(full_name="Lena Lead", roles=["lead"])


def revised(by, changes=TIGHTER, seen=0, at=NOON, reason="our copy says so"):
    return revise_sheet(by=by, at=at, method_key=METHOD, revision_seen=seen, changes=changes, reason=reason)


def test_a_revision_keeps_what_differs_and_enters_the_ledger(lead):
    asked = {**TIGHTER, "judge_consumed": {"value": True}}
    sheet = revised(lead, asked, reason=" our copy says so ")
    assert (sheet.revision, sheet.changes, sheet.reason) == (1, {"force_n": {"tolerance": "0.05"}}, "our copy says so")
    assert sheet.parameters_sha256 == parameters_sha256(newest_edition(METHOD)[1])
    entry = Entry.objects.get(act="revised the figures")
    assert entry.book.name == f"method:{METHOD}"
    assert entry.data["before"] == {"revision": 0, "changes": {}}
    assert entry.data["after"]["changes"] == sheet.changes


def test_the_next_revision_starts_from_what_was_delivered(lead):
    revised(lead)
    second = revised(lead, {"board_mm": {"low": D(12)}}, seen=1, at=LATER)
    assert (second.revision, second.changes) == (2, {"board_mm": {"low": "12"}})
    assert newest_edition(METHOD)[1].parameter("force_n").limit_text == "0.95 ± 0.10 N"


@pytest.mark.parametrize(
    ("changes", "seen", "reason", "sentence"),
    [
        ({}, 0, "why", "Nothing is changed: all figures are those of the newest revision."),
        (TIGHTER, 0, " ", "A new revision needs its reason."),
        (TIGHTER, 1, "why", "Somebody made revision 0 since this page was opened."),
        (
            {"force_n": {"tolerance": D(-1)}},
            0,
            "why",
            "Force of the tip on the specimen, tolerance: a tolerance is not below zero.",
        ),
        ({"weight": {"value": D(1)}}, 0, "why", "weight: 2-11:2021 has no figure of that name."),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_written(lead, changes, seen, reason, sentence):
    with pytest.raises(Refused) as refusal:
        revised(lead, changes, seen, reason=reason)
    assert refusal.value.sentence.startswith(sentence)
    assert (ParameterSheet.objects.count(), Entry.objects.filter(act="revised the figures").count()) == (0, 0)


def test_a_revision_made_meanwhile_is_not_overwritten(lead):
    revised(lead)
    with pytest.raises(Refused, match="Somebody made revision 1 since this page was opened"):
        revised(lead, {"board_mm": {"low": D(12)}}, seen=0)
    assert ParameterSheet.objects.get().changes == {"force_n": {"tolerance": "0.05"}}


def test_the_same_figures_again_are_no_revision(lead):
    revised(lead)
    with pytest.raises(Refused, match="Nothing is changed"):
        revised(lead, seen=1)


@pytest.mark.parametrize("role", ["quality", "technician", "signatory"])
def test_leads_and_the_quality_keeper_revise(lab, role):
    person = UserFactory.create(roles=[role])
    if role == "quality":
        assert revised(person).revision == 1
    else:
        with pytest.raises(Refused, match="Only a lead or the quality keeper"):
            revised(person)


@pytest.mark.parametrize(
    "statement", ["UPDATE trials_parametersheet SET reason = ''", "DELETE FROM trials_parametersheet"]
)
def test_the_database_itself_keeps_revisions(lead, statement):
    revised(lead)
    with (
        pytest.raises(DatabaseError, match="never changed or deleted"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement)


@pytest.mark.django_db(transaction=True)
def test_of_two_at_the_same_moment_one_is_let_through():
    LaboratoryFactory()
    leads = [UserFactory.create(roles=["lead"]) for _ in range(2)]
    gate, said = threading.Barrier(2), []

    def run(by, changes):
        try:
            gate.wait(timeout=20)
            said.append(f"revision {revised(by, changes).revision}")
        except Refused as refusal:
            said.append(refusal.sentence[:24])
        finally:
            connection.close()

    threads = [
        threading.Thread(target=run, args=(leads[0], TIGHTER)),
        threading.Thread(target=run, args=(leads[1], {"board_mm": {"low": D(12)}})),
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert sorted(said) == ["Somebody made revision 1", "revision 1"]
    assert ParameterSheet.objects.count() == 1


def test_a_confirmation_covers_one_revision(lead):
    delivered = parameters_sha256(edition_by_key(METHOD))
    confirm_edition(method_key=METHOD, seen_sha256=delivered, note="", by=lead, at=NOON)
    sheet = revised(lead, at=LATER)
    stale = edition_confirmation(METHOD)
    assert stale is not None
    assert not stale.current
    with pytest.raises(Refused, match="The figures changed since this page was opened"):
        confirm_edition(method_key=METHOD, seen_sha256=delivered, note="", by=lead, at=LATER)
    confirm_edition(method_key=METHOD, seen_sha256=sheet.parameters_sha256, note="", by=lead, at=LATER)
    again = edition_confirmation(METHOD)
    assert again is not None
    assert again.current
    newest, first = revision_history(METHOD)
    assert [one.confirmed and one.confirmed.current for one in (newest, first)] == [True, True]
    assert (newest.number, first.number) == (1, 0)
    assert [(one.title, one.before, one.after) for one in newest.differences] == [
        ("Force of the tip on the specimen", "0.95 ± 0.10 N", "0.95 ± 0.05 N")
    ]


def test_a_trial_keeps_the_figures_it_was_opened_under(scene):
    before = opened_trial(scene)
    revised(scene.lead, at=scene.at)
    after = opened_trial(scene, 1)
    assert (before.parameter_revision, before.parameter_changes) == (0, {})
    assert (after.parameter_revision, after.parameter_changes) == (1, {"force_n": {"tolerance": "0.05"}})
    limits = [trial_edition(one).parameter("force_n").limit_text for one in (before, after)]
    assert limits == ["0.95 ± 0.10 N", "0.95 ± 0.05 N"]


def test_what_was_agreed_for_the_order_lies_over_the_sheet(scene):
    revised(scene.lead, {"force_n": {"tolerance": D("0.05")}, "board_mm": {"low": D(12)}}, at=scene.at)
    scene.line.agreed_parameters = {"force_n": {"tolerance": "0.02"}, "judge_scorching": {"value": True}}
    scene.line.save()
    trial = opened_trial(scene)
    assert (trial.parameter_revision, trial.parameter_changes) == (
        1,
        {"board_mm": {"low": "12"}, "force_n": {"tolerance": "0.02"}, "judge_scorching": {"value": True}},
    )


def test_figures_for_a_moment_are_those_of_that_moment(scene):
    revised(scene.lead, at=LATER)
    assert line_parameters(scene.line, NOON) == (0, {})
    assert line_parameters(scene.line, LATER)[0] == 1


def test_an_agreement_the_edition_cannot_take_stops_the_opening(scene):
    scene.line.agreed_parameters = {"colour": {"value": "red"}}
    scene.line.save()
    with pytest.raises(Refused) as refusal:
        opened_trial(scene)
    assert refusal.value.sentence == (
        "What was agreed for this line does not fit the edition. colour: 2-11:2021 has no figure of that name."
    )


def test_a_line_is_confirmed_when_every_revision_of_its_trials_is(scene, django_assert_num_queries):
    sha = parameters_sha256(edition_by_key(METHOD))
    confirm_edition(method_key=METHOD, seen_sha256=sha, note="", by=scene.lead, at=scene.at)
    trials = [opened_trial(scene)]
    with django_assert_num_queries(2):
        assert line_confirmations([(scene.line, trials)])[scene.line.pk].current
    revised(scene.lead, at=scene.at)
    assert line_confirmations([(scene.line, trials)])[scene.line.pk].current
    trials.append(opened_trial(scene, 1))
    with django_assert_num_queries(2):
        assert not line_confirmations([(scene.line, trials)])[scene.line.pk].current


def test_an_unknown_revision_is_refused(db):
    assert sheet_edition(METHOD, 0) is edition_by_key(METHOD)
    with pytest.raises(Refused, match=r"^There is no revision 3 of the figures of 2-11:2021\.$"):
        sheet_edition(METHOD, 3)


def test_more_hours_of_conditioning_than_delivered_stop_the_opening(scene):
    revised(scene.lead, {"conditioning_h": {"low": D(48)}}, at=scene.at)
    with pytest.raises(Refused) as refusal:
        opened_trial(scene)
    assert refusal.value.sentence == "26-0001-002-5 is conditioned for 30 h; its figures ask for at least 48 h."

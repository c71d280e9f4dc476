"""Checking: by somebody else who may, of exactly what was looked at, again after a correction."""

from datetime import timedelta
from decimal import Decimal

import pytest

from labsite.ledger.models import Entry, RoleHolding
from labsite.ledger.refusals import Refused
from tests.factories.ledger import NOON, UserFactory
from tests.factories.trials import LATE_FLAME, authorised, checked, checker_for, run_trial, signed_trial
from trials.actions.checks import check_line, refusal_of_check
from trials.actions.observations import correct_observation
from trials.models import Check, Observation
from trials.queries.results import line_standing, line_state, lines_ready_for_certificate

CHECKED_AT = NOON + timedelta(hours=3)


def correct_flame_out(scene, trial, t_s):
    row = Observation.objects.get(trial=trial, kind="flame_out")
    return correct_observation(
        by=scene.technician, at=NOON + timedelta(hours=4), observation=row, t_s=Decimal(t_s), value="", strike=False,
        reason="read off the video",
    )  # fmt: skip


def test_the_states_of_a_line(scene):
    assert line_state(scene.line) == "to test"
    run_trial(scene)
    assert line_state(scene.line) == "under way"


def test_a_sound_check_makes_the_line_ready_for_a_certificate(scene):
    signed_trial(scene)
    assert (line_state(scene.line), lines_ready_for_certificate(scene.line.order)) == ("signed", [])
    checker = checker_for(scene)
    check = checked(scene.line, checker, CHECKED_AT)
    standing = line_standing(scene.line)
    assert (standing.state, standing.stale, standing.check) == ("checked", False, check)
    assert [one.line for one in lines_ready_for_certificate(scene.line.order)] == [scene.line]
    assert (check.verdict_ids, check.result["state"], check.authorisation and check.authorisation.person) == (
        standing.verdict_ids, "passed", checker,
    )  # fmt: skip
    entry = Entry.objects.get(act="checked the trials")
    assert (entry.book.name, entry.data["after"]["finding"]) == (scene.line.order.book, "sound")


def test_the_performer_never_checks(scene):
    signed_trial(scene)
    RoleHolding.objects.create(user=scene.technician, role="checker")
    authorised(scene.technician, "check", by=scene.lead, at=NOON)
    del scene.technician.roles
    with pytest.raises(Refused, match="You performed a trial of this line"):
        checked(scene.line, scene.technician, CHECKED_AT)
    assert Check.objects.count() == 0


def test_the_role_and_the_authorisation_are_both_needed(scene):
    signed_trial(scene)
    with pytest.raises(Refused, match="Only somebody with the checker’s role"):
        checked(scene.line, UserFactory.create(roles=["lead"]), CHECKED_AT)
    other = UserFactory.create(full_name="Cleo Checker", roles=["checker"])
    with pytest.raises(Refused) as refusal:
        checked(scene.line, other, CHECKED_AT)
    assert refusal.value.sentence == (
        "Cleo Checker is not authorised to check trials by 2-11:2021 on 10 Mar 2026. Nobody is."
    )


def test_there_must_be_something_to_check(scene):
    checker = checker_for(scene)
    assert refusal_of_check(line_standing(scene.line), checker, NOON) == (
        "There is nothing to check yet: Not started: 1 specimen to be tested at 850 °C."
    )
    run_trial(scene)
    with pytest.raises(Refused, match="There is nothing to check yet"):
        checked(scene.line, checker, CHECKED_AT)


def test_returning_needs_remarks_and_the_line_then_waits_for_the_technician(scene):
    signed_trial(scene)
    checker = checker_for(scene)
    with pytest.raises(Refused, match="Say what is to be looked at again") as refusal:
        checked(scene.line, checker, CHECKED_AT, finding="returned", remarks="  ")
    assert refusal.value.field == "remarks"
    checked(scene.line, checker, CHECKED_AT, finding="returned", remarks="the height is missing")
    assert (line_state(scene.line), lines_ready_for_certificate(scene.line.order)) == ("returned", [])
    checked(scene.line, checker, CHECKED_AT + timedelta(hours=1))
    assert line_state(scene.line) == "checked"


def test_a_checked_line_is_not_checked_twice(scene):
    signed_trial(scene)
    checked(scene.line, checker_for(scene), CHECKED_AT)
    with pytest.raises(Refused, match="Cleo Checker has checked these trials already"):
        checked(scene.line, checker_for(scene, "Carl Example"), CHECKED_AT)


def test_a_correction_after_the_check_makes_it_stale(scene):
    trial = signed_trial(scene, course=LATE_FLAME)
    checker = checker_for(scene)
    checked(scene.line, checker, CHECKED_AT)
    assert line_standing(scene.line).result.state == "failed"
    correct_flame_out(scene, trial, "54.3")
    standing = line_standing(scene.line)
    assert (standing.state, standing.stale, standing.result.state) == ("signed", True, "passed")
    assert lines_ready_for_certificate(scene.line.order) == []
    checked(scene.line, checker, CHECKED_AT + timedelta(hours=2))
    assert line_state(scene.line) == "checked"


def test_what_was_signed_while_the_checker_looked_is_said(scene):
    trial = signed_trial(scene, course=LATE_FLAME)
    seen = line_standing(scene.line).verdict_ids
    correct_flame_out(scene, trial, "54.3")
    with pytest.raises(Refused, match="A trial was signed anew since this page was opened"):
        check_line(
            line=scene.line, finding="sound", remarks="", seen_verdicts=seen, by=checker_for(scene), at=CHECKED_AT
        )


def test_an_open_trial_beside_the_signed_one_keeps_the_line_under_way(scene):
    signed_trial(scene)
    run_trial(scene, 1, first=500)
    assert line_state(scene.line) == "under way"

"""Signing: what the rule says is kept with its record, once; doubts come before; a correction is signed anew."""

from datetime import timedelta
from decimal import Decimal

import pytest

from labsite.ledger.models import Entry
from labsite.ledger.refusals import Refused
from tests.factories.bench import SETUP, key, opened_trial, pressed, readings, steady_readings
from tests.factories.ledger import NOON
from trials.actions.bench import enter_setup_values, open_trial
from trials.actions.observations import add_findings, correct_observation, record_events
from trials.actions.signing import judged, record_doubt, sign_trial
from trials.domain.verdicts import from_json, verdict_fingerprint
from trials.models import Doubt, Observation, SignedVerdict
from trials.queries.results import line_standing

LATER = NOON + timedelta(minutes=4)

NO_IGNITION = [pressed(1, "contact", "0.0"), pressed(5, "withdrawn", "30.0"), pressed(7, "watch_ends", "61.0")]


def burned_until(t_s: str, until: str = "61.0"):
    return [
        pressed(1, "contact", "0.0"),
        pressed(2, "ignites", "6.4"),
        pressed(5, "withdrawn", "30.0"),
        pressed(6, "flame_out", t_s),
        pressed(7, "watch_ends", until),
    ]


def run(scene, events, *, setup=SETUP, tip=None, findings=None):
    trial = opened_trial(scene)
    enter_setup_values(by=scene.technician, at=NOON, trial_id=trial.pk, values=setup)
    tip = steady_readings() if tip is None else tip
    record_events(by=scene.technician, at=LATER, trial_id=trial.pk, events=[*tip, *events])
    if findings:
        add_findings(by=scene.technician, at=LATER, trial_id=trial.pk, findings=findings)
    return trial


def sign(scene, trial, **changes):
    arguments = {"by": scene.technician, "at": LATER, "trial_id": trial.pk}
    if "looked_at" not in changes:
        arguments["looked_at"] = verdict_fingerprint(judged(trial)[1])
    return sign_trial(**(arguments | changes))


# The limits: t_e <= t_a + 30 s, a test laboratory's public page and a trade journal (parameter's source);
# time in contact 30 +/- 1 s, force 0.95 +/- 0.10 N: public text of the 2013 apparatus standard.
@pytest.mark.parametrize(
    ("events", "setup", "outcome", "sentence"),
    [
        (NO_IGNITION, SETUP, "pass", "Passed at 850 °C: no flame and no glow, and the layer did not catch."),
        (
            burned_until("60.0"), SETUP, "pass",
            "Passed at 850 °C: the flame was out at 60.0 s, and the layer did not catch.",
        ),
        (
            burned_until("60.1"), SETUP, "fail",
            "Failed at 850 °C: the flame ended at 60.1 s, 0.1 s after the limit of 60.0 s.",
        ),
        (
            burned_until("45.0"), SETUP | {"force_n": "0.75"}, "invalid",
            "Invalid at 850 °C: force 0.75 N is outside 0.95 ± 0.10 N.",
        ),
    ],
)  # fmt: skip
def test_the_rule_decides_and_the_signature_keeps_it(scene, events, setup, outcome, sentence):
    trial = run(scene, events, setup=setup, findings={"consumed": "no"})
    signed = sign(scene, trial)
    assert (signed.outcome, signed.sentence, signed.rule_version, signed.signed_by) == (
        outcome, sentence, "1", scene.technician,
    )  # fmt: skip
    assert from_json(signed.verdict) == judged(trial)[1]
    assert signed.record["setup"]["force_n"] == setup["force_n"]
    entry = Entry.objects.get(act="signed a trial")
    assert (entry.data["after"]["outcome"], entry.book.name) == (outcome, scene.line.order.book)


def test_out_of_tolerance_tip_is_invalid_and_never_a_fail(scene):
    trial = run(scene, burned_until("60.9"), tip=readings(*["830.0"] * 7), findings={"consumed": "no"})
    assert sign(scene, trial).sentence.startswith("Invalid at 850 °C: the tip stood at 830.0 °C at contact")


def test_what_is_unknown_stays_unknown_and_is_signed_with_a_reason_only(scene):
    events = [event for event in burned_until("45.0") if event.kind != "flame_out"]
    trial = run(scene, events, findings={"consumed": "no"})
    with pytest.raises(Refused, match="Say why it cannot be judged") as refusal:
        sign(scene, trial)
    assert refusal.value.field == "reason"
    signed = sign(scene, trial, reason="The lamp failed; nobody saw the flame go out.")
    assert (signed.outcome, signed.record["reason"]) == ("not judged", "The lamp failed; nobody saw the flame go out.")


def test_a_stopped_trial_before_contact_is_not_judged_and_leaves_the_specimen_usable(scene):
    stop = pressed(1, "note", value="chain of the clamp broke", note="stopped", steady_s=Decimal(20))
    trial = run(scene, [stop], tip=[])
    assert sign(scene, trial, reason="clamp broke").outcome == "not judged"
    again = open_trial(by=scene.technician, at=LATER, specimen=scene.specimens[0], instruments=scene.by_role())
    assert again.pk != trial.pk


def test_a_touched_specimen_is_not_tested_again(scene):
    sign(scene, run(scene, NO_IGNITION))
    with pytest.raises(Refused, match="was already tested"):
        open_trial(by=scene.technician, at=LATER, specimen=scene.specimens[0], instruments=scene.by_role())


def test_a_trial_that_goes_on_is_not_signed(scene):
    trial = run(scene, NO_IGNITION[:2])
    with pytest.raises(Refused, match="has not ended"):
        sign(scene, trial)


def test_nothing_is_signed_while_entries_wait_on_the_tablet(scene):
    trial = run(scene, NO_IGNITION)
    with pytest.raises(Refused, match="2 entries are not yet saved"):
        sign(scene, trial, unsaved=2)


def test_only_what_was_looked_at_is_signed(scene):
    trial = run(scene, NO_IGNITION)
    looked_at = verdict_fingerprint(judged(trial)[1])
    record_events(by=scene.technician, at=LATER, trial_id=trial.pk, events=[pressed(3, "drip", "12.0")])
    with pytest.raises(Refused, match="record changed since you looked"):
        sign(scene, trial, looked_at=looked_at)


def test_somebody_else_does_not_sign(scene):
    trial = run(scene, NO_IGNITION)
    with pytest.raises(Refused, match="Tess Technician performs this trial"):
        sign(scene, trial, by=scene.lead)


def test_a_trial_is_signed_once(scene):
    trial = run(scene, NO_IGNITION)
    sign(scene, trial)
    with pytest.raises(Refused, match="already signed"):
        sign(scene, trial)
    assert SignedVerdict.objects.filter(trial=trial).count() == 1


def test_entries_after_the_signature_are_refused_and_replays_of_saved_ones_are_answered(scene):
    trial = run(scene, NO_IGNITION)
    sign(scene, trial)
    answers = record_events(
        by=scene.technician, at=LATER, trial_id=trial.pk, events=[NO_IGNITION[0], pressed(3, "drip", "12.0")]
    )
    assert [one.status for one in answers] == ["saved", "refused"]
    assert answers[1].sentence.startswith("The verdict is signed. Enter this as a correction")


def test_a_correction_after_signing_is_judged_and_signed_anew_and_both_verdicts_stay(scene):
    trial = run(scene, burned_until("45.0"), findings={"consumed": "no"})
    sign(scene, trial)
    row = Observation.objects.get(key=key(6))
    correct_observation(
        by=scene.technician, at=LATER + timedelta(hours=1), observation=row, t_s=Decimal("60.5"), value="",
        strike=False, reason="the video shows a second flame",
    )  # fmt: skip
    verdicts = SignedVerdict.objects.filter(trial=trial).order_by("signed_at")
    assert [(one.outcome, one.record["reason"]) for one in verdicts] == [
        ("pass", ""),
        ("fail", "the video shows a second flame"),
    ]
    assert line_standing(scene.line).result.state == "failed"


def test_a_doubt_before_the_signature_asks_for_two_more(scene):
    trial = run(scene, NO_IGNITION)
    record_doubt(by=scene.technician, at=LATER, trial_id=trial.pk, reason="a draught was felt")
    sign(scene, trial)
    assert (line_standing(scene.line).result.state, line_standing(scene.line).result.needed) == (
        "more specimens needed",
        2,
    )


def test_a_doubt_never_covers_a_plain_fail(scene):
    trial = run(scene, burned_until("60.5"), findings={"consumed": "no"})
    with pytest.raises(Refused, match=r"plainly fails .* a doubt cannot cover that"):
        record_doubt(by=scene.technician, at=LATER, trial_id=trial.pk, reason="a draught was felt")
    assert not Doubt.objects.exists()


def test_a_doubt_after_the_signature_is_refused(scene):
    trial = run(scene, NO_IGNITION)
    sign(scene, trial)
    with pytest.raises(Refused, match="verdict on this trial is signed"):
        record_doubt(by=scene.technician, at=LATER, trial_id=trial.pk, reason="a draught was felt")

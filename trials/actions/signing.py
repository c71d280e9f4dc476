"""The end of a trial: a doubt before the verdict, the verdict as the rule gives it, and its signature."""

from datetime import datetime
from typing import Any

from django.db import transaction

from labsite.ledger.actions import record_entry
from labsite.ledger.models import User
from labsite.ledger.refusals import Refused
from trials.actions.bench import locked_trial, writable_trial
from trials.domain.line_result import Doubt as LineDoubt
from trials.domain.line_result import refusal_of_doubt
from trials.domain.record_json import record_to_json
from trials.domain.records import RecordError, TrialRecord
from trials.domain.verdicts import Verdict, to_json, verdict_fingerprint
from trials.models import Doubt, SignedVerdict, Trial
from trials.queries.authorisations import PERFORM, authorisation_needed
from trials.queries.bench import last_signed
from trials.queries.bench_page import rows_of, trial_phase
from trials.queries.methods import trial_edition
from trials.queries.records import trial_record
from trials.queries.results import specimen_text


def judged(trial: Trial) -> tuple[TrialRecord, Verdict]:
    """The trial's record and what the rule says about it now; refused when the record cannot be judged."""
    try:
        record = trial_record(trial)
        return record, trial_edition(trial).judge(record)
    except RecordError as wrong:
        raise Refused(f"The record cannot be judged as it stands. {wrong}") from None


@transaction.atomic
def record_doubt(*, by: User, at: datetime, trial_id: int, reason: str) -> Doubt:
    """Record the technician's doubt before the verdict is signed; refused over a plain fail."""
    trial = writable_trial(trial_id, by)
    if Doubt.objects.filter(trial=trial).exists():
        raise Refused("A doubt about this trial is already recorded; it stays.", field="reason")
    _, verdict = judged(trial)
    asked = LineDoubt(specimen_text(trial.specimen.number), reason, before_verdict=True)
    refusal = refusal_of_doubt(asked, verdict)
    if refusal is not None:
        raise Refused(refusal, field="reason")
    doubt = Doubt.objects.create(trial=trial, reason=reason.strip(), at=at, by=by)
    _entry(trial, "doubted a trial", by, at, {"after": {"reason": doubt.reason}})
    return doubt


@transaction.atomic
def sign_trial(
    *, by: User, at: datetime, trial_id: int, looked_at: str, unsaved: int = 0, reason: str = ""
) -> SignedVerdict:
    """Sign what the rule says; the performer does, once the trial has ended and all its rows are here.

    `looked_at` is the fingerprint of the verdict the person saw; `unsaved` counts rows still kept on their tablet.
    A trial that cannot be judged is signed as that, with the reason why nothing more will come.
    """
    trial = locked_trial(trial_id, by)
    if last_signed(trial) is not None:
        raise Refused("This trial is already signed. A correction of an observation signs it anew.")
    authorisation_needed(by, trial.method_key, PERFORM, at)
    if unsaved:
        raise Refused(f"{unsaved} entries are not yet saved and still kept on this tablet. Wait until they are here.")
    if trial_phase(rows_of(trial)) != "ended":
        raise Refused("The trial has not ended: end the watch, or stop it and say why, on the run page.")
    _, verdict = judged(trial)
    if looked_at != verdict_fingerprint(verdict):
        raise Refused("The record changed since you looked. Read the verdict below as it is now, then sign it.")
    if verdict.outcome == "not judged" and not reason.strip():
        raise Refused("Say why it cannot be judged and nothing more will be entered.", field="reason")
    return sign_anew(trial, by=by, at=at, reason=reason.strip())


def sign_anew(trial: Trial, *, by: User, at: datetime, reason: str) -> SignedVerdict:
    """Judge the trial as it stands and keep the verdict with its record; earlier verdicts stay."""
    record, verdict = judged(trial)
    signed = SignedVerdict.objects.create(
        trial=trial,
        outcome=verdict.outcome,
        sentence=verdict.sentence,
        record=record_to_json(record) | {"reason": reason},
        verdict=to_json(verdict),
        verdict_sha256=verdict_fingerprint(verdict),
        rule_version=str(verdict.rule_version),
        signed_at=at,
        signed_by=by,
    )
    after = {
        "verdict": signed.pk,
        "outcome": verdict.outcome,
        "sentence": verdict.sentence,
        "rule version": str(verdict.rule_version),
        "sha256": signed.verdict_sha256,
        "reason": reason,
    }
    _entry(trial, "signed a trial", by, at, {"after": after})
    return signed


def _entry(trial: Trial, act: str, by: User, at: datetime, data: dict[str, Any]) -> None:
    book = trial.job.order_line.order.book
    record_entry(book=book, act=act, by=by, at=at, data={"trial": trial.pk, **data})

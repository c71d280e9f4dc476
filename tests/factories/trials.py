"""Trials that ran and were signed, and people who may hand out, check and sign."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from labsite.ledger.models import User
from specimens.models import OrderLine
from tests.factories.bench import METHOD, SETUP, STEADY, Scene, opened_trial, pressed, readings
from tests.factories.ledger import UserFactory
from trials.actions.bench import enter_setup_values
from trials.actions.checks import check_line
from trials.actions.observations import BenchEvent, add_findings, record_events
from trials.actions.signing import judged, sign_trial
from trials.domain.verdicts import verdict_fingerprint
from trials.models import Authorisation, Check, SignedVerdict, Trial
from trials.queries.results import line_standing

NO_FLAME = (("contact", "0.0"), ("withdrawn", "30.0"), ("watch_ends", "61.0"))
LATE_FLAME = (
    ("contact", "0.0"), ("ignites", "6.4"), ("withdrawn", "30.0"), ("flame_out", "64.3"), ("watch_ends", "65.0"),
)  # fmt: skip


def authorised(
    person: User, activity: str, *, by: User, at: datetime, days_ago: int = 30, key: str = METHOD
) -> Authorisation:
    """An authorisation without a last day that began `days_ago`."""
    since = at - timedelta(days=days_ago)
    return Authorisation.objects.create(
        person=person, method_key=key, activity=activity, from_on=since.date(), granted_at=since, granted_by=by
    )


def checker_for(scene: Scene, name: str = "Cleo Checker") -> User:
    """Somebody who may check the scene's trials and performed none of them."""
    person = UserFactory.create(full_name=name, roles=["checker"])
    authorised(person, "check", by=scene.lead, at=scene.at)
    return person


def run_trial(
    scene: Scene, number: int = 0, course: Sequence[tuple[str, str]] = NO_FLAME, *, first: int = 1, **asked: Any
) -> Trial:
    """A trial on one of the scene's specimens that ran its course and is not signed; keys count up from `first`."""
    trial = opened_trial(scene, number, **asked)
    enter_setup_values(by=scene.technician, at=scene.at, trial_id=trial.pk, values=SETUP)
    events: list[BenchEvent] = readings(*STEADY, first=first + 100)
    events += [pressed(first + place, kind, t_s) for place, (kind, t_s) in enumerate(course)]
    record_events(by=scene.technician, at=scene.at + timedelta(minutes=4), trial_id=trial.pk, events=events)
    add_findings(
        by=scene.technician, at=scene.at + timedelta(minutes=5), trial_id=trial.pk, findings={"consumed": "no"}
    )
    return trial


def sign(scene: Scene, trial: Trial) -> SignedVerdict:
    """The technician signs what the rule says, ten minutes after the scene's moment."""
    return sign_trial(
        by=scene.technician,
        at=scene.at + timedelta(minutes=10),
        trial_id=trial.pk,
        looked_at=verdict_fingerprint(judged(trial)[1]),
    )


def signed_trial(
    scene: Scene, number: int = 0, course: Sequence[tuple[str, str]] = NO_FLAME, *, first: int = 1
) -> Trial:
    """A trial that ran its course and is signed."""
    trial = run_trial(scene, number, course, first=first)
    sign(scene, trial)
    return trial


def checked(line: OrderLine, by: User, at: datetime, *, finding: str = "sound", remarks: str = "") -> Check:
    """A check of the verdicts that hold now."""
    seen = line_standing(line).verdict_ids
    return check_line(line=line, finding=finding, remarks=remarks, seen_verdicts=seen, by=by, at=at)

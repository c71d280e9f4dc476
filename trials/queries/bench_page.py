"""What the script of the bench pages is told: the edition's fields and kinds, the rows so far, the clocks."""

from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.urls import reverse

from labsite.ledger.models import User
from trials.domain.applied_corrections import tip_reading_for
from trials.domain.criteria import digits
from trials.domain.methods.base import MethodEdition
from trials.domain.statements import ObservationKind, SetupField
from trials.domain.steps import TimedStep, timed_steps
from trials.models import Observation, Trial
from trials.queries.bench_setup import SetupState, limit_words, setup_json, steady_rule
from trials.queries.corrections import calibrated_uses
from trials.queries.methods import trial_edition
from trials.queries.records import READING_KIND, TAKEN_BACK_KIND
from trials.queries.setup_offers import Offer, setup_offers

NOTE_KIND = "note"
"""The kind of a free remark; a stop is such a remark, marked as a stop."""
STOP_MARK = "stopped"
"""How the note of a row begins that ends a trial before its time."""
TO_BE_SAID = "to be said"
"""The text of a remark that was timed at once and is named later."""


def rows_of(trial: Trial) -> list[Observation]:
    """All rows of a trial in the order in which they came."""
    return list(Observation.objects.filter(trial=trial).select_related("by", "replaces").order_by("pk"))


def standing_rows(rows: Sequence[Observation]) -> list[Observation]:
    """The rows that were neither corrected nor taken back, in order of time; rows without a time come last."""
    replaced = {row.replaces_id for row in rows}
    kept = [row for row in rows if row.pk not in replaced and row.kind != TAKEN_BACK_KIND]
    return sorted(kept, key=lambda row: (row.t_s is None, row.t_s or Decimal(0), row.pk))


def trial_phase(rows: Sequence[Observation]) -> str:
    """Where a trial stands by its rows: set-up, running or ended."""
    standing = standing_rows(rows)
    if any(row.kind == "watch_ends" or row.note.startswith(STOP_MARK) for row in standing):
        return "ended"
    return "running" if any(row.kind == "contact" for row in standing) else "setup"


def kinds_of(edition: MethodEdition) -> dict[str, ObservationKind]:
    """The edition's kinds of observation by key."""
    return {kind.key: kind for kind in edition.observation_kinds}


def page_json(
    trial: Trial, person: User, state: SetupState, rows: Sequence[Observation], at: datetime
) -> dict[str, Any]:
    """Everything the bench pages' script needs."""
    edition = trial_edition(trial)
    offers = setup_offers(trial, edition) if trial_phase(rows) == "setup" else {}
    names = ("events", "value", "state", "setup", "run", "sign")
    return {
        "trial": trial.pk,
        "person": person.pk,
        "mine": trial.opened_by_id == person.pk,
        "opened_ms": int(trial.opened_at.timestamp() * 1000),
        "server_ms": int(at.timestamp() * 1000),
        "urls": {name: reverse(f"trials:bench_{name}", args=[trial.pk]) for name in names},
        "severity": edition.severity_unit,
        "kinds": [_kind_json(kind) for kind in edition.observation_kinds],
        "fields": [_field_json(edition, one.field, offers.get(one.field.key)) for one in state.fields],
        "steps": [_step_json(step) for step in timed_steps(edition, trial.severity)],
        "beat": beat_json(edition),
        "names": {"heat": edition.heat_source, "layer": edition.layer_name, "burns": edition.burns},
        "steady": steady_json(trial, edition),
        "rows": [row_json(row) for row in rows],
        "state": setup_json(state),
    }


def beat_json(edition: MethodEdition) -> dict[str, str] | None:
    """What comes by itself at regular times and is counted by the clock."""
    if edition.beat is None:
        return None
    every = edition.parameter(edition.beat.every_s)
    least_s, _ = every.bounds
    every_s = edition.number(every.key)
    return {
        "title": edition.beat.title,
        "every_s": digits(every_s),
        "least_s": digits(every_s if least_s is None else least_s),
        "asked": edition.beat.asked,
        "last": edition.beat.last,
    }


def steady_json(trial: Trial, edition: MethodEdition) -> dict[str, str] | None:
    """The edition's rule on a steady temperature, with digits as stated."""
    rule = steady_rule(edition, trial.severity)
    if rule is None:
        return None
    uses = calibrated_uses(trial)
    low_c, high_c = rule.set_c - rule.tolerance_k, rule.set_c + rule.tolerance_k
    reads, low, high = (tip_reading_for(uses, one) for one in (rule.set_c, low_c, high_c))
    corrected = reads is not None and low is not None and high is not None
    return {
        "title": rule.title,
        "window_s": digits(rule.window_s),
        "spread_k": digits(rule.spread_k),
        "gap_s": digits(rule.gap_s),
        "set_c": digits(rule.set_c),
        "tolerance_k": digits(rule.tolerance_k),
        "reading": READING_KIND,
        # as the display shows them: what is drawn and aimed at is read there, what is judged is corrected
        "reads_c": digits(reads if corrected and reads is not None else rule.set_c),
        "low_c": digits(low if corrected and low is not None else low_c),
        "high_c": digits(high if corrected and high is not None else high_c),
    }


def row_json(row: Observation) -> dict[str, Any]:
    """One row as the script keeps it."""
    return {
        "key": str(row.key),
        "kind": row.kind,
        "steady_s": None if row.steady_s is None else digits(row.steady_s),
        "t_s": None if row.t_s is None else digits(row.t_s),
        "value": row.value,
        "note": row.note,
        "device_at": None if row.device_at is None else row.device_at.isoformat(),
        "replaces": None if row.replaces is None else str(row.replaces.key),
        "reason": row.reason,
    }


def _step_json(step: TimedStep) -> dict[str, Any]:
    return {key: digits(value) if isinstance(value, Decimal) else value for key, value in asdict(step).items()}


def _kind_json(kind: ObservationKind) -> dict[str, Any]:
    return {
        "key": kind.key,
        "title": kind.title,
        "value_kind": kind.value_kind,
        "optional": kind.value_optional,
        "unit": kind.unit,
        "choices": list(kind.choices),
        "timed": kind.timed,
        "repeats": kind.repeats,
        "ends": kind.ends,
        "when": kind.when,
        "digit": kind.digit,
        "prompt": kind.prompt,
    }


def _field_json(edition: MethodEdition, field: SetupField, offer: Offer | None) -> dict[str, Any]:
    return {
        "key": field.key,
        "title": field.title,
        "kind": field.kind,
        "unit": field.unit,
        "limit": limit_words(edition.parameter(field.parameter)) if field.parameter else "",
        "wanted": edition.parameter(field.parameter).limit_text if field.parameter and field.kind == "yes-no" else "",
        "choices": list(field.choices),
        "required": field.required,
        "rig": field.stays_with_rig,
        "digit": field.digit,
        "prompt": field.prompt,
        "offered": "" if offer is None else offer.value,
        "why": "" if offer is None else offer.why,
    }

"""Observations as they come from a bench device: each row once, in order, never changed, corrected by later rows."""

import uuid
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db import transaction

from labsite.ledger.actions import record_entry
from labsite.ledger.fields import typed_decimal
from labsite.ledger.models import User
from labsite.ledger.refusals import Refused
from trials.actions.bench import locked_trial
from trials.actions.signing import sign_anew
from trials.domain.criteria import Value
from trials.domain.methods.base import MethodEdition
from trials.domain.record_checks import check_observation
from trials.domain.records import Observation as RecordRow
from trials.domain.records import RecordError, checked_number
from trials.models import Observation, SignedVerdict, Trial
from trials.queries.bench_page import kinds_of
from trials.queries.methods import trial_edition
from trials.queries.reading_doubt import reading_doubt
from trials.queries.records import READING_KIND, TAKEN_BACK_KIND, typed_value

CLOCKS_AGREE_S = 2
"""A device whose clock differs by more is marked on the row."""
TENTH = Decimal("0.1")
LATER = "entered later"
"""The remark on a row that was not taken at the bench clock."""


@dataclass(frozen=True, slots=True)
class BenchEvent:
    """One press as the device kept it; `replaces` is the key of the row it corrects or takes back."""

    key: uuid.UUID
    kind: str
    steady_s: Decimal | None = None
    t_s: Decimal | None = None
    value: str = ""
    note: str = ""
    device_at: datetime | None = None
    replaces: uuid.UUID | None = None
    reason: str = ""


@dataclass(frozen=True, slots=True)
class EventAnswer:
    """What became of one event: saved now, saved before, refused with a sentence, or not looked at."""

    key: uuid.UUID
    status: str
    sentence: str = ""


@transaction.atomic
def record_events(
    *, by: User, at: datetime, trial_id: int, events: Sequence[BenchEvent], sent_at: datetime | None = None
) -> list[EventAnswer]:
    """Write down events in the order of the device's queue; each key counts once, however often it is sent.

    The first event that cannot be taken stops the queue: it is answered with the reason, the rest are not looked at.
    `sent_at` is the device's clock at sending, from which its offset to `at` is marked where they differ.
    """
    trial = locked_trial(trial_id, by)
    edition = trial_edition(trial)
    offset_s = 0.0 if sent_at is None else (sent_at - at).total_seconds()
    answers: list[EventAnswer] = []
    written: list[Observation] = []
    for place, event in enumerate(events):
        try:
            if not _stored(trial, event):
                written.append(_new_row(trial, edition, event, by=by, at=at, offset_s=offset_s))
        except Refused as refusal:
            answers.append(EventAnswer(event.key, "refused", refusal.sentence))
            answers += [EventAnswer(later.key, "waits") for later in events[place + 1 :]]
            break
        answers.append(EventAnswer(event.key, "saved"))
    if written:
        _entry(trial, "recorded at the bench", by, at, {"after": [_row_data(row) for row in written]})
    return answers


@transaction.atomic
def add_late_observation(
    *, by: User, at: datetime, trial_id: int, kind: str, t_s: Decimal | None, value: str
) -> Observation:
    """Enter an observation after the trial, from memory or paper; it is marked as entered later."""
    trial = locked_trial(trial_id, by)
    event = BenchEvent(uuid.uuid4(), kind, t_s=t_s, value=value, note=LATER)
    row = _new_row(trial, trial_edition(trial), event, by=by, at=at, offset_s=0.0)
    _entry(trial, "entered an observation later", by, at, {"after": [_row_data(row)]})
    return row


@transaction.atomic
def add_findings(*, by: User, at: datetime, trial_id: int, findings: Mapping[str, str]) -> list[Observation]:
    """Enter what was looked at after the trial, by kind; all of it or, on a refusal, nothing."""
    return [
        add_late_observation(by=by, at=at, trial_id=trial_id, kind=kind, t_s=None, value=value)
        for kind, value in findings.items()
    ]


@transaction.atomic
def correct_observation(
    *, by: User, at: datetime, observation: Observation, t_s: Decimal | None, value: str, strike: bool, reason: str
) -> Observation:
    """Correct a row, or strike it, by a new row with a reason; a signed trial is judged and signed anew."""
    trial = locked_trial(observation.trial_id, by)
    if not reason.strip():
        raise Refused("A correction needs its reason.", field="reason")
    if observation.kind == TAKEN_BACK_KIND or Observation.objects.filter(replaces=observation).exists():
        raise Refused("This row no longer stands; correct the row that holds now.")
    if not strike and (t_s, value) == (observation.t_s, observation.value):
        raise Refused("Nothing is changed: write another time or value, or strike the row.")
    before = observation.replaces
    if strike and before is None:
        kind, t_s, value = TAKEN_BACK_KIND, None, ""
    elif strike and before is not None:  # a correction is taken back by saying again what it had replaced
        kind, t_s, value = before.kind, before.t_s, before.value
    else:
        kind = observation.kind
    # Contact is the zero of the readings' clock: its correction stays comparable with them.
    zero = kind == "contact"
    event = BenchEvent(
        uuid.uuid4(),
        kind,
        steady_s=observation.steady_s if zero else None,
        device_at=observation.device_at if zero else None,
        t_s=t_s,
        value=value,
        note=LATER,
        replaces=observation.key,
        reason=reason.strip(),
    )
    row = _new_row(trial, trial_edition(trial), event, by=by, at=at, offset_s=0.0, signed_too=True)
    data = {"before": _row_data(observation), "after": _row_data(row)}
    _entry(trial, "corrected an observation", by, at, data)
    if SignedVerdict.objects.filter(trial=trial).exists():
        sign_anew(trial, by=by, at=at, reason=reason.strip())
    return row


def _stored(trial: Trial, event: BenchEvent) -> bool:
    """Whether this key was saved before; refused when the same key comes with something else."""
    row = Observation.objects.filter(key=event.key).select_related("replaces").first()
    if row is None:
        return False
    replaced = None if row.replaces is None else row.replaces.key
    same = (row.trial_id, row.kind, row.t_s, row.value, replaced)
    if same != (trial.pk, event.kind, event.t_s, _plain_value(trial, event), event.replaces):
        raise Refused("An entry with the same key and another content was saved before. Tell the administrator.")
    return True


def _new_row(
    trial: Trial,
    edition: MethodEdition,
    event: BenchEvent,
    *,
    by: User,
    at: datetime,
    offset_s: float,
    signed_too: bool = False,
) -> Observation:
    if not signed_too and SignedVerdict.objects.filter(trial=trial).exists():
        raise Refused(
            "The verdict is signed. Enter this as a correction on the trial’s page; it is kept here until then."
        )
    replaced = _replaced_row(trial, event)
    value = _plain_value(trial, event)
    _check(edition, event, value)
    _check_times(trial, event)
    remarks = (event.note, *_clock_remarks(event, offset_s), reading_doubt(trial, event.kind, value, event.steady_s))
    times: dict[str, Any] = {"steady_s": event.steady_s, "t_s": event.t_s}  # columns keep a Decimal's digits
    return Observation.objects.create(
        trial=trial,
        key=event.key,
        kind=event.kind,
        **times,
        value=value,
        note="; ".join(part for part in remarks if part)[:300],
        device_at=event.device_at,
        received_at=at,
        by=by,
        replaces=replaced,
        reason=event.reason,
    )


def _replaced_row(trial: Trial, event: BenchEvent) -> Observation | None:
    if event.replaces is None:
        if event.kind == TAKEN_BACK_KIND:
            raise Refused("An entry that takes something back must name it.")
        return None
    row = Observation.objects.filter(trial=trial, key=event.replaces).first()
    if row is None:
        raise Refused("This entry changes one that has not arrived here.")
    if not event.reason:
        raise Refused("An entry that changes another one must give a reason.")
    if Observation.objects.filter(replaces=row).exists():
        raise Refused("The entry it changes was already corrected or taken back.")
    if event.kind == TAKEN_BACK_KIND and row.replaces_id is not None:
        raise Refused("A correction is taken back by saying again what it had replaced.")
    return row


def _plain_value(trial: Trial, event: BenchEvent) -> str:
    """The value as kept: numbers with a point."""
    kind = kinds_of(trial_edition(trial)).get(event.kind)
    number = event.kind == READING_KIND or (kind is not None and kind.value_kind == "number")
    return event.value.replace(",", ".") if number else event.value


def _check(edition: MethodEdition, event: BenchEvent, value: str) -> None:
    """Refuse what the edition does not know, in the domain's words."""
    if event.kind == TAKEN_BACK_KIND:
        return
    try:
        if event.kind == READING_KIND:
            if _typed(value, "number", "temperature reading") is None or event.steady_s is None:
                raise RecordError("temperature reading: the figure or its moment is missing.")
            return
        kind = kinds_of(edition).get(event.kind)
        typed = _typed(value, kind.value_kind if kind else "text", f"observation {kind.title if kind else event.kind}")
        check_observation(edition, RecordRow(str(event.key)[:8], event.kind, event.t_s, typed))
    except RecordError as wrong:
        raise Refused(str(wrong)) from None


def _typed(value: str, kind: str, place: str) -> Value:
    """The value as the judge reads it; a number is digits with one decimal mark, as a person types or a key sends it.

    Stricter than what is read back from the rows: other ways of writing a number are never taken in.
    """
    typed = typed_value(value, kind, place)
    if isinstance(typed, Decimal):
        checked_number(typed, place)
        try:
            typed_decimal(value, thousandths=True)
        except ValueError as wrong:
            raise RecordError(f"{place}: {wrong}") from None
    return typed


def _check_times(trial: Trial, event: BenchEvent) -> None:
    """Refuse an event whose two figures on the steady clock contradict each other."""
    if event.steady_s is None or event.t_s is None or event.kind == "contact":
        return
    taken_back = Observation.objects.filter(kind=TAKEN_BACK_KIND).values("replaces")
    contact = Observation.objects.filter(trial=trial, kind="contact", replaces=None).exclude(pk__in=taken_back).first()
    if contact is None or contact.steady_s is None:
        return
    told_s = event.steady_s - contact.steady_s
    if abs(told_s - event.t_s) > 2 * TENTH:
        raise Refused(
            f"The times of this entry contradict each other: {event.t_s} s from contact by one clock, {told_s} s by "
            "the other. It is kept on this tablet; enter it as a late entry after the trial."
        )


def _clock_remarks(event: BenchEvent, offset_s: float) -> Iterator[str]:
    if event.device_at is not None and abs(offset_s) > CLOCKS_AGREE_S:
        yield f"device clock {timedelta_words(offset_s)}"


def timedelta_words(offset_s: float) -> str:
    """How far a device's clock is off: 7 min 0 s ahead."""
    minutes, seconds = divmod(int(timedelta(seconds=abs(offset_s)).total_seconds()), 60)
    size = f"{minutes} min {seconds} s" if minutes else f"{seconds} s"
    return f"{size} {'ahead' if offset_s > 0 else 'behind'}"


def _row_data(row: Observation) -> dict[str, Any]:
    return {
        "key": str(row.key),
        "kind": row.kind,
        "t_s": None if row.t_s is None else format(row.t_s, "f"),
        "value": row.value,
        "note": row.note,
        "replaces": None if row.replaces is None else str(row.replaces.key),
        "reason": row.reason,
    }


def _entry(trial: Trial, act: str, by: User, at: datetime, data: dict[str, Any]) -> None:
    record_entry(book=trial.job.order_line.order.book, act=act, by=by, at=at, data={"trial": trial.pk, **data})

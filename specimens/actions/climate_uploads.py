"""A recorder's file that leaves something open: kept, answered, or set aside."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction

from calibration.models import Instrument
from labsite.ledger.actions import record_entry
from labsite.ledger.models import Place, User
from labsite.ledger.refusals import Refused
from specimens.actions.climate import (
    ClimateSource,
    attach_source,
    chamber_book,
    kept_file,
    record_of_same_file,
)
from specimens.domain.climate_answers import Answers, ClimateRefused
from specimens.models import ClimateRecord, ClimateUpload


@dataclass(frozen=True, slots=True)
class BroughtIn:
    """What became of a file: a record, or an upload whose questions are open; the other one is None."""

    record: ClimateRecord | None = None
    upload: ClimateUpload | None = None


def bring_in_climate_file(
    *, by: User, at: datetime, chamber: Place, recorder: Instrument, name: str, content: bytes
) -> BroughtIn:
    """Attach a recorder's file, or keep it beside its open questions when only a person can settle them.

    Refused with a sentence, and nothing kept, when no answer would make it readable. The file is read before the
    transaction begins, because reading a large one takes seconds and must not hold up other people's writing.
    """
    source = ClimateSource(chamber, recorder, name, content)
    try:
        return BroughtIn(record=attach_source(source, Answers(), by=by, at=at))
    except ClimateRefused as refusal:
        if not refusal.questions:
            raise Refused(refusal.sentence, field="file") from refusal
        return BroughtIn(upload=_keep_upload(source, refusal, by=by, at=at))


def answer_climate_questions(*, by: User, at: datetime, upload: ClimateUpload, answers: Mapping[str, Any]) -> BroughtIn:
    """Read a kept file again with what a person answered: the record, or the upload with the next questions."""
    source = ClimateSource(upload.chamber, upload.recorder, upload.file.name, bytes(upload.file.content), upload.file)
    if upload.closed_at is not None:
        first = record_of_same_file(source, at)
        if first is None:
            raise Refused("Somebody set this file aside in the meantime.")
        return BroughtIn(record=first)
    try:
        record = attach_source(source, Answers.from_json(answers), by=by, at=at)
    except ClimateRefused as refusal:
        if not refusal.questions:
            raise Refused(refusal.sentence) from refusal
        upload.answers, upload.open = dict(answers), _open(refusal, upload.open)
        upload.save(update_fields=["answers", "open"])
        return BroughtIn(upload=upload)
    _close(upload, by=by, at=at)
    return BroughtIn(record=record)


def set_upload_aside(*, by: User, at: datetime, upload: ClimateUpload) -> ClimateUpload:
    """Do without a file whose questions nobody can answer; its bytes stay kept."""
    with transaction.atomic():
        if not _close(upload, by=by, at=at):
            raise Refused("Somebody answered this or set the file aside in the meantime.")
        data = {"file": upload.file.name, "sha256": upload.file.sha256}
        record_entry(book=chamber_book(upload.chamber), act="set a climate file aside", by=by, at=at, data=data)
    return upload


@transaction.atomic
def _keep_upload(source: ClimateSource, refusal: ClimateRefused, *, by: User, at: datetime) -> ClimateUpload:
    Place.objects.select_for_update().get(pk=source.chamber.pk)
    waiting = ClimateUpload.objects.filter(
        chamber=source.chamber, recorder=source.recorder, file__sha256=source.sha256, closed_at=None
    ).first()
    if waiting is not None:
        return waiting
    upload = ClimateUpload.objects.create(
        chamber=source.chamber,
        recorder=source.recorder,
        file=kept_file(source, by=by, at=at),
        open=_open(refusal, {}),
        at=at,
        by=by,
    )
    data = {"file": source.name, "sha256": source.sha256, "open": [question.key for question in refusal.questions]}
    record_entry(book=chamber_book(source.chamber), act="brought in a climate file", by=by, at=at, data=data)
    return upload


def _close(upload: ClimateUpload, *, by: User, at: datetime) -> bool:
    changed = ClimateUpload.objects.filter(pk=upload.pk, closed_at=None).update(closed_at=at, closed_by=by)
    return changed == 1


def _open(refusal: ClimateRefused, before: Mapping[str, Any]) -> dict[str, Any]:
    """The questions as data; earlier ones stay, so that an earlier answer can be changed."""
    asked = {question["key"]: question for question in before.get("questions", [])}
    for question in refusal.questions:
        options = [[option.value, option.label] for option in question.options]
        asked[question.key] = {"key": question.key, "text": question.text, "options": options}
    latest = [question.key for question in refusal.questions]
    return {
        "sentence": refusal.sentence,
        "questions": list(asked.values()),
        "latest": latest,
        "understood": refusal.understood,
    }

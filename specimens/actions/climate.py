"""Attaching a recorder's file to a chamber, withdrawing a record, explaining a stretch."""

import hashlib
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction

from calibration.domain.due import usable_until
from calibration.models import Instrument, InstrumentKind
from calibration.queries.usability import usability
from labsite.ledger.actions import keep_file, record_entry
from labsite.ledger.models import Place, StoredFile, User
from labsite.ledger.queries import laboratory_zone
from labsite.ledger.refusals import Refused
from specimens.domain.climate_answers import Answers, ClimateRefused, Question
from specimens.domain.climate_archive import archived
from specimens.domain.climate_file import read_climate_file
from specimens.domain.climate_reading import ClimateReading
from specimens.domain.climate_series import ConflictingRecords, merged
from specimens.domain.conditioning_words import moment_text
from specimens.models import ClimateRecord, StretchExplanation
from specimens.queries.climate import decoded_series, records_known
from specimens.rendering.climate_understood import understood_data

LARGEST_FILE_BYTES = 100 * 1024 * 1024
_CLOCK_TOLERANCE = timedelta(minutes=5)
"""By how much a recorder's clock may run ahead before its readings count as readings from the future."""
_FIRST_ANSWERS = Answers()


@dataclass(frozen=True, slots=True)
class ClimateSource:
    """A file with where it stood and by what it was recorded."""

    chamber: Place
    recorder: Instrument
    name: str
    content: bytes
    kept: StoredFile | None = None

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.content).hexdigest()


def attach_climate_record(
    *,
    by: User,
    at: datetime,
    chamber: Place,
    recorder: Instrument,
    name: str,
    content: bytes,
    answers: Answers = _FIRST_ANSWERS,
) -> ClimateRecord:
    """Attach a recorder's file to a chamber; the same file for the same chamber again leads to the first record.

    Raises ClimateRefused, with questions where a person's answers would help.
    """
    return attach_source(ClimateSource(chamber, recorder, name, content), answers, by=by, at=at)


@transaction.atomic
def withdraw_climate_record(*, by: User, at: datetime, record: ClimateRecord, reason: str) -> ClimateRecord:
    """Let a record no longer count, with the reason; the record and its file stay readable."""
    found = ClimateRecord.objects.select_for_update().defer("series").get(pk=record.pk)
    if found.withdrawn_at is not None:
        raise Refused("This record is withdrawn already.")
    found.withdrawn_at, found.withdrawn_by, found.withdrawn_reason = at, by, reason
    found.save(update_fields=["withdrawn_at", "withdrawn_by", "withdrawn_reason"])
    data = {"record": found.pk, "sha256": found.file.sha256, "reason": reason}
    record_entry(book=chamber_book(found.chamber), act="withdrew a climate record", by=by, at=at, data=data)
    return found


@transaction.atomic
def explain_stretch(
    *, by: User, at: datetime, chamber: Place, from_at: datetime, until_at: datetime, text: str
) -> StretchExplanation:
    """Say why a stretch of a chamber's record did not count; a later explanation replaces an earlier one on screen."""
    if not from_at < until_at:
        raise Refused("A stretch ends after it begins.")
    if from_at > at:
        raise Refused("This stretch is still to come.")
    row = StretchExplanation.objects.create(
        chamber=chamber, from_at=from_at, until_at=until_at, text=text, at=at, by=by
    )
    data = {"from": from_at.isoformat(), "until": until_at.isoformat(), "after": {"text": text}}
    record_entry(book=chamber_book(chamber), act="explained a stretch", by=by, at=at, data=data)
    return row


def attach_source(source: ClimateSource, answers: Answers, *, by: User, at: datetime) -> ClimateRecord:
    """Read a file outside any transaction, then write its record."""
    first = record_of_same_file(source, at)
    if first is not None:
        return first
    if source.recorder.kind != InstrumentKind.HYGROMETER:
        raise Refused(f"{source.recorder.code} does not record temperature and humidity.", field="recorder")
    if len(source.content) > LARGEST_FILE_BYTES:
        raise Refused(
            f"“{source.name}” is larger than {LARGEST_FILE_BYTES // 1024**2} MB; export it in parts.", field="file"
        )
    reading = read_climate_file(source.content, file_name=source.name, zone=str(laboratory_zone()), answers=answers)
    _refuse_future(reading, source, at)
    series = archived(reading.series)
    with transaction.atomic():
        # one record at a time for a chamber: two people may bring the same file in
        Place.objects.select_for_update().get(pk=source.chamber.pk)
        first = record_of_same_file(source, at)
        if first is not None:
            return first
        _refuse_contradiction(reading, source, at)
        return _write(source, reading, series, by=by, at=at)


def _write(source: ClimateSource, reading: ClimateReading, series: bytes, *, by: User, at: datetime) -> ClimateRecord:
    counts_until, reason = _counted_part(source.recorder, reading)
    held = usability(source.recorder, reading.first_at).calibration_id
    record = ClimateRecord.objects.create(
        chamber=source.chamber,
        recorder=source.recorder,
        file=source.kept or kept_file(source, by=by, at=at),
        answers=reading.answers.to_json(),
        understood=understood_data(reading),
        first_at=reading.first_at,
        last_at=reading.last_at,
        rows=reading.rows,
        interval_s=reading.interval.total_seconds() if reading.interval else None,
        series=series,
        series_sha256=hashlib.sha256(series).hexdigest(),
        calibration_id=held,
        counts_until=counts_until,
        uncounted_reason=reason,
        attached_at=at,
        attached_by=by,
    )
    data = {
        "record": record.pk,
        "file": source.name,
        "sha256": source.sha256,
        "recorder": source.recorder.code,
        "answers": record.answers,
        "rows": record.rows,
        "first": record.first_at.isoformat(),
        "last": record.last_at.isoformat(),
        "calibration": held,
        "counts until": counts_until.isoformat() if counts_until else None,
    }
    record_entry(book=chamber_book(source.chamber), act="attached a climate record", by=by, at=at, data=data)
    return record


def _counted_part(recorder: Instrument, reading: ClimateReading) -> tuple[datetime | None, str]:
    """Until when the readings count (None: all of them), and why not further.

    A recorder whose calibration ran out on the way counts to the end of its due day; one that was not usable at the
    first reading, or was taken out of service on the way, gives a record that does not count at all.
    """
    begin, end = usability(recorder, reading.first_at), usability(recorder, reading.last_at)
    if not begin.usable:
        return reading.first_at, f"{recorder.code} could not be used at the first reading: {begin.clause}."
    if end.usable:
        return None, ""
    due = usable_until(end.due_on, laboratory_zone()) if end.due_on else None
    if due is not None and reading.first_at < due <= reading.last_at:
        return due, f"{recorder.code}: {end.clause}."
    return reading.first_at, f"{recorder.code} could not be used at the last reading: {end.clause}."


def _refuse_future(reading: ClimateReading, source: ClimateSource, at: datetime) -> None:
    if reading.last_at <= at + _CLOCK_TOLERANCE:
        return
    zone = laboratory_zone()
    sentence = (
        f"The last reading of {source.name} would be from {moment_text(reading.last_at, zone, at)}, and it is "
        f"{moment_text(at, zone, at)} now."
    )
    text = f"{sentence} Which offset from UTC did the recorder’s clock have, such as +01:00?"
    raise ClimateRefused(sentence, questions=(Question("utc_offset", text),), understood=understood_data(reading))


def _refuse_contradiction(reading: ClimateReading, source: ClimateSource, at: datetime) -> None:
    """Records of one recorder that overlap must agree, so that they can always be merged."""
    others = list(
        records_known(at).filter(
            chamber=source.chamber,
            recorder=source.recorder,
            first_at__lte=reading.last_at,
            last_at__gte=reading.first_at,
        )
    )
    if not others:
        return
    series = decoded_series(others)
    try:
        merged(reading.series, *(series[other.series_sha256] for other in others))
    except ConflictingRecords as conflict:
        raise Refused(
            f"{source.name} contradicts a record that is attached to {source.chamber.code} already. {conflict} "
            "Withdraw the wrong one first, or choose the recorder this file came from.",
            field="file",
        ) from conflict


def record_of_same_file(source: ClimateSource, at: datetime) -> ClimateRecord | None:
    """The record that holds the same bytes for the same chamber, or None."""
    return records_known(at).filter(chamber=source.chamber, file__sha256=source.sha256).order_by("pk").first()


def kept_file(source: ClimateSource, *, by: User, at: datetime) -> StoredFile:
    """Keep the bytes as they came; any media type but a picture's is only ever downloaded."""
    media_type = "text/csv" if source.name.casefold().endswith(".csv") else "application/octet-stream"
    return keep_file(name=source.name, media_type=media_type, content=source.content, by=by, at=at)


def chamber_book(chamber: Place) -> str:
    """The chamber's book in the ledger."""
    return f"place:{chamber.code}"

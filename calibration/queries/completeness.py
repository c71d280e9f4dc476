"""How complete the records of instruments are at a moment: a constant number of reads for any number of them."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime
from zoneinfo import ZoneInfo

from calibration.domain.due import day_at
from calibration.domain.record_completeness import (
    CalibrationRecord,
    Completeness,
    PointFact,
    RecordFacts,
    record_completeness,
)
from calibration.domain.status import shown
from calibration.models import Calibration, Instrument, InstrumentEvent, InstrumentKind, InstrumentLimit
from calibration.queries.events import HAPPENED, Kind, gone_of, lacking_proofs
from calibration.queries.instruments import mountings_at
from calibration.queries.usability import Usability
from labsite.ledger.queries import laboratory_zone

WITHOUT_SOFTWARE = (InstrumentKind.THERMOCOUPLE, InstrumentKind.LENGTH_GAUGE)
"""Kinds that have no software; a length gauge with a display says its version all the same. Common practice."""
_LEFT_OUT = (Kind.MOVED, Kind.MAINTAINED)


def completeness_of(
    instruments: Iterable[Instrument], answers: Mapping[int, Usability], at: datetime
) -> dict[int, Completeness]:
    """Each instrument's record as it stood at `at`, by primary key; `answers` are the usabilities of that moment.

    Eleven reads however many there are. The instruments' own facts are taken as they are given.
    """
    instruments = list(instruments)
    keys = [one.pk for one in instruments]
    records = _calibration_records(answers, laboratory_zone())
    limits = _limit_counts(keys, at)
    rigs = {mounting.instrument_id: mounting.rig.code for mounting in mountings_at(at).filter(instrument__in=keys)}
    gone, unanswered = gone_of(keys, at), lacking_proofs(keys, at)
    events = defaultdict(list)
    for event in InstrumentEvent.objects.filter(instrument__in=keys, at__lte=at):
        events[event.instrument_id].append(event)
    return {
        one.pk: record_completeness(
            _facts(
                one, records.get(one.pk), limits[one.pk], rigs.get(one.pk, ""), events[one.pk], gone.get(one.pk),
                unanswered[one.pk],
            )
        )
        for one in instruments
    }  # fmt: skip


def _facts(
    one: Instrument,
    record: CalibrationRecord | None,
    limits: int,
    rig: str,
    events: list[InstrumentEvent],
    gone: InstrumentEvent | None,
    unanswered: str,
) -> RecordFacts:
    versions = (("software", one.software_version), ("firmware", one.firmware_version))
    return RecordFacts(
        code=one.code,
        runs_software=one.kind not in WITHOUT_SOFTWARE,
        versions=", ".join(f"{word} {text}" for word, text in versions if text),
        maker=one.maker,
        model_name=one.model_name,
        serial_number=one.serial_number,
        place=f"{one.place.code}, {one.place.name}" if one.place else "",
        rig=rig,
        gone="" if gone is None else f"It {HAPPENED[Kind(gone.kind)]} on {shown(gone.happened_on)}",
        calibration=record,
        limits=limits,
        maintenance_plan=one.maintenance_plan,
        maintained_on=tuple(event.happened_on for event in events if event.kind == Kind.MAINTAINED),
        events=sum(event.kind not in _LEFT_OUT for event in events),
        unanswered=unanswered,
    )


def _calibration_records(answers: Mapping[int, Usability], zone: ZoneInfo) -> dict[int, CalibrationRecord]:
    """The accepted calibrations the answers rest on, by instrument."""
    wanted = [answer.calibration_id for answer in answers.values() if answer.calibration_id is not None]
    rows = Calibration.objects.filter(pk__in=wanted).select_related("decided_by").prefetch_related("points")
    return {row.instrument_id: _calibration_record(row, answers[row.instrument_id], zone) for row in rows}


def _calibration_record(row: Calibration, answer: Usability, zone: ZoneInfo) -> CalibrationRecord:
    return CalibrationRecord(
        calibrated_on=row.calibrated_on,
        due_on=answer.due_on or row.due_on,
        accepted_by=str(row.decided_by),
        accepted_on=day_at(row.decided_at, zone) if row.decided_at else row.calibrated_on,
        has_file=row.certificate_id is not None or row.data_file_id is not None,
        certificate_number=row.certificate_number,
        adjusted=row.adjusted,
        points=tuple(
            PointFact(point.expanded_uncertainty is not None, point.coverage_factor is not None)
            for point in row.points.all()
        ),
    )


def _limit_counts(keys: list[int], at: datetime) -> Counter[int]:
    """How many units have a limit in force at `at`, by instrument: of a unit the newest row holds."""
    newest = {}
    for limit in InstrumentLimit.objects.filter(instrument__in=keys, made_at__lte=at).order_by("made_at", "pk"):
        newest[limit.instrument_id, limit.unit] = limit
    return Counter(limit.instrument_id for limit in newest.values() if not limit.ended)

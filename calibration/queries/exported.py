"""Instruments with all that an export says of them, as of a moment."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from calibration.models import (
    Calibration,
    Instrument,
    InstrumentEvent,
    InstrumentLimit,
    IntermediateCheck,
    Mounting,
    ServiceChange,
)
from calibration.queries.events import events_of
from calibration.queries.instruments import (
    all_instruments,
    calibration_history,
    mountings_at,
    mountings_of,
    service_history,
)
from calibration.queries.known_facts import Known, instruments_as_known
from calibration.queries.usability import Usability, usabilities


@dataclass(frozen=True, slots=True)
class ExportedInstrument:
    """One instrument with its facts of then, the rig it was on, its standing and its last accepted calibration.

    `sure` is False where its book says nothing of that time and the facts are those of now.
    """

    instrument: Instrument
    sure: bool
    rig: str
    usability: Usability
    calibration: Calibration | None


@dataclass(frozen=True, slots=True)
class InstrumentRecord:
    """Everything kept of one instrument up to a moment; calibrations newest first with their points."""

    row: ExportedInstrument
    calibrations: list[Calibration]
    limits: list[InstrumentLimit]
    checks: list[IntermediateCheck]
    events: list[InstrumentEvent]
    mountings: list[Mounting]
    services: list[ServiceChange]


def exported_instruments(
    at: datetime, *, past: bool, of: Iterable[Instrument] | None = None
) -> list[ExportedInstrument]:
    """Every instrument registered by `at`, or those of `of`, by code; a constant number of reads."""
    rows = list(all_instruments()) if of is None else list(of)
    rows = [one for one in rows if one.registered_at <= at]
    known = instruments_as_known(rows, at) if past else {one.pk: Known(one) for one in rows}
    answers = usabilities(rows, at)
    rigs = {mounting.instrument_id: mounting.rig.code for mounting in mountings_at(at)}
    calibrations = _last_accepted([one.pk for one in rows], at)
    exported = [
        ExportedInstrument(
            known[one.pk].thing, known[one.pk].sure, rigs.get(one.pk, ""), answers[one.pk], calibrations.get(one.pk)
        )
        for one in rows
    ]
    return sorted(exported, key=lambda row: row.instrument.code)


def instrument_record(instrument: Instrument, at: datetime, *, past: bool) -> InstrumentRecord:
    """The whole record of one instrument as known at `at`; a constant number of reads."""
    (row,) = exported_instruments(at, past=past, of=[instrument])
    limits = instrument.limits.filter(made_at__lte=at).select_related("made_by").order_by("made_at", "pk")
    return InstrumentRecord(
        row=row,
        calibrations=calibration_history(instrument, at),
        limits=list(limits),
        checks=checks_of(instrument, at),
        events=list(events_of(instrument, at)),
        mountings=mountings_of(instrument, at),
        services=list(service_history(instrument, at)),
    )


def checks_of(instrument: Instrument, at: datetime) -> list[IntermediateCheck]:
    """The checks entered by `at`, latest first; one struck out later still stands. To look at, never to save."""
    rows = instrument.checks.filter(entered_at__lte=at).select_related("entered_by", "struck_by", "compared_with")
    checks = list(rows.order_by("-checked_at", "-pk"))
    for check in checks:
        if check.struck_at is not None and check.struck_at > at:
            check.struck_at, check.struck_by, check.struck_reason = None, None, ""
    return checks


def _last_accepted(keys: list[int], at: datetime) -> dict[int, Calibration]:
    """The newest calibration accepted by `at` of each instrument, with its points; two reads."""
    accepted = Calibration.objects.with_interval_at(at).filter(
        instrument__in=keys, decision=Calibration.Decision.ACCEPTED, decided_at__lte=at
    )
    rows = accepted.select_related("decided_by").prefetch_related("points")
    return {row.instrument_id: row for row in rows.order_by("calibrated_on", "entered_at", "pk")}

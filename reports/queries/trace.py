"""What an instrument in doubt touched: trials, stays, certificates, clients, other instruments, in a few reads."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime

from django.db.models import Max, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce

from calibration.domain.doubt import Reach
from calibration.models import Calibration, Instrument
from calibration.queries.doubt import Doubt, doubt_of
from reports.models import Certificate
from specimens.models import ClimateRecord, Stay, StaySpecimen
from trials.models import InstrumentUse, Observation, SignedVerdict, Trial


@dataclass(frozen=True, slots=True)
class TracedCertificate:
    """A certificate that carries an order line, none replaced by then among them."""

    number: str
    issued_at: datetime


@dataclass(frozen=True, slots=True)
class TracedTrial:
    """A trial measured with an instrument in doubt; `reach` is None for the instrument the trace began with.

    `signed` is the verdict that holds, without its record and its criteria; None while it is not signed.
    """

    trial: Trial
    instrument_id: int
    roles: tuple[str, ...]
    at: datetime
    reach: Reach | None
    signed: SignedVerdict | None
    certificate: TracedCertificate | None


@dataclass(frozen=True, slots=True)
class TracedStay:
    """A stay whose hours were found with a recorder in doubt, from its first specimen in to its last one out."""

    stay: Stay
    specimens: int
    from_at: datetime
    until_at: datetime | None
    reach: Reach | None
    certificate: TracedCertificate | None


@dataclass(frozen=True, slots=True)
class Trace:
    """All that one instrument in doubt touched, as known at `at`."""

    doubt: Doubt
    at: datetime
    trials: tuple[TracedTrial, ...]
    stays: tuple[TracedStay, ...]
    instruments: dict[int, Instrument]
    """Those that the doubt reached, and the one it began with, by primary key."""


def trace_of(
    instrument: Instrument,
    at: datetime,
    *,
    calibration: Calibration | None = None,
    asked: tuple[date, date] | None = None,
) -> Trace:
    """The search from an instrument and its window to everything it touched; a constant number of reads.

    Arguments as of `doubt_of`. Refused with a sentence for a window that ends before it begins.
    """

    def last_use(limit_at: datetime) -> datetime | None:
        return _last_use(instrument, limit_at)

    doubt = doubt_of(instrument, at, last_use, calibration=calibration, asked=asked)
    windows = _windows(doubt)
    uses = _uses(windows)
    trials = _trials(uses, windows, at)
    stays = _stays(windows, at)
    lines = Q(orderline__in=Trial.objects.filter(pk__in=uses.values("trial")).values("job__order_line"))
    lines |= Q(orderline__in={one.stay.order_line_id for one in stays})
    certificates = _certificates(lines, at)
    return Trace(
        doubt=doubt,
        at=at,
        trials=tuple(_certified(one, certificates.get(one.trial.job.order_line_id)) for one in trials),
        stays=tuple(_certified(one, certificates.get(one.stay.order_line_id)) for one in stays),
        instruments=Instrument.objects.in_bulk(windows.keys()),
    )


def _last_use(instrument: Instrument, limit_at: datetime) -> datetime | None:
    """The last trial it was chosen for, or the last reading it recorded in a chamber, up to a moment; two reads."""
    trial = InstrumentUse.objects.filter(instrument=instrument, at__lte=limit_at).aggregate(at=Max("at"))["at"]
    record = ClimateRecord.objects.filter(recorder=instrument, last_at__lte=limit_at).aggregate(at=Max("last_at"))
    return max((one for one in (trial, record["at"]) if one is not None), default=None)


type _Windows = dict[int, list[tuple[datetime, datetime, Reach | None]]]


def _windows(doubt: Doubt) -> _Windows:
    """By instrument, the times in which it was in doubt."""
    found: _Windows = defaultdict(list)
    found[doubt.instrument.pk].append((doubt.window.from_at, doubt.window.until_at, None))
    for reach in doubt.reaches:
        found[reach.instrument].append((reach.from_at, reach.until_at, reach))
    return dict(found)


def _uses(windows: _Windows) -> QuerySet[InstrumentUse]:
    """Uses of the instruments between the first and the last of the moments; each window is looked at one by one.

    An instrument is in use from the opening of a trial to the last observation, so one opened before may reach into
    them; `measured_at` is that of the last one.
    """
    spans = [span for many in windows.values() for span in many]
    earliest, latest = min(span[0] for span in spans), max(span[1] for span in spans)
    seen = Observation.objects.filter(trial=OuterRef("trial"), replaces=None)
    moments = seen.annotate(moment=Coalesce("device_at", "received_at")).order_by("-moment").values("moment")
    uses = InstrumentUse.objects.filter(instrument__in=windows.keys(), at__lte=latest)
    uses = uses.annotate(measured_at=Coalesce(Subquery(moments[:1]), "at"))
    return uses.filter(Q(at__gte=earliest) | Q(measured_at__gte=earliest))


def _trials(uses: QuerySet[InstrumentUse], windows: _Windows, at: datetime) -> list[TracedTrial]:
    rows = uses.filter(at__lte=at).select_related("trial__specimen", "trial__job__order_line__order__client")
    verdicts = SignedVerdict.objects.filter(trial__in=uses.values("trial"), signed_at__lte=at)
    held = {row.trial_id: row for row in verdicts.defer("record", "verdict").order_by("signed_at", "pk")}
    roles: dict[tuple[int, int], list[InstrumentUse]] = defaultdict(list)
    for row in rows.order_by("at", "pk"):
        if _window_of(windows[row.instrument_id], row) is not None:
            roles[row.trial_id, row.instrument_id].append(row)
    return [_traced(many, windows, held.get(trial)) for (trial, _), many in roles.items()]


def _traced(uses: list[InstrumentUse], windows: _Windows, signed: SignedVerdict | None) -> TracedTrial:
    first = uses[0]
    span = _window_of(windows[first.instrument_id], first)
    return TracedTrial(
        trial=first.trial,
        instrument_id=first.instrument_id,
        roles=tuple(sorted({one.role for one in uses})),
        at=first.at,
        reach=None if span is None else span[2],
        signed=signed,
        certificate=None,
    )


def _window_of(
    spans: Iterable[tuple[datetime, datetime, Reach | None]], use: InstrumentUse
) -> tuple[datetime, datetime, Reach | None] | None:
    """The first of the windows that the use reaches into."""
    measured_at = max(use.at, use.measured_at)  # type: ignore[attr-defined]  # annotated by _uses
    return next((span for span in spans if use.at <= span[1] and measured_at >= span[0]), None)


def _stays(windows: _Windows, at: datetime) -> list[TracedStay]:
    """Stays under a recorder in doubt, by their beginning; one read."""
    spans = [span for many in windows.values() for span in many]
    rows = StaySpecimen.objects.filter(
        stay__recorder__in=windows.keys(), in_at__lte=min(at, max(span[1] for span in spans))
    ).filter(Q(out_at=None) | Q(out_at__gte=min(span[0] for span in spans)))
    members: dict[int, list[StaySpecimen]] = defaultdict(list)
    for row in rows.select_related("stay__chamber", "stay__order_line__order__client").order_by("in_at", "pk"):
        members[row.stay_id].append(row)
    found = []
    for many in members.values():
        stay, from_at = many[0].stay, many[0].in_at
        outs = [one.out_at for one in many]
        until_at = None if None in outs else max(one for one in outs if one is not None)
        for begun_at, ended_at, reach in windows[stay.recorder_id]:
            if from_at <= ended_at and (until_at is None or until_at >= begun_at):
                found.append(TracedStay(stay, len(many), from_at, until_at, reach, None))
                break
    return found


def _certificates(lines: Q, at: datetime) -> dict[int, TracedCertificate]:
    """By order line, the newest certificate that carried it at `at`; one read."""
    carried = Certificate.lines.through.objects.filter(lines, certificate__issued_at__lte=at)
    rows = carried.order_by("certificate__issued_at", "certificate__pk").values_list(
        "orderline_id", "certificate__number", "certificate__issued_at"
    )
    return {line: TracedCertificate(number, issued_at) for line, number, issued_at in rows}


def _certified[One: (TracedTrial, TracedStay)](one: One, certificate: TracedCertificate | None) -> One:
    return replace(one, certificate=certificate)

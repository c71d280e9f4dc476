"""The window in which an instrument is in doubt and the instruments it reaches, in a constant number of reads."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from calibration.domain.doubt import Link, Proof, Reach, Removal, Window, reached, window_asked, window_in_doubt
from calibration.domain.due import day_at, usable_until
from calibration.domain.status import shown
from calibration.models import Calibration, Instrument, InstrumentEvent, IntermediateCheck, ServiceChange
from calibration.queries.limits import conformity_of, instrument_limits
from labsite.ledger.queries import laboratory_zone
from labsite.ledger.refusals import Refused

type LastUse = Callable[[datetime], datetime | None]
"""When the instrument was last used at or before a moment: who keeps the uses lies above this app."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """One instrument in doubt: since when and until when, by which calibration's as-found figures, and what it reaches.

    `calibration` is None where no calibration says how far it was off. `drift_from_at` is when its error began to
    grow, if it grew evenly: the last good calibration.
    """

    instrument: Instrument
    calibration: Calibration | None
    window: Window
    reaches: tuple[Reach, ...]
    drift_from_at: datetime


def doubt_of(
    instrument: Instrument,
    at: datetime,
    last_use: LastUse,
    *,
    calibration: Calibration | None = None,
    asked: tuple[date, date] | None = None,
) -> Doubt:
    """The doubt about an instrument as known at `at`; nine reads at most and those of `last_use`.

    `calibration` is the one whose as-found figures count, by default the newest where it was rejected, awaits a
    decision, ended with an adjustment or found the instrument outside its limits. `asked` are the first and last day
    of a window somebody chose; Refused with a sentence where they lie the wrong way round.
    """
    zone = laboratory_zone()
    rows = list(_calibrations(at).filter(instrument=instrument).order_by("calibrated_on", "entered_at", "pk"))
    bad_row = calibration or _doubtful(rows, instrument, at)
    own = [_calibration_proof(row, at, zone) for row in rows if bad_row is None or row.pk != bad_row.pk]
    bad = None if bad_row is None else _calibration_proof(bad_row, at, zone)
    entered_at = None if bad_row is None else min(bad_row.entered_at, at)
    limit_at = at if bad is None or entered_at is None else min(max(bad.last, entered_at), at)
    removals = _removals(instrument, at, zone)

    def window(proofs: Iterable[Proof], doubted: tuple[Reach, ...] = ()) -> Window:
        return window_in_doubt(
            proofs,
            bad,
            removals,
            used_at,
            begun_at=instrument.registered_at,
            at=at,
            zone=zone,
            doubted=doubted,
            entered_at=entered_at,
        )

    used_at = last_use(limit_at)
    widest = _chosen(asked, at, zone) if asked else window(own)
    links, proofs = _linked(widest.from_at, at, zone)
    held = widest
    if not asked:
        checks = [_check_proof(row, zone) for row in _checks(at).filter(instrument=instrument, passed=True)]
        doubted = reached(instrument.pk, widest.from_at, widest.until_at, links, proofs, at=at)
        held = window([*own, *checks], doubted)
    reaches = reached(instrument.pk, held.from_at, held.until_at, links, proofs, at=at)
    before = [one for one in own if one.good and (bad is None or one.first < bad.first)]
    drift_from_at = max((one.first for one in before), default=held.from_at)
    return Doubt(instrument, bad_row, held, reaches, drift_from_at)


def calibration_moment(calibration: Calibration, zone: ZoneInfo) -> datetime:
    """The instant a calibration speaks for: the end of its day."""
    return usable_until(calibration.calibrated_on, zone)


def _doubtful(rows: list[Calibration], instrument: Instrument, at: datetime) -> Calibration | None:
    """The newest calibration where it casts doubt on what came before.

    It does where it was not accepted, where the instrument was adjusted or is stated both as found and as left, which
    says so without saying it, and where it was found outside its limits, whoever accepted that.
    """
    if not rows:
        return None
    newest = rows[-1]
    if newest.adjusted or not _accepted(newest, at):
        return newest
    judged = conformity_of(newest, instrument_limits(instrument, at).error_limits)
    changed = newest.adjusted is None and judged.found is not None and judged.left is not None
    outside = judged.found is not None and judged.found.holds is False
    return newest if changed or outside else None


def _accepted(row: Calibration, at: datetime) -> bool:
    return row.decision == Calibration.Decision.ACCEPTED and row.decided_at is not None and row.decided_at <= at


def _calibrations(at: datetime) -> QuerySet[Calibration]:
    """Calibrations entered by `at` and not yet struck out then."""
    return Calibration.objects.filter(entered_at__lte=at).exclude(
        decision=Calibration.Decision.MISTAKEN, decided_at__lte=at
    )


def _checks(at: datetime) -> QuerySet[IntermediateCheck]:
    """Checks of instruments entered by `at` and not yet struck out then."""
    held = IntermediateCheck.objects.filter(entered_at__lte=at, instrument__isnull=False)
    return held.filter(Q(struck_at=None) | Q(struck_at__gt=at))


def _calibration_proof(row: Calibration, at: datetime, zone: ZoneInfo) -> Proof:
    others = tuple(key for key in (row.standard_id, row.chain_with_id) if key is not None)
    return Proof(
        row.instrument_id,
        _day_start(row.calibrated_on, zone),
        usable_until(row.calibrated_on, zone) - timedelta(microseconds=1),
        f"its calibration of {shown(row.calibrated_on)}",
        _accepted(row, at),
        others,
        row.pk,
    )


def _check_proof(row: IntermediateCheck, zone: ZoneInfo) -> Proof:
    others = () if row.compared_with_id is None else (row.compared_with_id,)
    words = f"the check of {shown(day_at(row.checked_at, zone))}"
    return Proof(row.instrument_id or 0, row.checked_at, row.checked_at, words, row.passed, others)


def _removals(instrument: Instrument, at: datetime, zone: ZoneInfo) -> list[Removal]:
    out = ServiceChange.objects.filter(instrument=instrument, at__lte=at, state=ServiceChange.State.OUT_OF_SERVICE)
    away = InstrumentEvent.objects.filter(instrument=instrument, at__lte=at, kind=InstrumentEvent.Kind.SENT_AWAY)
    taken = [Removal(row.at, "it was taken out of service") for row in out]
    sent = [Removal(min(row.at, _day_end(row.happened_on, zone)), "it was sent away") for row in away]
    return [*taken, *sent]


def _linked(from_at: datetime, at: datetime, zone: ZoneInfo) -> tuple[list[Link], list[Proof]]:
    """What was checked or calibrated with what since `from_at`, and what shows the touched ones good; four reads."""
    links = []
    made = _calibrations(at).filter(calibrated_on__gte=day_at(from_at, zone))
    for row in made.exclude(standard=None, chain_with=None):
        by = {key for key in (row.standard_id, row.chain_with_id) if key is not None}
        when = max(from_at, _day_start(row.calibrated_on, zone))
        links += [Link(row.instrument_id, key, when, f"calibrated with it on {shown(row.calibrated_on)}") for key in by]
    checks = _checks(at).filter(checked_at__gte=from_at)
    for check in checks.exclude(compared_with=None):
        words = f"checked with it on {shown(day_at(check.checked_at, zone))}"
        links.append(Link(check.instrument_id or 0, check.compared_with_id or 0, check.checked_at, words))
    touched = {link.touched for link in links}
    proofs = [_calibration_proof(row, at, zone) for row in made.filter(instrument_id__in=touched)]
    proofs += [_check_proof(row, zone) for row in checks.filter(instrument_id__in=touched, passed=True)]
    return links, proofs


def _chosen(asked: tuple[date, date], at: datetime, zone: ZoneInfo) -> Window:
    first, last = asked
    try:
        return window_asked(_day_start(first, zone), min(_day_end(last, zone), at), zone)
    except ValueError as wrong:
        raise Refused(str(wrong)) from wrong


def _day_start(day: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, time.min, tzinfo=zone)


def _day_end(day: date, zone: ZoneInfo) -> datetime:
    return usable_until(day, zone) - timedelta(microseconds=1)

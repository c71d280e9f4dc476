"""Opening a reverse trace, deciding its lines one by one or many at once, closing it."""

from collections.abc import Collection
from datetime import date, datetime

from django.db import transaction

from calibration.models import Calibration, Instrument
from labsite.ledger.actions import record_entry, take_next
from labsite.ledger.models import Role, User
from labsite.ledger.refusals import Refused
from labsite.ledger.wording import mid_sentence
from reports.domain.trace_rows import facts_from_json, facts_to_json
from reports.models import TraceCase, TraceDecision, TraceLine
from reports.queries.trace import trace_of
from reports.queries.trace_judging import JudgedRow, judged_rows

SERIES = "trace"
Act = TraceDecision.Act
_OF_CERTIFICATE = (Act.AMEND, Act.RECALL)


@transaction.atomic
def open_case(
    *,
    by: User,
    at: datetime,
    instrument: Instrument,
    reason: str,
    calibration: Calibration | None = None,
    asked: tuple[date, date] | None = None,
) -> TraceCase:
    """Open a case: the search and its judging as they stand now, each line fixed, for a person to work off.

    Refused for an instrument whose case is open, and without a reason.
    """
    _keeper(by)
    if not reason.strip():
        raise Refused("Write why the instrument is in doubt.", field="reason")
    instrument = Instrument.objects.select_for_update(of=("self",)).get(pk=instrument.pk)
    open_one = TraceCase.objects.filter(instrument=instrument, closed_at=None).first()
    if open_one is not None:
        raise Refused(f"Case {open_one.number} about {instrument.code} is open; close it before another is opened.")
    trace = trace_of(instrument, at, calibration=calibration, asked=asked)
    rows = judged_rows(trace)
    window = trace.doubt.window
    case = TraceCase.objects.create(
        number=take_next(SERIES),
        instrument=instrument,
        calibration=trace.doubt.calibration,
        reason=reason.strip(),
        from_at=window.from_at,
        until_at=window.until_at,
        window_sentence=window.sentence[:300],
        opened_at=at,
        opened_by=by,
    )
    TraceLine.objects.bulk_create([_line(case, place, row) for place, row in enumerate(rows, start=1)], batch_size=500)
    changed = sum(row.finding == "changed" for row in rows)
    data = {"case": case.number, "reason": case.reason, "window": window.sentence, "lines": len(rows),
            "changed": changed}  # fmt: skip
    record_entry(book=instrument.book, act="opened a reverse trace", by=by, at=at, data=data)
    return case


@transaction.atomic
def decide_line(*, by: User, at: datetime, line: TraceLine, act: str, note: str = "") -> TraceDecision:
    """Decide what is done about one line; a later decision replaces an earlier one and both stay.

    Whoever keeps quality, leads or signs may decide. Everything but “nothing” on an unchanged line has its reason.
    """
    case = _open_case(line.case_id)
    made = _made(act)
    _check(line, made, note, by)
    decision = TraceDecision.objects.create(line=line, act=made, note=note.strip(), at=at, by=by)
    data = {"case": case.number, "line": line.position, "act": str(made.value), "reason": decision.note}
    record_entry(book=case.instrument.book, act="decided a line of a reverse trace", by=by, at=at, data=data)
    return decision


@transaction.atomic
def decide_unchanged(
    *, by: User, at: datetime, case: TraceCase, positions: Collection[int], note: str = ""
) -> list[TraceDecision]:
    """Decide “nothing” for many unchanged lines at once; those already decided, changed or open are refused."""
    case = _open_case(case.pk)
    _decider(by)
    lines = list(case.lines.filter(position__in=positions).prefetch_related("decisions").order_by("position"))
    if not lines:
        raise Refused("No line is chosen.")
    for line in lines:
        if line.finding != TraceLine.Finding.UNCHANGED:
            raise Refused(f"Line {line.position} is not unchanged; it is decided by itself.")
        if line.decisions.all():
            raise Refused(f"Line {line.position} is decided already; decide it again by itself.")
    made = TraceDecision.objects.bulk_create(
        TraceDecision(line=line, act=Act.NONE, note=note.strip()[:300], at=at, by=by) for line in lines
    )
    data = {"case": case.number, "lines": [line.position for line in lines], "act": "none", "reason": note.strip()}
    record_entry(book=case.instrument.book, act="decided lines of a reverse trace", by=by, at=at, data=data)
    return made


@transaction.atomic
def close_case(*, by: User, at: datetime, case: TraceCase, note: str) -> TraceCase:
    """Close a case; refused while a line that changed or cannot be decided has no decision."""
    _keeper(by)
    case = _open_case(case.pk)
    if not note.strip():
        raise Refused("Write what came of it.", field="note")
    waiting = case.lines.exclude(finding=TraceLine.Finding.UNCHANGED).filter(decisions=None).order_by("position")
    places = list(waiting.values_list("position", flat=True))
    if places:
        listed = ", ".join(str(one) for one in places[:12]) + (" and more" if len(places) > 12 else "")
        many = "line is" if len(places) == 1 else "lines are"
        raise Refused(f"{len(places)} {many} still to be decided, changed or undecidable: {listed}.")
    case.closed_at, case.closed_by, case.closing_note = at, by, note.strip()
    case.save(update_fields=["closed_at", "closed_by", "closing_note"])
    data = {"case": case.number, "reason": case.closing_note}
    record_entry(book=case.instrument.book, act="closed a reverse trace", by=by, at=at, data=data)
    return case


def _line(case: TraceCase, position: int, row: JudgedRow) -> TraceLine:
    return TraceLine(
        case=case,
        position=position,
        kind=row.kind,
        trial_id=row.trial_id,
        verdict_id=row.verdict_id,
        stay_id=row.stay_id,
        instrument_id=row.instrument_id,
        through_id=row.through_id,
        at=row.at,
        finding=row.finding,
        sentence=row.sentence[:400],
        figures=facts_to_json(row.facts),
    )


def _open_case(key: int) -> TraceCase:
    case = TraceCase.objects.select_for_update(of=("self",)).select_related("instrument").get(pk=key)
    if case.closed_at is not None:
        raise Refused(f"Case {case.number} is closed, by {case.closed_by}; its decisions stay as they are.")
    return case


def _made(act: str) -> TraceDecision.Act:
    try:
        return Act(act)
    except ValueError:
        raise Refused("Choose what is done.", field="act") from None


def _check(line: TraceLine, made: TraceDecision.Act, note: str, by: User) -> None:
    _decider(by)
    facts = facts_from_json(line.figures)
    if made in _OF_CERTIFICATE and not facts.certificate:
        raise Refused(f"No certificate carries this line, so there is none to {mid_sentence(made.value)}.", field="act")
    if made == Act.NOTIFY and not facts.client:
        raise Refused("This line belongs to no client.", field="act")
    if not note.strip() and not (made == Act.NONE and line.finding == TraceLine.Finding.UNCHANGED):
        raise Refused("Write the reason; it stands in the case from now on.", field="note")


def _keeper(by: User) -> None:
    if not by.may(Role.QUALITY):
        raise Refused("A reverse trace is opened and closed by the quality keeper.")


def _decider(by: User) -> None:
    if not by.may(Role.QUALITY, Role.LEAD, Role.SIGNATORY):
        raise Refused("A line is decided by the quality keeper, a lead or a signatory.")

"""Reverse traces as pages and files show them: found now for any window, or kept with a case and worked off."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import cast

from django.db.models import Count, Exists, OuterRef, Prefetch, Q, QuerySet

from calibration.models import Calibration, Instrument
from reports.domain.trace_rows import Finding, RowFacts, Tally, facts_from_json, tally
from reports.models import TraceCase, TraceDecision, TraceLine
from reports.queries.trace import Trace
from reports.queries.trace_judging import JudgedRow


@dataclass(frozen=True, slots=True)
class ShownRow:
    """One line for a page or a file; `position`, `line_id` and `decisions` are there once it belongs to a case."""

    kind: str
    finding: Finding
    sentence: str
    at: datetime
    facts: RowFacts
    through: str
    trial_id: int | None = None
    stay_id: int | None = None
    instrument_number: str = ""
    position: int | None = None
    line_id: int | None = None
    decisions: tuple[TraceDecision, ...] = ()

    @property
    def decision(self) -> TraceDecision | None:
        """The decision that holds."""
        return self.decisions[-1] if self.decisions else None

    @property
    def alone(self) -> "tuple[ShownRow, ...]":
        """The line as a list of one."""
        return (self,)

    @property
    def waits(self) -> bool:
        """Whether somebody has to decide before the case can be closed."""
        return not self.decisions and self.finding != "unchanged"


@dataclass(frozen=True, slots=True)
class ShownTrace:
    """All lines: those that changed or are open, and those that stay; the tally counts trials and stays."""

    needing: tuple[ShownRow, ...]
    unchanged: tuple[ShownRow, ...]
    tally: Tally

    @property
    def rows(self) -> tuple[ShownRow, ...]:
        """All of them in order."""
        return (*self.needing, *self.unchanged)

    @property
    def waiting(self) -> int:
        """How many lines somebody still has to decide."""
        return sum(row.waits for row in self.needing)


def shown_now(trace: Trace, rows: Iterable[JudgedRow]) -> ShownTrace:
    """The lines as judged now; no read."""
    return _shown(
        ShownRow(
            row.kind,
            row.finding,
            row.sentence,
            row.at,
            row.facts,
            _code(trace, row.through_id),
            row.trial_id,
            row.stay_id,
            trace.instruments[row.instrument_id].number if row.kind == "instrument" and row.instrument_id else "",
        )
        for row in rows
    )


def all_cases(at: datetime) -> QuerySet[TraceCase]:
    """Cases opened by `at`, open ones first, with how many lines they have and how many wait for a decision."""
    undecided = ~Exists(TraceDecision.objects.filter(line=OuterRef("lines"), at__lte=at))
    waiting = Q(undecided, ~Q(lines__finding=TraceLine.Finding.UNCHANGED), lines__isnull=False)
    return (
        TraceCase.objects.filter(opened_at__lte=at)
        .select_related("instrument", "calibration", "opened_by", "closed_by")
        .annotate(line_count=Count("lines"), waiting_count=Count("lines", filter=waiting))
        .annotate(changed_count=Count("lines", filter=Q(lines__finding=TraceLine.Finding.CHANGED)))
        .order_by("-opened_at", "-pk")
    )


def open_case_of(instrument: Instrument, at: datetime) -> TraceCase | None:
    """The case about an instrument that was open at `at`."""
    opened = TraceCase.objects.filter(instrument=instrument, opened_at__lte=at)
    return opened.filter(Q(closed_at=None) | Q(closed_at__gt=at)).order_by("-opened_at").first()


def closed_cases_of(instrument: Instrument, at: datetime) -> list[TraceCase]:
    """The cases about an instrument that were closed by `at`, the latest first."""
    closed = TraceCase.objects.filter(instrument=instrument, closed_at__lte=at)
    return list(closed.select_related("closed_by").order_by("-closed_at", "-pk"))


def shown_case(case: TraceCase, at: datetime) -> ShownTrace:
    """The lines of a case with the decisions made by `at`; two reads."""
    decisions = TraceDecision.objects.filter(at__lte=at).select_related("by").order_by("at", "pk")
    lines = case.lines.select_related("through", "instrument").order_by("position")
    return _shown(_kept(line) for line in lines.prefetch_related(Prefetch("decisions", decisions)))


def case_line(case: TraceCase, position: int) -> TraceLine | None:
    """One line of a case by its place in the list."""
    decisions = TraceDecision.objects.select_related("by").order_by("at", "pk")
    lines = case.lines.filter(position=position).select_related("through", "instrument")
    return lines.prefetch_related(Prefetch("decisions", decisions)).first()


def kept_row(line: TraceLine) -> ShownRow:
    """One line of a case with its decisions, for a page of its own."""
    return _kept(line)


def calibration_of(instrument: Instrument, key: int | None) -> Calibration | None:
    """One of the instrument's calibrations by its key, None for another's and for none."""
    return None if key is None else instrument.calibrations.filter(pk=key).first()


def _kept(line: TraceLine) -> ShownRow:
    number = line.instrument.number if line.kind == TraceLine.Kind.INSTRUMENT and line.instrument else ""
    return ShownRow(
        str(line.kind),
        cast("Finding", str(line.finding)),
        line.sentence,
        line.at,
        facts_from_json(line.figures),
        line.through.code if line.through else "",
        line.trial_id,
        line.stay_id,
        number,
        line.position,
        line.pk,
        tuple(line.decisions.all()),
    )


def _shown(rows: Iterable[ShownRow]) -> ShownTrace:
    rows = tuple(rows)
    needing = tuple(row for row in rows if row.finding != "unchanged")
    unchanged = tuple(row for row in rows if row.finding == "unchanged")
    return ShownTrace(needing, unchanged, tally((row.finding, row.facts) for row in rows))


def _code(trace: Trace, key: int | None) -> str:
    return "" if key is None else trace.instruments[key].code

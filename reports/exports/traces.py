"""A reverse trace as a table for a spreadsheet: one row for each line, with what was read, corrected and decided."""

from datetime import datetime
from zoneinfo import ZoneInfo

from labsite.ledger.numbering import grouped
from labsite.ledger.workbooks import Cell, Table
from reports.queries.trace_cases import ShownRow, ShownTrace

COLUMNS = (
    "Line", "What", "Specimen", "Measured", "Order", "Client", "Method", "Level", "Measured as", "Reached through",
    "Figure", "Judged with", "Put right, step", "Put right, drift", "Permitted", "Verdict before", "After, step",
    "After, drift", "Finding", "Why", "Negligible", "Order line before", "Order line after", "Certificate", "Issued",
    "Decision", "Note", "Decided by", "Decided at",
)  # fmt: skip


def trace_table(title: str, shown: ShownTrace, zone: ZoneInfo) -> Table:
    """The lines of a trace, those that need a decision first; moments in the laboratory's zone."""
    return Table(title, COLUMNS, tuple(_row(place, row, zone) for place, row in enumerate(shown.rows, start=1)))


def _row(place: int, row: ShownRow, zone: ZoneInfo) -> tuple[Cell, ...]:
    facts, decision = row.facts, row.decision
    figure = facts.figures[0] if facts.figures else None
    return (
        row.position or place,
        facts.what or row.kind,
        "-".join(grouped(facts.number)) if facts.number else "",
        _moment(row.at, zone),
        "-".join(grouped(facts.order)) if facts.order else "",
        facts.client,
        facts.method,
        facts.level,
        facts.roles,
        row.through,
        figure.title if figure else "",
        figure.read if figure else "",
        figure.step if figure else "",
        figure.drift if figure else "",
        figure.permitted if figure else "",
        facts.before,
        facts.step,
        facts.drift,
        row.finding,
        row.sentence,
        facts.remark,
        facts.line_before,
        facts.line_after,
        facts.certificate,
        facts.issued_on,
        "" if decision is None else str(decision.get_act_display()),
        "" if decision is None else decision.note,
        "" if decision is None else str(decision.by),
        None if decision is None else _moment(decision.at, zone),
    )


def _moment(at: datetime, zone: ZoneInfo) -> datetime:
    return at.astimezone(zone)

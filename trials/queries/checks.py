"""What waits for a check, and one line as its checker sees it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from labsite.ledger.models import User
from specimens.models import OrderLine
from trials.domain.verdicts import Quantity, Verdict
from trials.models import Check
from trials.queries.authorisations import CHECK, authorised_people
from trials.queries.methods import EditionConfirmed, known_edition, method_words, ordered_words
from trials.queries.queue import uncertified_lines
from trials.queries.results import LineStanding, TrialStanding, line_standings
from trials.queries.sheets import line_confirmations


@dataclass(frozen=True, slots=True)
class WaitingCheck:
    """A line that waits for a check, with those who may check it."""

    standing: LineStanding
    method: str
    standard: str
    severity: str
    checkers: tuple[User, ...]
    mine: bool


@dataclass(frozen=True, slots=True)
class CheckedTrial:
    """One trial as the checker compares it with the others: its figures in the edition's order."""

    standing: TrialStanding
    quantities: tuple[Quantity, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FigureRow:
    """One figure of the method with its text for each signed trial."""

    title: str
    unit: str
    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CheckPage:
    """One line as its checker sees it."""

    standing: LineStanding
    method: str
    standard: str
    severity: str
    trials: tuple[CheckedTrial, ...]
    figures: tuple[FigureRow, ...]
    confirmed: EditionConfirmed | None
    earlier: tuple[Check, ...]


def waiting_checks(person: object, at: datetime) -> list[WaitingCheck]:
    """The lines that wait for a check, those the person may check first; a constant number of queries."""
    lines = list(uncertified_lines())
    standings = line_standings(lines)
    waiting = [standings[line.pk] for line in lines if standings[line.pk].state in ("signed", "returned")]
    checkers = authorised_people({one.line.method_key for one in waiting}, CHECK, at)
    rows = [_waiting(one, checkers[one.line.method_key], person) for one in waiting]
    return sorted(rows, key=lambda row: not row.mine)


def check_page(standing: LineStanding) -> CheckPage:
    """One line as its checker sees it."""
    line = standing.line
    method, standard = _words(line)
    earlier = Check.objects.filter(order_line=line).select_related("by").order_by("-at", "-pk")
    return CheckPage(
        standing=standing,
        method=method,
        standard=standard,
        severity=ordered_words(line),
        trials=tuple(_trial(one) for one in standing.trials),
        figures=_figures([one.verdict for one in standing.trials if one.verdict is not None]),
        confirmed=line_confirmations([(line, [one.trial for one in standing.trials])]).get(line.pk),
        earlier=tuple(earlier),
    )


def done_words(check: Check) -> str:
    """What a check has done, for the message after it."""
    if check.finding == Check.Finding.SOUND:
        return "Checked. A signatory can issue the certificate."
    return "Returned. The technician finds it at the top of the queue."


def _waiting(standing: LineStanding, checkers: Sequence[User], person: object) -> WaitingCheck:
    method, standard = _words(standing.line)
    free = tuple(one for one in checkers if one.pk not in standing.performers)
    return WaitingCheck(
        standing=standing,
        method=method,
        standard=standard,
        severity=ordered_words(standing.line),
        checkers=free,
        mine=isinstance(person, User) and any(one.pk == person.pk for one in free),
    )


def _words(line: OrderLine) -> tuple[str, str]:
    edition = known_edition(line.method_key)
    return method_words(line.method_key) if edition is None else (edition.title, edition.standard)


def _figures(verdicts: Sequence[Verdict]) -> tuple[FigureRow, ...]:
    first = verdicts[0].quantities if verdicts else ()
    return tuple(
        FigureRow(one.title, one.unit, tuple(verdict.quantity(one.key).text for verdict in verdicts)) for one in first
    )


def _trial(standing: TrialStanding) -> CheckedTrial:
    verdict = standing.verdict
    if verdict is None:
        return CheckedTrial(standing, (), ())
    return CheckedTrial(standing, verdict.quantities, verdict.warnings)

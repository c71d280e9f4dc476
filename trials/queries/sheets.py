"""The laboratory's own figures for an edition: the newest revision, what a line is judged by, and the history."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType
from typing import Final

from labsite.ledger.refusals import Refused
from specimens.models import OrderLine
from trials.domain.decided_criteria import decision_changes
from trials.domain.methods.base import MethodEdition
from trials.domain.parameter_changes import (
    ParameterChangeError,
    changes_from_json,
    changes_to_json,
    joined_changes,
)
from trials.domain.records import RecordError
from trials.domain.stated_uncertainty import budget_changes
from trials.models import EditionConfirmation, ParameterSheet, Trial
from trials.queries.budgets import Stated, stated_at
from trials.queries.methods import (
    EditionConfirmed,
    StoredChanges,
    edition_by_key,
    edition_of,
    known_edition,
    parameters_sha256,
)

NO_BUDGETS: Final[Stated] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class FigureChange:
    """One figure that a revision changed, before and after in words."""

    title: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Revision:
    """One revision of an edition's figures; `row` is None for revision 0, the edition as delivered.

    `differences` say what changed against the revision before; `fault` says why it cannot be read any more.
    """

    number: int
    row: ParameterSheet | None
    differences: tuple[FigureChange, ...]
    confirmed: EditionConfirmed | None
    fault: str = ""


def newest_sheets(keys: Iterable[str], at: datetime | None = None) -> dict[str, ParameterSheet]:
    """The newest revision of each edition that has one, now or at a moment; one query."""
    rows = ParameterSheet.objects.filter(method_key__in=set(keys))
    if at is not None:
        rows = rows.filter(made_at__lte=at)
    return {row.method_key: row for row in rows.order_by("revision")}


def newest_edition(key: str) -> tuple[int, MethodEdition]:
    """An edition with the newest figures of the laboratory, and their revision."""
    sheet = newest_sheets([key]).get(key)
    return (0, edition_by_key(key)) if sheet is None else (sheet.revision, edition_of(key, sheet.changes))


def sheet_edition(key: str, revision: int) -> MethodEdition:
    """An edition with the figures of one revision; refused when there is no such revision."""
    if revision == 0:
        return edition_by_key(key)
    sheet = ParameterSheet.objects.filter(method_key=key, revision=revision).first()
    if sheet is None:
        raise Refused(f"There is no revision {revision} of the figures of {edition_by_key(key).short_standard}.")
    return edition_of(key, sheet.changes)


def line_parameters(line: OrderLine, at: datetime | None = None) -> tuple[int, StoredChanges]:
    """The revision and the figures a trial of the line is judged by when it is opened at `at`; two queries."""
    sheet = newest_sheets([line.method_key], at).get(line.method_key)
    return parameters_under(line, sheet, stated_at(edition_by_key(line.method_key).slug, at))


def parameters_under(
    line: OrderLine, sheet: ParameterSheet | None, budgets: Stated = NO_BUDGETS
) -> tuple[int, StoredChanges]:
    """The revision and the figures for a line: the sheet's, and over them what was agreed for the line and its rule.

    `budgets` state the uncertainty of figures for which neither does. Refused with a sentence when the edition cannot
    take them together.
    """
    revision, own = (0, {}) if sheet is None else (sheet.revision, sheet.changes)
    changes = agreed_over(line.method_key, own, line.decision_rule, line.agreed_parameters, budgets)
    edition_of(line.method_key, changes)
    return revision, changes


def agreed_over(
    key: str, own: StoredChanges, rule: str, agreed: StoredChanges, budgets: Stated = NO_BUDGETS
) -> StoredChanges:
    """The laboratory's own figures with an order line's decision rule and figures over them; no query.

    Budgets, by quantity, state the uncertainty of a figure where the laboratory's own figures and the line do not.
    """
    own = _with_budgets(key, own, agreed, budgets)
    edition = edition_of(key, own)
    if not agreed and not edition.decided_limits:
        return own
    try:
        decided = decision_changes(edition, rule, changes_from_json(edition, agreed))
    except (RecordError, ParameterChangeError) as wrong:
        raise Refused(f"What was agreed for this line does not fit the edition. {wrong}") from wrong
    return changes_to_json(joined_changes(changes_from_json(edition, own), decided))


def _with_budgets(key: str, own: StoredChanges, agreed: StoredChanges, budgets: Stated) -> StoredChanges:
    delivered = edition_by_key(key)
    reckoned = budget_changes(delivered, budgets, {*own, *agreed})
    if not reckoned:
        return own
    try:
        return changes_to_json(joined_changes(changes_from_json(delivered, own), reckoned))
    except ParameterChangeError as wrong:
        raise Refused(f"The figures kept for {delivered.short_standard} do not fit this edition. {wrong}") from wrong


def revision_history(key: str) -> list[Revision]:
    """All revisions of an edition's figures, newest first, the edition as delivered last; two queries."""
    sheets = list(ParameterSheet.objects.filter(method_key=key).select_related("made_by").order_by("revision"))
    confirmations = list(_confirmations([key]))
    before = edition_by_key(key)
    history = [Revision(0, None, (), _confirmed(confirmations, before))]
    for sheet in sheets:
        try:
            after = edition_of(key, sheet.changes)
        except Refused as refusal:
            history.append(Revision(sheet.revision, sheet, (), None, refusal.sentence))
            continue
        history.append(Revision(sheet.revision, sheet, figure_changes(before, after), _confirmed(confirmations, after)))
        before = after
    return history[::-1]


def figure_changes(before: MethodEdition, after: MethodEdition) -> tuple[FigureChange, ...]:
    """What differs between the figures of two revisions, in the edition's order."""
    pairs = ((before.parameter(one.key), one) for one in after.parameters if before.has_parameter(one.key))
    return tuple(FigureChange(new.title, old.limit_text, new.limit_text) for old, new in pairs if old != new)


def line_confirmations(lines: Iterable[tuple[OrderLine, Iterable[Trial]]]) -> dict[int, EditionConfirmed]:
    """For each line with its trials, the confirmation of the revisions its trials were opened under; two queries.

    It is current when every one of those revisions is confirmed; a line without trials goes by the newest one.
    """
    asked = [(line, {trial.parameter_revision for trial in trials}) for line, trials in lines]
    keys = {line.method_key for line, _ in asked}
    sheets = {(row.method_key, row.revision): row for row in ParameterSheet.objects.filter(method_key__in=keys)}
    rows = list(_confirmations(keys))
    found: dict[int, EditionConfirmed] = {}
    for line, revisions in asked:
        key = line.method_key
        if known_edition(key) is None:
            continue
        newest = max((revision for one, revision in sheets if one == key), default=0)
        own = [row for row in rows if row.method_key == key]
        each = [
            _confirmed(own, edition_of(key, {} if (sheet := sheets.get((key, revision))) is None else sheet.changes))
            for revision in sorted(revisions or {newest})
        ]
        worst = next((one for one in each if one is None or not one.current), each[-1])
        if worst is not None:
            found[line.pk] = worst
    return found


def _confirmations(keys: Iterable[str]) -> Iterable[EditionConfirmation]:
    rows = EditionConfirmation.objects.filter(method_key__in=set(keys)).select_related("confirmed_by")
    return rows.order_by("confirmed_at", "pk")


def _confirmed(rows: Iterable[EditionConfirmation], edition: MethodEdition) -> EditionConfirmed | None:
    """The last confirmation of exactly these figures, else the last one of all, which is not current."""
    sha256, last = parameters_sha256(edition), None
    for row in rows:
        current = row.parameters_sha256 == sha256
        if current or last is None or not last.current:
            last = EditionConfirmed(row, current)
    return last

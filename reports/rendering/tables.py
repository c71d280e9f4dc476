"""How a certificate's figures are laid out in tables that stay readable from one specimen to forty."""

from collections.abc import Sequence
from dataclasses import dataclass

from reports.domain.content import CertificateContent, LevelContent, LineContent
from reports.domain.content_items import number_text
from reports.domain.content_trials import ConditioningContent, CriterionContent, InstrumentContent, TrialContent

_COLUMNS = 5
"""How many figures a table of results shows where none is stated to stand in it."""
_NOTHING_SAID = ("", "not recorded", "not measured")


@dataclass(frozen=True, slots=True)
class ResultRow:
    """One specimen in the table of results: its level where the table has a column for it, and its figures."""

    trial: TrialContent
    level: str
    figures: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ResultGroup:
    """Rows that belong together, under a heading: a set of specimens, with what it came to."""

    title: str
    note: str
    state: str
    rows: tuple[ResultRow, ...]


@dataclass(frozen=True, slots=True)
class ResultTable:
    """The result of a line, one row a specimen; `level_title` heads a column of levels where there is one."""

    line: LineContent
    level_title: str
    titles: tuple[str, ...]
    groups: tuple[ResultGroup, ...]

    @property
    def width(self) -> int:
        """How many columns it has."""
        return len(self.titles) + 2 + bool(self.level_title)

    @property
    def coverage(self) -> tuple[str, ...]:
        """What is said once of the uncertainties beside figures: whose they are, coverage factor and level."""
        found: dict[str, dict[str, None]] = {}
        for trial in self.line.trials:
            for one in trial.quantities:
                if one.uncertain:
                    found.setdefault(one.coverage, {})[one.title] = None
        return tuple(
            f"After ± stands the expanded uncertainty of the measurement, {coverage}: {', '.join(titles)}."
            for coverage, titles in found.items()
        )

    @property
    def levels(self) -> tuple[LevelContent, ...]:
        """The levels of a search, which stand in a table of their own."""
        return self.line.levels if self.line.search else ()


@dataclass(frozen=True, slots=True)
class SetupFound:
    """What was found for some specimens; `specimens` is empty when it is the same for all."""

    specimens: tuple[str, ...]
    criterion: CriterionContent


@dataclass(frozen=True, slots=True)
class SetupRow:
    """One condition of the trials of a line, with each different finding once; `limit` is empty where they differ."""

    title: str
    limit: str
    found: tuple[SetupFound, ...]


def result_table(line: LineContent) -> ResultTable:
    """The table of results of one line: set by set where there are sets, with levels where they differ."""
    chosen = _columns(line.trials)
    shown = line.search or len({trial.severity for trial in line.trials}) > 1
    rows = [
        ResultRow(
            trial,
            trial.severity if shown else "",
            tuple("" if (own := trial.quantity(key)) is None else own.whole for key in chosen),
        )
        for trial in line.trials
    ]
    return ResultTable(line, line.severity_title if shown else "", tuple(chosen.values()), tuple(_groups(line, rows)))


def _columns(trials: Sequence[TrialContent]) -> dict[str, str]:
    """Key and title of the figures shown: those stated, else the first few of the first trial.

    A figure that no trial says anything about has no column; that it was not recorded stands in the evidence.
    """
    stated = [q for trial in trials for q in trial.quantities if q.table]
    said = {q.key for q in stated if q.text not in _NOTHING_SAID}
    first = trials[0].quantities[:_COLUMNS] if trials else ()
    return {q.key: q.title for q in stated if q.key in said} or {q.key: q.title for q in first}


def _groups(line: LineContent, rows: Sequence[ResultRow]) -> list[ResultGroup]:
    """One group without a heading, or one a set and one for what belongs to none."""
    sets = [level for level in line.levels if level.specimens] if not line.search else []
    if len(sets) < 2:
        return [ResultGroup("", sets[0].note if sets and not sets[0].value else "", "", tuple(rows))]
    named = {number_text(row.trial.specimen.number): row for row in rows}
    groups = [
        ResultGroup(one.title, one.note, one.state, tuple(named[name] for name in one.specimens if name in named))
        for one in sets
    ]
    grouped = {row.trial.specimen.number for group in groups for row in group.rows}
    rest = tuple(row for row in rows if row.trial.specimen.number not in grouped)
    return [*groups, ResultGroup("in no set", "", "", rest)] if rest else groups


def stays_of(content: CertificateContent) -> list[tuple[ConditioningContent, tuple[str, ...]]]:
    """Each way of conditioning once, with the specimens that went it; none named where all went the same."""
    found: dict[ConditioningContent, list[str]] = {}
    for trial in content.trials:
        if trial.conditioning is not None:
            found.setdefault(trial.conditioning, []).append(trial.specimen.number)
    return [(stay, tuple(numbers) if len(found) > 1 else ()) for stay, numbers in found.items()]


def setup_rows(line: LineContent) -> list[SetupRow]:
    """The conditions of a line's trials; what was the same for all specimens is said once.

    That an instrument was usable is left out: its calibration stands in the table of instruments.
    """
    rows = [criterion for trial in line.trials for criterion in trial.setup]
    keys = dict.fromkeys(row.key for row in rows if not (row.key.startswith("instrument ") and row.holds))
    return [_setup_row(line, key) for key in keys]


def _setup_row(line: LineContent, key: str) -> SetupRow:
    groups: dict[tuple[object, ...], list[str]] = {}
    first: dict[tuple[object, ...], CriterionContent] = {}
    for trial in line.trials:
        for criterion in trial.setup:
            if criterion.key == key:
                same = (criterion.found, criterion.limit, criterion.holds, criterion.reason)
                first.setdefault(same, criterion)
                groups.setdefault(same, []).append(trial.specimen.number)
    example = next(iter(first.values()))
    one = len(groups) == 1
    found = tuple(SetupFound(() if one else tuple(groups[same]), first[same]) for same in groups)
    limits = {one.limit for one in first.values()}
    return SetupRow(example.title, example.limit if len(limits) == 1 else "", found)


def unrecorded(rows: list[SetupRow]) -> list[str]:
    """Conditions that nobody recorded and the method does not insist on; they fill one line instead of a table."""
    return [row.title for row in rows if _is_unrecorded(row)]


def recorded(rows: list[SetupRow]) -> list[SetupRow]:
    """The other conditions."""
    return [row for row in rows if not _is_unrecorded(row)]


def _is_unrecorded(row: SetupRow) -> bool:
    return all(one.criterion.holds is None and not one.criterion.enforced for one in row.found)


def instruments_of(content: CertificateContent) -> list[tuple[InstrumentContent, str]]:
    """Every instrument with the calibration it was used under, once, and its roles."""
    roles: dict[tuple[str, str, str], list[str]] = {}
    first: dict[tuple[str, str, str], InstrumentContent] = {}
    for trial in content.trials:
        for used in trial.instruments:
            key = (used.code, used.calibrated_on.isoformat(), used.certificate)
            first.setdefault(key, used)
            if used.role not in roles.setdefault(key, []):
                roles[key].append(used.role)
    return [(first[key], ", ".join(roles[key])) for key in sorted(first)]

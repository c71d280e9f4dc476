"""How a certificate's figures are laid out in tables that stay readable from one specimen to forty."""

from dataclasses import dataclass

from reports.domain.content import CertificateContent, LineContent
from reports.domain.content_trials import CriterionContent, InstrumentContent, TrialContent

RESULT_KEYS = ("ignites", "layer_ignites", "flames_end", "glow_ends", "latest")
"""Figures of the table of results, where the method has them; else its first five."""
_COLUMNS = 5


@dataclass(frozen=True, slots=True)
class ResultTable:
    """The result of a line, one row a specimen."""

    line: LineContent
    titles: tuple[str, ...]
    rows: tuple[tuple[TrialContent, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class SetupFound:
    """What was found for some specimens; `specimens` is empty when it is the same for all."""

    specimens: tuple[str, ...]
    criterion: CriterionContent


@dataclass(frozen=True, slots=True)
class SetupRow:
    """One condition of the trials of a line, with each different finding once."""

    title: str
    limit: str
    found: tuple[SetupFound, ...]


def result_table(line: LineContent) -> ResultTable:
    """The table of results of one line."""
    first = line.trials[0].quantities if line.trials else ()
    chosen = [q for q in first if q.key in RESULT_KEYS] or list(first[:_COLUMNS])
    rows = []
    for trial in line.trials:
        own = [trial.quantity(quantity.key) for quantity in chosen]
        rows.append((trial, tuple("" if one is None else one.shown for one in own)))
    return ResultTable(line, tuple(quantity.title for quantity in chosen), tuple(rows))


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
                same = (criterion.found, criterion.holds, criterion.reason)
                first.setdefault(same, criterion)
                groups.setdefault(same, []).append(trial.specimen.number)
    example = next(iter(first.values()))
    one = len(groups) == 1
    found = tuple(SetupFound(() if one else tuple(groups[same]), first[same]) for same in groups)
    return SetupRow(example.title, example.limit, found)


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

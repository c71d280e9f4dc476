"""Where each order line stands: its trials, the result by the rule, and whether a check still covers it."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from django.db.models import QuerySet

from labsite.ledger.numbering import grouped
from labsite.ledger.refusals import Refused
from specimens.models import Order, OrderLine
from trials.domain.line_result import Asked, LineResult, LineTrial
from trials.domain.line_result import Doubt as LineDoubt
from trials.domain.methods.base import MethodEdition
from trials.domain.verdicts import Verdict, from_json
from trials.models import Check, ParameterSheet, SignedVerdict, Trial
from trials.queries.methods import edition_of, known_edition, trial_edition
from trials.queries.records import trial_record
from trials.queries.sheets import newest_sheets, parameters_under

__all__ = [
    "LineStanding", "TrialStanding", "line_result", "line_standing", "line_standings", "line_state",
    "lines_ready_for_certificate", "specimen_text", "trial_record", "trial_standing", "trials_of_line",
    "trials_open_now",
]  # fmt: skip

type LineStateWord = Literal["to test", "under way", "signed", "returned", "checked"]


@dataclass(frozen=True, slots=True)
class TrialStanding:
    """One trial with the verdict that holds, as a row and as the domain knows it; None while it is unsigned.

    `signings` counts how often it was signed: more than once after corrections.
    """

    trial: Trial
    signed: SignedVerdict | None
    verdict: Verdict | None
    signings: int = 0
    first_signed_at: datetime | None = None

    @property
    def specimen_text(self) -> str:
        """The specimen's number as people read it."""
        return specimen_text(self.trial.specimen.number)


@dataclass(frozen=True, slots=True)
class LineStanding:
    """An order line's trials in order of opening, its result by the rule, and the last check.

    `stale` says that the last check looked at other verdicts than those that hold now. `edition` is the one the result
    was found by, with its figures; None where the program does not know it or cannot take the figures agreed.
    """

    line: OrderLine
    state: LineStateWord
    result: LineResult
    trials: tuple[TrialStanding, ...]
    check: Check | None
    stale: bool
    edition: MethodEdition | None

    @property
    def verdict_ids(self) -> list[int]:
        """The signed verdicts that hold now, by number."""
        return sorted(trial.signed.pk for trial in self.trials if trial.signed is not None)

    @property
    def open_trials(self) -> tuple[TrialStanding, ...]:
        """Trials that are not signed yet."""
        return tuple(trial for trial in self.trials if trial.signed is None)

    @property
    def performers(self) -> set[int]:
        """Everybody who opened or signed a trial of the line."""
        signers = {trial.signed.signed_by_id for trial in self.trials if trial.signed is not None}
        return signers | {trial.trial.opened_by_id for trial in self.trials}


def specimen_text(number: str) -> str:
    """A specimen's number as it stands in sentences: 26-0402-002-7."""
    return "-".join(grouped(number))


def trials_of_line(line: OrderLine) -> list[TrialStanding]:
    """The trials of one line in order of opening, each with the verdict that holds."""
    return list(line_standing(line).trials)


def line_result(line: OrderLine) -> LineResult:
    """The result of one line by the edition's rule on specimens and doubt."""
    return line_standing(line).result


def line_state(line: OrderLine) -> LineStateWord:
    """Whether the line is to test, under way, signed, returned or checked."""
    return line_standing(line).state


def line_standing(line: OrderLine) -> LineStanding:
    """Where one line stands."""
    return line_standings([line])[line.pk]


def line_standings(lines: Sequence[OrderLine], at: datetime | None = None) -> dict[int, LineStanding]:
    """Where each line stands; three queries whatever the number of lines, a fourth where one has no trial yet.

    With `at`, where it stood by the trials opened, the verdicts signed and the checks made by then.
    """
    ids = [line.pk for line in lines]
    rows, checked = Trial.objects.filter(job__order_line__in=ids), Check.objects.filter(order_line__in=ids)
    if at is not None:
        rows, checked = rows.filter(opened_at__lte=at), checked.filter(at__lte=at)
    trials = _trials(rows, at)
    by_line: dict[int, list[TrialStanding]] = defaultdict(list)
    for standing in trials:
        by_line[standing.trial.job.order_line_id].append(standing)
    checks: dict[int, Check] = {}
    for check in checked.select_related("by").order_by("at", "pk"):
        checks[check.order_line_id] = check
    sheets = newest_sheets(line.method_key for line in lines) if len(by_line) < len(ids) else {}
    return {
        line.pk: _standing(line, by_line.get(line.pk, []), checks.get(line.pk), sheets.get(line.method_key))
        for line in lines
    }


def line_result_with(standing: LineStanding, verdicts: Mapping[int, Verdict]) -> LineResult:
    """The result of a line if some of its trials, by their keys, had these verdicts in place of the signed ones."""
    trials = [replace(one, verdict=verdicts.get(one.trial.pk, one.verdict)) for one in standing.trials]
    return _result(standing.line, trials, None)[1]


def trial_standing(trial: Trial) -> TrialStanding:
    """One trial with the verdict that holds."""
    return _trials(Trial.objects.filter(pk=trial.pk))[0]


def lines_ready_for_certificate(order: Order) -> list[LineStanding]:
    """The lines of an order that stand checked, by position: nothing is missing before a signatory."""
    lines = (
        OrderLine.objects.filter(order=order, withdrawn_at=None).select_related("order__client").order_by("position")
    )
    standings = line_standings(list(lines))
    return [standing for standing in standings.values() if standing.state == "checked"]


def trials_open_now() -> list[TrialStanding]:
    """Trials that are opened and not signed, by rig; two queries."""
    return _trials(Trial.objects.filter(verdicts=None))


def _trials(rows: QuerySet[Trial], at: datetime | None = None) -> list[TrialStanding]:
    found = list(
        rows.select_related(
            "specimen", "job__order_line__order", "job__technician", "opened_by", "rig", "authorisation", "doubt__by"
        ).order_by("opened_at", "pk")
    )
    signed: dict[int, list[SignedVerdict]] = defaultdict(list)
    verdicts = SignedVerdict.objects.filter(trial__in=[row.pk for row in found]).select_related("signed_by")
    if at is not None:
        verdicts = verdicts.filter(signed_at__lte=at)
    for verdict in verdicts.defer("record").order_by("signed_at", "pk"):
        signed[verdict.trial_id].append(verdict)
    return [_trial(row, signed[row.pk]) for row in found]


def _trial(row: Trial, signed: list[SignedVerdict]) -> TrialStanding:
    if not signed:
        return TrialStanding(row, None, None)
    return TrialStanding(row, signed[-1], from_json(signed[-1].verdict), len(signed), signed[0].signed_at)


def _standing(
    line: OrderLine, trials: list[TrialStanding], check: Check | None, sheet: ParameterSheet | None
) -> LineStanding:
    edition, result = _result(line, trials, sheet)
    ids = sorted(trial.signed.pk for trial in trials if trial.signed is not None)
    stale = check is not None and check.verdict_ids != ids
    state: LineStateWord
    if not trials:
        state = "to test"
    elif len(ids) < len(trials) or result.state in ("not started", "more specimens needed"):
        state = "under way"
    elif check is None or stale:
        state = "signed"
    else:
        state = "checked" if check.finding == Check.Finding.SOUND else "returned"
    return LineStanding(line, state, result, tuple(trials), check, stale, edition)


def _line_edition(line: OrderLine, trials: list[TrialStanding], sheet: ParameterSheet | None) -> MethodEdition:
    """The edition with the figures of the latest trial; without one, those a trial opened now would have."""
    if trials:
        return trial_edition(trials[-1].trial)
    return edition_of(line.method_key, parameters_under(line, sheet)[1])


def _result(
    line: OrderLine, trials: list[TrialStanding], sheet: ParameterSheet | None
) -> tuple[MethodEdition | None, LineResult]:
    if known_edition(line.method_key) is None:
        return None, LineResult("not started", f"This program does not know the method edition {line.method_key}.")
    try:
        edition = _line_edition(line, trials, sheet)
    except Refused as refusal:
        return None, LineResult("hold", refusal.sentence)
    judged = [
        LineTrial(
            standing.specimen_text,
            standing.verdict,
            sequence,
            standing.trial.severity,
            standing.trial.conditioning_plan,
            bool(standing.trial.again_reason),
        )
        for sequence, standing in enumerate(trials)
        if standing.verdict is not None
    ]
    doubts = [doubt for standing in trials if (doubt := _doubt(standing)) is not None]
    asked = Asked(line.severity, line.specimens_ordered, line.start_severity)
    return edition, edition.judge_line(asked, judged, doubts)


def _doubt(standing: TrialStanding) -> LineDoubt | None:
    """The doubt about a signed trial; it counts when it was recorded before the first signing's verdict."""
    doubt = getattr(standing.trial, "doubt", None)
    if doubt is None or standing.first_signed_at is None:
        return None
    return LineDoubt(standing.specimen_text, doubt.reason, doubt.at <= standing.first_signed_at)

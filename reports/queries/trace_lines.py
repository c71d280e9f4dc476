"""What order lines would answer with the verdicts of a reverse trace in place of the signed ones."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime
from typing import Literal

from reports.queries.trace import TracedTrial
from specimens.queries.orders import lines_with_order
from trials.domain.bias_finding import BiasFinding
from trials.domain.verdicts import Verdict
from trials.queries.results import LineStanding, line_result_with, line_standings

_NOT_DECIDED = "cannot be decided"

type LineWords = dict[int, tuple[str, str]]
"""By order line, its answer before and after; the first is empty where the second cannot be decided."""


def line_words(found: Sequence[tuple[TracedTrial, BiasFinding]], at: datetime) -> LineWords:
    """For each order line whose verdicts move: its answer at `at`, and after; four reads at most.

    A line with a trial that cannot be decided cannot be either, and its other trials are not read.
    """
    moved: dict[int, list[tuple[TracedTrial, BiasFinding]]] = defaultdict(list)
    for one, answer in found:
        if answer.finding != "unchanged":
            moved[one.trial.job.order_line_id].append((one, answer))
    open_lines = {line for line, many in moved.items() if any(a.finding == "undecidable" for _, a in many)}
    words: LineWords = dict.fromkeys(open_lines, ("", _NOT_DECIDED))
    changed = {line: many for line, many in moved.items() if line not in open_lines}
    if changed:
        standings = line_standings(list(lines_with_order().filter(pk__in=changed.keys())), at)
        words |= {line: _line_answer(standings[line], many) for line, many in changed.items() if line in standings}
    return words


def _line_answer(standing: LineStanding, many: Sequence[tuple[TracedTrial, BiasFinding]]) -> tuple[str, str]:
    before = standing.result
    after = [line_result_with(standing, verdicts) for verdicts in (_verdicts(many, "step"), _verdicts(many, "drift"))]
    if after[0].state != after[1].state:
        return before.sentence, _NOT_DECIDED
    if (after[0].state, after[0].result) == (before.state, before.result):
        return before.sentence, "the same"
    return before.sentence, after[0].sentence


def _verdicts(many: Sequence[tuple[TracedTrial, BiasFinding]], case: Literal["step", "drift"]) -> dict[int, Verdict]:
    pairs = [(one.trial.pk, a.step_verdict if case == "step" else a.drift_verdict) for one, a in many]
    return {trial: verdict for trial, verdict in pairs if verdict is not None}

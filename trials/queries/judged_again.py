"""One signed trial judged again now: from its rows by its own figures, and by the laboratory's newest ones."""

from dataclasses import dataclass

from labsite.ledger.refusals import Refused
from trials.domain.record_json import record_to_json
from trials.domain.records import RecordError, TrialRecord
from trials.domain.rejudging import Difference, record_differences, verdict_differences
from trials.domain.verdicts import Verdict
from trials.models import Trial
from trials.queries.methods import edition_of
from trials.queries.results import TrialStanding
from trials.queries.sheets import line_parameters


@dataclass(frozen=True, slots=True)
class Comparison:
    """A signed verdict beside another one: by which figures, what it says, and all that differs.

    `sentence` is the other verdict's, or why there is none.
    """

    by: str
    sentence: str
    differences: tuple[Difference, ...]


@dataclass(frozen=True, slots=True)
class JudgedAgain:
    """What differs now: in the record that the rows give, and in the verdict by the own and by the newest figures.

    A comparison is there only where something differs.
    """

    rows: tuple[Difference, ...]
    comparisons: tuple[Comparison, ...]


def judged_again(own: TrialStanding, record: TrialRecord | None, judged: Verdict | None, fault: str) -> JudgedAgain:
    """Compare a trial's signed verdict and record with what its rows give now; two queries. Empty while unsigned."""
    if own.signed is None or own.verdict is None:
        return JudgedAgain((), ())
    rows = () if record is None else record_differences(own.signed.record, record_to_json(record))
    by_own = _compared("the figures it was opened under", own.verdict, judged, fault)
    return JudgedAgain(rows, tuple(one for one in (by_own, _by_newest(own.trial, own.verdict, record)) if one))


def _by_newest(trial: Trial, signed: Verdict, record: TrialRecord | None) -> Comparison | None:
    """None where the trial was opened under the newest figures, or they change nothing."""
    line = trial.job.order_line
    try:
        revision, changes = line_parameters(line)
        if record is None or changes == trial.parameter_changes:
            return None
        by = f"revision {revision} of the laboratory’s figures" if revision else "the figures agreed for the order now"
        verdict = edition_of(trial.method_key, changes).judge(record)
        return _compared(by, signed, verdict, "")
    except (RecordError, Refused) as wrong:
        return _compared("the newest figures", signed, None, str(wrong))


def _compared(by: str, signed: Verdict, now: Verdict | None, fault: str) -> Comparison | None:
    if now is None:
        return Comparison(by, f"Cannot be judged. {fault}", ())
    differences = verdict_differences(signed, now)
    return Comparison(by, now.sentence, differences) if differences else None

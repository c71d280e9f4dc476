"""What judging a trial again with an instrument's error put right says: unchanged, changed, or undecidable."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from trials.domain.applied_corrections import CalibratedUse
from trials.domain.bias import Corrected, WrongInstrument, corrected_record, relaxed
from trials.domain.criteria import Criterion, capitalised, mid_sentence, with_unit
from trials.domain.methods.base import MethodEdition
from trials.domain.records import RecordError, TrialRecord
from trials.domain.verdicts import WORDS, Verdict

type Finding = Literal["unchanged", "changed", "undecidable"]
NEGLIGIBLE_SHARE = 3
"""A shift below U divided by this is called negligible: the laboratory's policy, common practice."""


@dataclass(frozen=True, slots=True)
class ShiftedFigure:
    """One figure of the trial that the error moves: as judged, put right as a step and as a drift, and its limit."""

    title: str
    read: str
    step: str
    drift: str
    permitted: str


@dataclass(frozen=True, slots=True)
class BiasFinding:
    """The answer for one trial.

    `before` is the outcome as signed, `step` and `drift` the outcomes after, "" where nothing could be judged.
    `remark` says what of it is negligible beside the uncertainty, where that is known.
    """

    finding: Finding
    sentence: str
    before: str
    step: str = ""
    drift: str = ""
    figures: tuple[ShiftedFigure, ...] = ()
    remark: str = ""
    step_verdict: Verdict | None = None
    drift_verdict: Verdict | None = None


def judged_with_error(
    edition: MethodEdition,
    record: TrialRecord,
    uses: Sequence[CalibratedUse],
    wrong: WrongInstrument,
    *,
    signed: str,
    share: Decimal,
    expanded: Mapping[str, Decimal] | None = None,
) -> BiasFinding:
    """Return what the trial's own edition says once the error of `wrong` is put right.

    `signed` is the outcome that was signed, `share` how much of the error there was at the trial if it grew evenly,
    `expanded` the laboratory's expanded uncertainties by quantity. Unchanged: step and drift give the verdict that
    was signed. Changed: both give the same other one. Undecidable: they differ, or a figure cannot be put right.
    """
    if not wrong.tables:
        return BiasFinding("undecidable", f"How far {wrong.code} was off is not stated by any calibration.", signed)
    try:
        base = edition.judge(record)
        put = corrected_record(edition, record, uses, wrong, share)
        step, drift = edition.judge(put.step), edition.judge(put.drift)
        lacks = [*put.lacks, *_unsaid(edition, put, step, wrong)]
    except RecordError as fault:
        return BiasFinding("undecidable", f"It cannot be judged with the error put right: {fault}", signed)
    if base.outcome != signed:
        lacks.append(f"judged today without the error it is {base.outcome}, and {signed} was signed")
    return BiasFinding(
        finding=_finding(base, step, drift, lacks),
        sentence=_sentence(base, step, drift, lacks, wrong),
        before=signed,
        step=_word(step),
        drift=_word(drift),
        figures=_figures(base, step, drift),
        remark=_remark(base, step, expanded or {}),
        step_verdict=step,
        drift_verdict=drift,
    )


def _unsaid(edition: MethodEdition, put: Corrected, step: Verdict, wrong: WrongInstrument) -> list[str]:
    """Why a number that may have been read on the instrument leaves it open; none where it decides nothing."""
    if put.step_if_read is None or relaxed(edition).judge(put.step_if_read).word == step.word:
        return []
    titles = ", ".join(mid_sentence(title) for title in put.assumed)
    return [f"the method does not say whether {titles} is read on {wrong.code}, and it would decide"]


def _finding(base: Verdict, step: Verdict, drift: Verdict, lacks: Sequence[str]) -> Finding:
    if lacks or step.word != drift.word:
        return "undecidable"
    return "unchanged" if step.word == base.word else "changed"


def _word(verdict: Verdict) -> str:
    """The outcome with its condition: "pass", "conditional pass"."""
    return f"conditional {verdict.outcome}" if verdict.conditional else verdict.outcome


def _sentence(base: Verdict, step: Verdict, drift: Verdict, lacks: Sequence[str], wrong: WrongInstrument) -> str:
    if lacks:
        return _short(f"{capitalised('; '.join(lacks))}.")
    if step.word != drift.word:
        return _short(f"It depends on when the error began. As a step: {step.sentence} As a drift: {drift.sentence}")
    if step.word == base.word:
        return f"{base.word} before and after."
    return _short(f"{WORDS[base.outcome]} as signed; with the error of {wrong.code} put right: {step.sentence}")


def _short(text: str, most: int = 400) -> str:
    return text if len(text) <= most else f"{text[: most - 1]}…"


def _figures(base: Verdict, step: Verdict, drift: Verdict) -> tuple[ShiftedFigure, ...]:
    """Criteria whose finding the error moves, those that no longer hold as before first."""
    after, slowly = _by_key(step), _by_key(drift)
    found = []
    for key, one in _by_key(base).items():
        put, drifted = after.get(key), slowly.get(key)
        if put is not None and put.found != one.found:
            text = one.found if drifted is None else drifted.found
            found.append((put.holds is one.holds, ShiftedFigure(one.title, one.found, put.found, text, one.limit)))
    return tuple(figure for _, figure in sorted(found, key=lambda pair: pair[0]))


def _by_key(verdict: Verdict) -> dict[str, Criterion]:
    return {one.key: one for one in (*verdict.setup_criteria, *verdict.criteria)}


def _remark(base: Verdict, step: Verdict, expanded: Mapping[str, Decimal]) -> str:
    """Every quantity that moves although by less than a third of its uncertainty."""
    after = {one.key: one for one in step.quantities}
    small = []
    for one in base.quantities:
        put, wide = after.get(one.key), expanded.get(one.key)
        if put is None or put.value is None or one.value is None or wide is None or put.value == one.value:
            continue
        moved = abs(put.value - one.value)
        if moved * NEGLIGIBLE_SHARE < wide:
            by, u = with_unit(moved, one.unit), with_unit(wide, one.unit)
            small.append(f"{one.title} moves by {by}, less than a third of U = {u}: negligible.")
    return " ".join(small)

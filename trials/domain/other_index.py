"""What the other of two indexes could be read as from trials run for the one: offered with reasons, never counted."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from labsite.ledger.wording import mid_sentence
from trials.domain.line_result import Asked, LevelResult, LineResult, LineTrial, NextStep
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import EDITIONS
from trials.domain.observations import standing
from trials.domain.records import RecordError, TrialRecord

PAIRS: Final[tuple[tuple[str, str], ...]] = (("glow-wire-flammability-index", "glow-wire-ignition-temperature"),)
"""Methods that press the same wire to the same plate and judge different things about it."""


@dataclass(frozen=True)
class RanTrial:
    """One trial as it was run and recorded for the index ordered; `sequence` is the order in which it was begun."""

    specimen: str
    record: TrialRecord
    sequence: int


@dataclass(frozen=True)
class OtherReading:
    """What the other index could be read as.

    `may_be_read` is True only when every trial tells and the other's search would have ended with them; `result` is
    then the index as the trade writes it. `levels` are the levels as the other method sees them, `missing` what it
    would have to test further. `reasons` say why it may or may not be read. Nothing of this enters an order line.
    """

    method_key: str
    may_be_read: bool
    sentence: str
    reasons: tuple[str, ...] = ()
    levels: tuple[LevelResult, ...] = ()
    result: str = ""
    missing: NextStep | None = None


def other_edition(edition: MethodEdition) -> MethodEdition | None:
    """Return the edition of the same year of the method that could be read beside this one; None where none is."""
    for one, other in PAIRS:
        if edition.slug in (one, other):
            slug = other if edition.slug == one else one
            return EDITIONS.get(f"{slug}@{edition.edition}")
    return None


def other_reading(own: MethodEdition, other: MethodEdition, trials: Sequence[RanTrial]) -> OtherReading:
    """Return what `other` could be read as from trials that were run under `own`, with the reasons.

    Each record is judged as it stands by the other edition: what that asks for and nobody recorded (a layer, an end
    of a flame) leaves the trial untold, and one untold trial bars the reading, for it might have failed. A trial that
    is invalid for the index ordered is left out of both. Independent of the order of `trials`. Raises RecordError for
    a record of another edition than `own`, so that trials of two methods are never read as one set, and for one that
    does not fit it.
    Source: a reading of IEC 60695-2-12 and -2-13, which share apparatus and conditioning but not their criteria.
    """
    run = sorted(trials, key=lambda t: (t.sequence, t.specimen))
    verdicts = [own.judge(t.record) for t in run]
    name = other.short_title
    if own.apparatus != other.apparatus:
        why = f"The trials were run on the apparatus of {own.apparatus}, {other.standard} asks for {other.apparatus}."
        return OtherReading(other.key, False, f"{name} cannot be read: the apparatus is of another edition.", (why,))
    valid = [trial for trial, verdict in zip(run, verdicts, strict=True) if verdict.outcome in ("pass", "fail")]
    read, untold, off_level = _read(own, other, valid)
    line = other.judge_line(Asked(None, other.specimens_needed), read)
    aside = [
        f"Specimen {trial.specimen} is left out of both: {verdict.sentence}"
        for trial, verdict in zip(run, verdicts, strict=True)
        if verdict.outcome not in ("pass", "fail")
    ]
    may_be_read = line.state == "determined" and not untold
    return OtherReading(
        method_key=other.key,
        may_be_read=may_be_read,
        sentence=_sentence(name, line, len(read), untold),
        reasons=(*untold, *off_level, *_why(line, own, other, read), *aside),
        levels=line.levels,
        result=line.result if may_be_read else "",
        missing=line.next,
    )


def _read(
    own: MethodEdition, other: MethodEdition, valid: Sequence[RanTrial]
) -> tuple[list[LineTrial], list[str], list[str]]:
    """The trials the other edition can judge, a sentence for each it cannot, and one for each at no level of it."""
    read, untold, off_level = [], [], []
    for trial in valid:
        level = own.severity_text(trial.record.severity)
        if trial.record.severity is None or other.severity(trial.record.severity) is None:
            off_level.append(f"Specimen {trial.specimen} says nothing: {level} is no level of {other.short_standard}.")
            continue
        try:
            verdict = other.judge(_record_for(other, trial.record))
        except RecordError as refusal:
            untold.append(f"Specimen {trial.specimen} at {level} does not tell: {str(refusal).rstrip('.')}.")
            continue
        if verdict.outcome in ("pass", "fail"):
            read.append(LineTrial(trial.specimen, verdict, trial.sequence, trial.record.severity))
        else:
            because = verdict.sentence.partition(": ")[2]
            untold.append(f"Specimen {trial.specimen} at {level} does not tell: {because}")
    return read, untold, off_level


def _record_for(other: MethodEdition, record: TrialRecord) -> TrialRecord:
    """The record as the other edition asks for it: what stands of it, without what that edition has no place for."""
    rows = tuple(
        replace(row, replaces=None, takes_back=None)
        for row in standing(record.observations)
        if row.kind in other.kinds_by_key
    )
    roles = {need.role for need in other.instruments}
    return replace(
        record,
        method_key=other.key,
        setup={key: value for key, value in record.setup.items() if key in other.fields_by_key},
        observations=rows,
        instruments=tuple(use for use in record.instruments if use.role in roles),
    )


def _sentence(name: str, line: LineResult, count: int, untold: Sequence[str]) -> str:
    trials = f"{count} trial{'' if count == 1 else 's'}"
    if untold:
        which = "one trial does" if len(untold) == 1 else f"{len(untold)} trials do"
        return f"{name} cannot be read: {which} not tell."
    if line.state == "determined":
        return f"Offered, not counted: {trials} could be read as {line.result}."
    if line.next is not None and count:
        more = f"{line.next.specimens} more specimen{'' if line.next.specimens == 1 else 's'}"
        return f"{name} cannot be read from {trials}: {more} would be needed."
    return f"{name} cannot be read: {mid_sentence(line.sentence) if count else 'no trial tells.'}"


def _why(line: LineResult, own: MethodEdition, other: MethodEdition, read: Sequence[LineTrial]) -> list[str]:
    """What the other search says: what it would ask for, what is out of the ordinary, and by whose rules it goes."""
    if not read:
        return []
    why = [f"Run for {own.short_title} by {own.short_standard}, read by the criteria of {other.short_standard}."]
    if line.next is not None:
        why.append(f"At {other.severity_text(line.next.severity)}: {line.next.reason}")
    return [*why, *line.flags]

"""Stays under a recorder in doubt counted again with its error put right, and the trials that rest on them judged."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from typing import Any

from calibration.domain.corrections import CorrectionTable
from calibration.domain.growing_corrections import grown_table
from calibration.queries.corrections import calibration_corrections
from reports.domain.trace_rows import Finding
from reports.queries.trace import TracedStay
from specimens.domain.conditioning_state import ConditioningState
from specimens.models import ClimateRecord, StaySpecimen
from specimens.queries.conditioning import specimen_conditioning
from trials.domain.record_json import record_from_json
from trials.domain.records import RecordError, TrialRecord
from trials.domain.setup_criteria import hours_text
from trials.models import SignedVerdict
from trials.queries.methods import trial_edition

_WORST: tuple[tuple[Finding, str], ...] = (
    ("changed", "with another verdict"),
    ("undecidable", "that cannot be decided"),
)


@dataclass(frozen=True, slots=True)
class WrongRecorder:
    """A recorder and how it was found: the corrections it needed, those it had, and how far the error had grown.

    `found` is empty where no calibration says how far it was off. `share` (0 to 1) is what a steady growth had reached
    when the last of the stays ended.
    """

    code: str
    found: Mapping[str, CorrectionTable]
    before: Mapping[str, CorrectionTable]
    share: Decimal

    @property
    def grown(self) -> dict[str, CorrectionTable]:
        """The corrections it needed by then, had the error grown steadily."""
        return {unit: grown_table(self.before.get(unit), table, self.share) for unit, table in self.found.items()}


@dataclass(frozen=True, slots=True)
class StayFinding:
    """The answer for one stay: what the trials that rest on it, or its readiness, would be."""

    finding: Finding
    sentence: str


def recorder_corrections(recorders: Iterable[int], at: datetime) -> dict[int, Mapping[str, CorrectionTable]]:
    """By recorder, the corrections its newest climate record attached by `at` was judged with; four reads."""
    keys = list(recorders)
    if not keys:
        return {}
    records = ClimateRecord.objects.filter(recorder__in=keys, calibration__isnull=False, attached_at__lte=at)
    held = dict(records.order_by("last_at", "pk").values_list("recorder_id", "calibration_id"))
    stated = calibration_corrections(held.values(), at)
    return {recorder: stated[calibration].tables for recorder, calibration in held.items()}


def stay_findings(
    stays: Iterable[TracedStay], recorders: Mapping[int, WrongRecorder], at: datetime
) -> dict[int, StayFinding]:
    """The answer for each stay by its key, with the hours counted again as a step and as a drift.

    Hours are those known at `at`; a trial whose signed hours are others by now is undecidable. The same number of
    reads for any number of stays.
    """
    wanted = list(stays)
    if not wanted:
        return {}
    members: dict[int, list[int]] = defaultdict(list)
    for stay, specimen in StaySpecimen.objects.filter(stay__in=[one.stay.pk for one in wanted]).values_list(
        "stay", "specimen"
    ):
        members[stay].append(specimen)
    specimens = {one for many in members.values() for one in many}
    known = _Counted(specimens, recorders, at)
    verdicts = _signed(specimens, at)
    return {
        one.stay.pk: _finding(one, recorders[one.stay.recorder_id], members[one.stay.pk], known, verdicts)
        for one in wanted
    }


class _Counted:
    """The hours of each specimen as they are counted, and with the error put right under both assumptions."""

    def __init__(self, specimens: Iterable[int], recorders: Mapping[int, WrongRecorder], at: datetime) -> None:
        keys = list(specimens)
        stated = {key: one for key, one in recorders.items() if one.found}
        self.before = specimen_conditioning(keys, at)
        self.step = specimen_conditioning(keys, at, instead={key: one.found for key, one in stated.items()})
        self.drift = specimen_conditioning(keys, at, instead={key: one.grown for key, one in stated.items()})


def _signed(specimens: Iterable[int], at: datetime) -> dict[int, list[SignedVerdict]]:
    """The last verdict signed by `at` of each trial on these specimens, by specimen; one read."""
    rows = SignedVerdict.objects.filter(trial__specimen__in=list(specimens), signed_at__lte=at).defer("verdict")
    last = {row.trial_id: row for row in rows.select_related("trial").order_by("signed_at", "pk")}
    found: dict[int, list[SignedVerdict]] = defaultdict(list)
    for row in last.values():
        found[row.trial.specimen_id].append(row)
    return found


def _finding(
    stay: TracedStay,
    recorder: WrongRecorder,
    specimens: Iterable[int],
    known: _Counted,
    verdicts: Mapping[int, list[SignedVerdict]],
) -> StayFinding:
    if not recorder.found:
        return StayFinding(
            "undecidable", f"The hours in band rest on {recorder.code}, and nothing says how far it was off."
        )
    keys = sorted(specimens)
    words = _hours_words(recorder, keys, known)
    answers = [_judged(row, known, key) for key in keys for row in verdicts.get(key, ())]
    if not answers:
        same = all(known.before[key].ready == known.step[key].ready == known.drift[key].ready for key in keys)
        ready = "whether they are ready does not change" if same else "whether they are ready changes"
        return StayFinding("unchanged" if same else "changed", f"{words}; nothing is signed yet, and {ready}.")
    many = "one trial rests on it" if len(answers) == 1 else f"{len(answers)} trials rest on it"
    for finding, end in _WORST:
        if finding in answers:
            return StayFinding(finding, f"{words}; {many}, {answers.count(finding)} {end}.")
    return StayFinding("unchanged", f"{words}; {many}, no verdict changes.")


def _judged(row: SignedVerdict, known: _Counted, specimen: int) -> Finding:
    try:
        edition = trial_edition(row.trial)
        record = record_from_json(edition, _plain(row))
        before = _conditioned(record, known.before[specimen])
        if before.conditioning != record.conditioning:
            return "undecidable"
        step = edition.judge(_conditioned(record, known.step[specimen])).outcome
        drift = edition.judge(_conditioned(record, known.drift[specimen])).outcome
    except RecordError:
        return "undecidable"
    if step == drift:
        return "unchanged" if step == row.outcome else "changed"
    return "undecidable"


def _plain(row: SignedVerdict) -> dict[str, Any]:
    return dict(row.record)


def _conditioned(record: TrialRecord, state: ConditioningState) -> TrialRecord:
    """The record with the hours of a state; what the record does not know stays unknown."""
    known = record.conditioning
    return replace(
        record,
        conditioning=replace(
            known,
            counted_s=None if known.counted_s is None else Decimal(int(state.counted_s)),
            earlier_s=None if known.earlier_s is None else Decimal(int(state.earlier_s)),
        ),
    )


def _hours_words(recorder: WrongRecorder, keys: list[int], known: _Counted) -> str:
    before, step, drift = (
        min(states[key].counted_s for key in keys) for states in (known.before, known.step, known.drift)
    )
    texts = [hours_text(int(one)) for one in (before, step, drift)]
    return (
        f"{texts[0]} count as recorded; with the error of {recorder.code} put right {texts[1]}, as a drift {texts[2]}"
    )

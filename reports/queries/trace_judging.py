"""Every line of a reverse trace judged again with the error put right: unchanged, changed, undecidable, and why."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, Literal
from zoneinfo import ZoneInfo

from calibration.domain.doubt import Reach
from calibration.domain.due import day_at
from calibration.domain.status import shown
from calibration.models import Calibration
from calibration.queries.corrections import calibration_corrections
from calibration.queries.doubt import calibration_moment
from labsite.ledger.queries import laboratory_zone
from labsite.ledger.refusals import Refused
from reports.domain.trace_rows import Finding, RowFacts, RowFigure
from reports.queries.trace import Trace, TracedStay, TracedTrial
from reports.queries.trace_lines import LineWords, line_words
from reports.queries.trace_stays import StayFinding, WrongRecorder, recorder_corrections, stay_findings
from trials.domain.applied_corrections import CalibratedUse
from trials.domain.bias import WrongInstrument, drift_share
from trials.domain.bias_finding import BiasFinding, judged_with_error
from trials.domain.record_json import record_from_json
from trials.domain.records import RecordError
from trials.models import InstrumentUse, SignedVerdict, UncertaintyBudget
from trials.queries.methods import method_words, severity_words, trial_edition

_NOT_SIGNED = "No verdict was signed yet; it is to be judged with the error put right before it is signed."


@dataclass(frozen=True, slots=True)
class JudgedRow:
    """One line of the trace with its finding; which of the records it is about is named by their keys."""

    kind: Literal["trial", "stay", "instrument"]
    finding: Finding
    sentence: str
    at: datetime
    facts: RowFacts
    trial_id: int | None = None
    verdict_id: int | None = None
    stay_id: int | None = None
    instrument_id: int | None = None
    through_id: int | None = None


def judged_rows(trace: Trace) -> tuple[JudgedRow, ...]:
    """All lines of a trace: trials first, in each kind what changed before what is open before what stays.

    A constant number of reads beside the search: records, uses, corrections, budgets, and the lines of what moved.
    """
    wrongs = _Wrongs(trace)
    found = [(one, wrongs.judged(one)) for one in trace.trials]
    lines = line_words(found, trace.at)
    rows = [_trial_row(one, answer, lines, wrongs.zone) for one, answer in found]
    stays = stay_findings(trace.stays, wrongs.recorders(), trace.at)
    rows += [_stay_row(one, stays[one.stay.pk], wrongs.zone) for one in trace.stays]
    rows += [_instrument_row(one, trace, wrongs) for one in trace.doubt.reaches]
    order: tuple[Finding, ...] = ("changed", "undecidable", "unchanged")
    kinds = ("trial", "stay", "instrument")
    return tuple(sorted(rows, key=lambda row: (kinds.index(row.kind), order.index(row.finding), row.at)))


class _Wrongs:
    """What judging needs beside the trials, read once for all of them."""

    def __init__(self, trace: Trace) -> None:
        self.trace = trace
        self.zone = laboratory_zone()
        bad = trace.doubt.calibration
        wanted = {one.ended_by for one in trace.doubt.reaches if one.ended_by is not None}
        wanted |= {bad.pk} if bad is not None else set()
        self.by_calibration = calibration_corrections(wanted, trace.at, as_found=True) if wanted else {}
        ended = {pk for pk in wanted if bad is None or pk != bad.pk}
        rows = Calibration.objects.filter(pk__in=ended) if ended else ()
        self.found_at = {row.pk: calibration_moment(row, self.zone) for row in rows}
        if bad is not None:
            self.found_at[bad.pk] = calibration_moment(bad, self.zone)
        trials = {one.trial.pk for one in trace.trials}
        self.records = _records(one.signed.pk for one in trace.trials if one.signed is not None)
        self.uses = _calibrated_uses(trials, trace.at)
        self.budgets = _budgets(trials)

    def judged(self, one: TracedTrial) -> BiasFinding:
        """The answer for one trial."""
        if one.signed is None:
            return BiasFinding("undecidable", _NOT_SIGNED, "")
        calibration_id, from_at = self._basis(one.reach)
        wrong = self._wrong(one.instrument_id, calibration_id)
        found_at = self.found_at.get(calibration_id or 0)
        share = Decimal(1) if found_at is None else drift_share(one.at, from_at, found_at)
        try:
            edition = trial_edition(one.trial)
            record = record_from_json(edition, self.records[one.signed.pk])
        except (RecordError, Refused) as fault:
            return BiasFinding("undecidable", f"It cannot be judged again: {fault}", one.signed.outcome)
        return judged_with_error(
            edition,
            record,
            self.uses[one.trial.pk],
            wrong,
            signed=one.signed.outcome,
            share=share,
            expanded=_expanded(self.budgets, edition.slug, one.signed.signed_at),
        )

    def recorders(self) -> dict[int, WrongRecorder]:
        """The recorders of the traced stays, each with its error as it was found."""
        reaches = {one.stay.recorder_id: one.reach for one in self.trace.stays}
        before = recorder_corrections(reaches, self.trace.at)
        found = {}
        for key, reach in reaches.items():
            calibration_id, from_at = self._basis(reach)
            ends = [one.until_at or self.trace.at for one in self.trace.stays if one.stay.recorder_id == key]
            found_at = self.found_at.get(calibration_id or 0)
            share = Decimal(1) if found_at is None else drift_share(max(ends), from_at, found_at)
            wrong = self._wrong(key, calibration_id)
            found[key] = WrongRecorder(wrong.code, wrong.tables, before.get(key, {}), share)
        return found

    def _basis(self, reach: Reach | None) -> tuple[int | None, datetime]:
        """The calibration whose as-found figures count, and when the error began to grow, if it grew evenly."""
        if reach is not None:
            return reach.ended_by, reach.from_at
        bad = self.trace.doubt.calibration
        return None if bad is None else bad.pk, self.trace.doubt.drift_from_at

    def _wrong(self, instrument_id: int, calibration_id: int | None) -> WrongInstrument:
        known = self.by_calibration.get(calibration_id or 0)
        if known is None:
            instrument = self.trace.instruments[instrument_id]
            return WrongInstrument(instrument.code, 0, day_at(self.trace.at, self.zone), {})
        return WrongInstrument(known.code, known.calibration_id, known.calibrated_on, known.tables, known.chain_with)


def _records(verdicts: Iterable[int]) -> dict[int, dict[str, Any]]:
    keys = list(verdicts)
    return dict(SignedVerdict.objects.filter(pk__in=keys).values_list("pk", "record")) if keys else {}


def _calibrated_uses(trials: Collection[int], at: datetime) -> dict[int, list[CalibratedUse]]:
    """The instruments of each trial with the corrections of the calibrations that held then; four reads."""
    found: dict[int, list[CalibratedUse]] = defaultdict(list)
    if not trials:
        return found
    rows = list(
        InstrumentUse.objects.filter(trial__in=trials)
        .order_by("role", "pk")
        .values_list("trial_id", "role", "instrument__code", "calibration_id")
    )
    stated = calibration_corrections({row[3] for row in rows}, at)
    for trial, role, code, calibration in rows:
        known = stated[calibration]
        found[trial].append(CalibratedUse(role, code, calibration, known.calibrated_on, known.tables, known.chain_with))
    return found


def _budgets(trials: Collection[int]) -> list[UncertaintyBudget]:
    return list(UncertaintyBudget.objects.order_by("made_at", "pk")) if trials else []


def _expanded(budgets: Iterable[UncertaintyBudget], slug: str, at: datetime) -> dict[str, Decimal]:
    """The laboratory's expanded uncertainties of a method's quantities as they stood at a moment, by quantity."""
    return {
        one.quantity_key: one.expanded_uncertainty
        for one in budgets
        if one.method_slug == slug and one.made_at <= at and one.expanded_uncertainty is not None
    }


def _trial_row(one: TracedTrial, answer: BiasFinding, lines: LineWords, zone: ZoneInfo) -> JudgedRow:
    certificate, issued_on = _certificate(one, zone)
    line = one.trial.job.order_line
    before, after = lines.get(line.pk, ("", ""))
    facts = RowFacts(
        number=one.trial.specimen.number,
        client=line.order.client.name,
        order=line.order.number,
        method=" ".join(method_words(one.trial.method_key)),
        level=severity_words(one.trial.method_key, one.trial.severity),
        roles=", ".join(one.roles),
        figures=tuple(RowFigure(f.title, f.read, f.step, f.drift, f.permitted) for f in answer.figures),
        before=answer.before,
        step=answer.step,
        drift=answer.drift,
        remark=answer.remark,
        line_before=before,
        line_after=after,
        certificate=certificate,
        issued_on=issued_on,
    )
    return JudgedRow(
        "trial",
        answer.finding,
        answer.sentence,
        one.at,
        facts,
        trial_id=one.trial.pk,
        verdict_id=None if one.signed is None else one.signed.pk,
        instrument_id=one.instrument_id,
        through_id=_through(one.reach, one.instrument_id),
    )


def _stay_row(one: TracedStay, answer: StayFinding, zone: ZoneInfo) -> JudgedRow:
    line = one.stay.order_line
    certificate, issued_on = _certificate(one, zone)
    until = "it has not ended" if one.until_at is None else f"to {shown(day_at(one.until_at, zone))}"
    many = "one specimen" if one.specimens == 1 else f"{one.specimens} specimens"
    facts = RowFacts(
        what=f"{one.stay.chamber.code}, {many}, from {shown(day_at(one.from_at, zone))} {until}",
        client=line.order.client.name,
        order=line.order.number,
        roles="recorder",
        certificate=certificate,
        issued_on=issued_on,
    )
    return JudgedRow(
        "stay",
        answer.finding,
        answer.sentence,
        one.from_at,
        facts,
        stay_id=one.stay.pk,
        instrument_id=one.stay.recorder_id,
        through_id=_through(one.reach, one.stay.recorder_id),
    )


def _instrument_row(reach: Reach, trace: Trace, wrongs: _Wrongs) -> JudgedRow:
    one, zone, ended = trace.instruments[reach.instrument], wrongs.zone, wrongs.by_calibration
    finding: Finding = "undecidable"
    sentence = f"{one.code} was {reach.words}, and nothing independent has shown it good since."
    if reach.until_at < trace.at:
        by = ended.get(reach.ended_by or 0)
        what = "a check" if by is None else f"its calibration of {shown(by.calibrated_on)}"
        finding = "unchanged"
        day = shown(day_at(reach.until_at, zone))
        sentence = f"{one.code} was {reach.words}, and shown good independently by {what}, on {day}."
    facts = RowFacts(what=f"{one.code}, {one.get_kind_display()}", roles=reach.words)
    return JudgedRow(
        "instrument",
        finding,
        sentence,
        reach.from_at,
        facts,
        instrument_id=reach.instrument,
        through_id=reach.through,
    )


def _through(reach: Reach | None, instrument_id: int) -> int | None:
    """The instrument by which a trial or a stay was reached; None for the one in doubt itself."""
    return None if reach is None else instrument_id


def _certificate(one: TracedTrial | TracedStay, zone: ZoneInfo) -> tuple[str, str]:
    """Number and day of the newest certificate that carries the line; empty without one."""
    if one.certificate is None:
        return "", ""
    return one.certificate.number, shown(day_at(one.certificate.issued_at, zone))

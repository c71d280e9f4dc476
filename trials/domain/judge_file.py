"""The judge file: one worked example as JSON text, read strictly, judged, and answered as plain JSON values."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from calibration.domain.strict_json import JsonError, Member, read_json
from trials.domain.criteria import Value
from trials.domain.line_result import Asked, Doubt, LineTrial, line_to_json
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import UnknownMethodError, method_edition
from trials.domain.parameter_changes import MEMBERS as MEMBERS_OF_A_PARAMETER
from trials.domain.parameter_changes import ParameterChangeError, changed_edition
from trials.domain.record_checks import check_severity
from trials.domain.records import Conditioning, InstrumentUse, Observation, RecordError, TrialRecord
from trials.domain.stability import TemperatureReading
from trials.domain.verdicts import Outcome, to_json

SHARED = ("setup", "temperature_readings", "conditioning", "instruments")
MEMBERS = (
    "about", "source", "method", "edition", "severity", "start", "ordered_specimens", "parameters", *SHARED,
    "specimens", "doubts", "expected",
)  # fmt: skip
SPECIMEN = ("specimen", "severity", "further_point", "observations", *SHARED)
OUTCOME = "outcome"
STATED: tuple[Outcome, ...] = ("pass", "fail", "invalid")


class JudgeFileError(ValueError):
    """A judge file that cannot be judged; the message is one sentence naming place and reason."""


@dataclass(frozen=True)
class JudgeCase:
    """One worked example: an edition, with a laboratory's own changes, its specimens in order, doubts, expectations.

    A specimen comes as a record to be judged. A level of its own is stated by the specimen, else the file's holds.
    `stated` are outcomes that the file states without observations, by the specimen's place in the list.
    """

    edition: MethodEdition
    asked: Asked
    records: tuple[tuple[str, TrialRecord, bool], ...]
    doubts: tuple[Doubt, ...]
    expected: Mapping[str, Any] | None
    stated: Mapping[int, Outcome] = field(default_factory=dict)


def judge_case(text: str, *, planning: bool = False) -> JudgeCase:
    """Return the case that a judge file's text describes; JudgeFileError if it is not one, naming the place.

    Where only the next step is asked for (`planning`), there may be no specimen yet, and a specimen may state its
    outcome in place of observations.
    """
    try:
        file = Member("", read_json(text)).members(MEMBERS)
        key = f"{file['method'].text()}@{file['edition'].text()}"
        edition = _revised(method_edition(key), file["parameters"])
        severity = file["severity"].optional_number()
        specimens = file["specimens"].items()
        if not specimens and not planning:
            raise JsonError("specimens: at least one specimen is needed.")
        if severity is None or not specimens:
            check_severity(edition, severity)
        stated = _stated(specimens) if planning else {}
        records = tuple(_record(edition, severity, file, specimen, planning=planning) for specimen in specimens)
        _refuse_double_names(records)
        ordered = 1 if file["ordered_specimens"].missing else file["ordered_specimens"].count()
        asked = Asked(severity, ordered, file["start"].optional_number())
        doubts = tuple(_doubt(doubt) for doubt in file["doubts"].items())
        expected = None if file["expected"].missing else file["expected"].mapping()
        return JudgeCase(edition, asked, records, doubts, expected, stated)
    except (JsonError, RecordError, UnknownMethodError) as refusal:
        raise JudgeFileError(str(refusal)) from refusal


def case_result(case: JudgeCase) -> dict[str, Any]:
    """Return the verdict of each specimen and the result of the line as plain JSON values.

    Where the file says what it expects, `as_expected` tells whether every expectation came out.
    Raises JudgeFileError when a record does not fit its edition.
    """
    trials = []
    for sequence, (name, record, further) in enumerate(case.records):
        try:
            verdict = case.edition.judge(record)
            trials.append(LineTrial(name, verdict, sequence, record.severity, record.conditioning.plan, further))
        except RecordError as refusal:
            raise JudgeFileError(f"specimen {name}: {refusal}") from refusal
    line = case.edition.judge_line(case.asked, trials, case.doubts)
    result: dict[str, Any] = {
        "method": case.edition.key,
        "specimens": [{"specimen": trial.specimen, "verdict": to_json(trial.verdict)} for trial in trials],
        "line": line_to_json(line),
    }
    if case.expected is not None:
        result["expected"] = dict(case.expected)
        result["as_expected"] = dict(case.expected) == _found(case.expected, trials, result["line"])
    return result


def _found(expected: Mapping[str, Any], trials: Sequence[LineTrial], line: Mapping[str, Any]) -> dict[str, Any]:
    """What came out, in the words of the expectation; an expectation of an unknown kind is never met."""
    verdicts = {trial.specimen: trial.verdict for trial in trials}
    kinds: dict[str, Callable[[], Any]] = {
        "line": lambda: line["state"],
        "line_sentence": lambda: line["sentence"],
        "result": lambda: line["result"],
        "next": lambda: (
            None if line["next"] is None else [line["next"]["severity"], Decimal(line["next"]["specimens"])]
        ),
        "needed": lambda: Decimal(line["needed"]),
        "flags": lambda: line["flags"],
        "outcomes": lambda: {name: verdict.outcome for name, verdict in verdicts.items()},
        "sentences": lambda: {name: verdict.sentence for name, verdict in verdicts.items()},
        "decided_by": lambda: {
            name: [c.key for c in (*verdict.setup_criteria, *verdict.criteria) if c.decides]
            for name, verdict in verdicts.items()
        },
    }
    return {key: kinds[key]() for key in expected if key in kinds}


def _record(
    edition: MethodEdition, severity: Decimal | None, file: Mapping[str, Member], specimen: Member, *, planning: bool
) -> tuple[str, TrialRecord, bool]:
    own = specimen.members((*SPECIMEN, *((OUTCOME,) if planning else ())))
    shared = {name: file[name] if own[name].missing else own[name] for name in SHARED}
    setup = {**_setup(file["setup"]), **_setup(own["setup"])}
    conditioning = shared["conditioning"].members(("counted_s", "minutes_since_out", "plan", "earlier_s"))
    record = TrialRecord(
        method_key=edition.key,
        severity=severity if own["severity"].missing else own["severity"].optional_number(),
        setup=setup,
        temperature_readings=tuple(_reading(reading) for reading in shared["temperature_readings"].items()),
        observations=tuple(_observation(row, n) for n, row in enumerate(own["observations"].items(), start=1)),
        conditioning=Conditioning(
            conditioning["counted_s"].optional_number(),
            conditioning["minutes_since_out"].optional_number(),
            conditioning["plan"].optional_text() or "",
            conditioning["earlier_s"].optional_number(),
        ),
        instruments=tuple(_instrument(use) for use in shared["instruments"].items()),
    )
    return own["specimen"].text(), record, own["further_point"].optional_yes_no() is True


def _stated(specimens: Sequence[Member]) -> dict[int, Outcome]:
    """The outcomes that specimens state, by their place in the list."""
    found: dict[int, Outcome] = {}
    for place, specimen in enumerate(specimens):
        own = specimen.members((*SPECIMEN, OUTCOME))
        if not own[OUTCOME].missing:
            said = own[OUTCOME].text()
            if said not in STATED:
                raise JsonError(f"{own[OUTCOME].place}: {said!r} is none of {', '.join(STATED)}.")
            if own["observations"].items():
                raise JsonError(f"{specimen.place}: it states its outcome and has observations; it can have one.")
            found[place] = said
    return found


def _refuse_double_names(records: Sequence[tuple[str, TrialRecord, bool]]) -> None:
    names = [name for name, _, further in records if not further]
    for name in names:
        if names.count(name) > 1:
            raise JsonError(f"specimens: specimen {name} is listed twice.")


def _setup(member: Member) -> dict[str, Value]:
    return {} if member.missing else {key: Member(f"setup.{key}", v).value() for key, v in member.mapping().items()}


def _reading(member: Member) -> TemperatureReading:
    own = member.members(("t_s", "read_c", "correction_k"))
    return TemperatureReading(own["t_s"].number(), own["read_c"].number(), own["correction_k"].optional_number())


def _observation(member: Member, number: int) -> Observation:
    own = member.members(("row", "kind", "t_s", "value", "replaces", "takes_back", "reason"))
    return Observation(
        row=str(number) if own["row"].missing else own["row"].text(),
        kind=own["kind"].text(),
        t_s=own["t_s"].optional_number(),
        value=own["value"].value(),
        replaces=own["replaces"].optional_text(),
        takes_back=own["takes_back"].optional_text(),
        reason=own["reason"].optional_text() or "",
    )


def _instrument(member: Member) -> InstrumentUse:
    own = member.members(("role", "code", "usable", "reason", "override_reason"))
    return InstrumentUse(
        role=own["role"].text(),
        code=own["code"].text(),
        usable=own["usable"].optional_yes_no(),
        reason=own["reason"].optional_text() or "",
        override_reason=own["override_reason"].optional_text() or "",
    )


def _doubt(member: Member) -> Doubt:
    own = member.members(("specimen", "reason", "before_verdict"))
    return Doubt(own["specimen"].text(), own["reason"].text(), own["before_verdict"].optional_yes_no() is True)


def _revised(edition: MethodEdition, changes: Member) -> MethodEdition:
    """Return the edition with the figures a laboratory states as its own, each member of a parameter by name."""
    stated: dict[str, dict[str, Value]] = {}
    for key, change in ({} if changes.missing else changes.mapping()).items():
        own = Member(f"parameters.{key}", change).members(MEMBERS_OF_A_PARAMETER)
        stated[key] = {name: member.value() for name, member in own.items() if not member.missing}
    try:
        return changed_edition(edition, stated)
    except ParameterChangeError as refusal:
        raise JsonError(f"parameters.{refusal.place}: {refusal.sentence}") from refusal

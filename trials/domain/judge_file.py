"""The judge file: one worked example as JSON text, read strictly, judged, and answered as plain JSON values."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from trials.domain.criteria import Value
from trials.domain.line_result import Doubt, LineTrial, line_to_json
from trials.domain.methods.base import MethodEdition, Parameter
from trials.domain.methods.registry import UnknownMethodError, method_edition
from trials.domain.records import Conditioning, InstrumentUse, Observation, RecordError, TrialRecord
from trials.domain.stability import TemperatureReading
from trials.domain.strict_json import JsonError, Member, read_json
from trials.domain.verdicts import to_json

SHARED = ("setup", "temperature_readings", "conditioning", "instruments")
MEMBERS = (
    "about", "source", "method", "edition", "severity", "ordered_specimens", "parameters", *SHARED, "specimens",
    "doubts", "expected",
)  # fmt: skip


class JudgeFileError(ValueError):
    """A judge file that cannot be judged; the message is one sentence naming place and reason."""


@dataclass(frozen=True)
class JudgeCase:
    """One worked example: an edition, with a laboratory's own changes, its specimens in order, doubts, expectations."""

    edition: MethodEdition
    severity: Decimal
    ordered: int
    records: tuple[tuple[str, TrialRecord], ...]
    doubts: tuple[Doubt, ...]
    expected: Mapping[str, Any] | None


def judge_case(text: str) -> JudgeCase:
    """Return the case that a judge file's text describes; JudgeFileError if it is not one, naming the place."""
    try:
        file = Member("", read_json(text)).members(MEMBERS)
        key = f"{file['method'].text()}@{file['edition'].text()}"
        edition = _revised(method_edition(key), file["parameters"])
        severity = file["severity"].number()
        specimens = file["specimens"].items()
        if not specimens:
            raise JsonError("specimens: at least one specimen is needed.")
        records = tuple(_record(edition, severity, file, specimen) for specimen in specimens)
        _refuse_double_names(records)
        ordered = 1 if file["ordered_specimens"].missing else file["ordered_specimens"].count()
        doubts = tuple(_doubt(doubt) for doubt in file["doubts"].items())
        expected = None if file["expected"].missing else file["expected"].mapping()
        return JudgeCase(edition, severity, ordered, records, doubts, expected)
    except (JsonError, RecordError, UnknownMethodError) as refusal:
        raise JudgeFileError(str(refusal)) from refusal


def case_result(case: JudgeCase) -> dict[str, Any]:
    """Return the verdict of each specimen and the result of the line as plain JSON values.

    Where the file says what it expects, `as_expected` tells whether every expectation came out.
    Raises JudgeFileError when a record does not fit its edition.
    """
    trials = []
    for sequence, (name, record) in enumerate(case.records):
        try:
            trials.append(LineTrial(name, case.edition.judge(record), sequence))
        except RecordError as refusal:
            raise JudgeFileError(f"specimen {name}: {refusal}") from refusal
    line = case.edition.judge_line(case.severity, trials, case.doubts, case.ordered)
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
        "needed": lambda: Decimal(line["needed"]),
        "outcomes": lambda: {name: verdict.outcome for name, verdict in verdicts.items()},
        "sentences": lambda: {name: verdict.sentence for name, verdict in verdicts.items()},
        "decided_by": lambda: {
            name: [c.key for c in (*verdict.setup_criteria, *verdict.criteria) if c.decides]
            for name, verdict in verdicts.items()
        },
    }
    return {key: kinds[key]() for key in expected if key in kinds}


def _record(
    edition: MethodEdition, severity: Decimal, file: Mapping[str, Member], specimen: Member
) -> tuple[str, TrialRecord]:
    own = specimen.members(("specimen", "observations", *SHARED))
    shared = {name: file[name] if own[name].missing else own[name] for name in SHARED}
    setup = {**_setup(file["setup"]), **_setup(own["setup"])}
    conditioning = shared["conditioning"].members(("counted_s", "minutes_since_out"))
    record = TrialRecord(
        method_key=edition.key,
        severity=severity,
        setup=setup,
        temperature_readings=tuple(_reading(reading) for reading in shared["temperature_readings"].items()),
        observations=tuple(_observation(row, n) for n, row in enumerate(own["observations"].items(), start=1)),
        conditioning=Conditioning(
            conditioning["counted_s"].optional_number(), conditioning["minutes_since_out"].optional_number()
        ),
        instruments=tuple(_instrument(use) for use in shared["instruments"].items()),
    )
    return own["specimen"].text(), record


def _refuse_double_names(records: Sequence[tuple[str, TrialRecord]]) -> None:
    names = [name for name, _ in records]
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
    changed = []
    for key, change in ({} if changes.missing else changes.mapping()).items():
        place = f"parameters.{key}"
        own = Member(place, change).members(("value", "low", "high", "tolerance"))
        try:
            old = edition.parameter(key)
        except KeyError:
            raise JsonError(f"{place}: {edition.key} has no parameter of that name.") from None
        changed.append(_changed(edition, old, own, place))
    return edition.revised(*changed)


def _changed(edition: MethodEdition, old: Parameter, own: Mapping[str, Member], place: str) -> Parameter:
    """Return one parameter with the members the file states; what it holds stays of the same kind."""
    members: dict[str, Any] = {name: member.value() for name, member in own.items() if not member.missing}
    for name, value in members.items():
        wanted = Decimal if name != "value" or old.value is None else type(old.value)
        if not isinstance(value, wanted) and (value is not None or name == "value"):
            raise JsonError(f"{place}.{name}: {value!r} is not of the kind this parameter holds.")
    try:
        new = replace(old, **members)
    except ValueError as refusal:
        raise JsonError(f"{place}: {refusal}") from refusal
    if new.value is None and new.bounds == (None, None):
        raise JsonError(f"{place}: {edition.key} cannot do without a limit here.")
    return new

"""The next step of an order line from a judge file: what is tested next, or the final result, with reasons."""

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Any

from labsite.ledger.wording import capitalised
from trials.domain.criteria import digits
from trials.domain.judge_file import JudgeCase, JudgeFileError, judge_case
from trials.domain.line_result import LineTrial, NextStep, line_to_json
from trials.domain.methods.base import MethodEdition
from trials.domain.records import RecordError, TrialRecord
from trials.domain.verdicts import WORDS, Outcome, Quantity, Verdict

STATED = "stated in the file, not judged"


def next_step_result(text: str) -> dict[str, Any]:
    """Return what is to be tested next by the rule of the file's method, or the line's final result, as JSON values.

    `stated` names the specimens whose outcome the file states without observations: nothing about them was judged.
    Raises JudgeFileError, with a sentence that names the place, for a file that is not one.
    """
    case = judge_case(text, planning=True)
    trials = list(_trials(case))
    try:
        line = case.edition.judge_line(case.asked, trials, case.doubts)
    except (KeyError, RecordError, ValueError) as wrong:
        why = f"The rule of {case.edition.key} cannot go by outcomes that are only stated" if case.stated else ""
        raise JudgeFileError(f"{why or 'The next step cannot be told'}: {str(wrong).rstrip('.')}.") from wrong
    if line.next is None and line.needed:  # a rule that only counts specimens: more of them at the level ordered
        line = replace(line, next=NextStep(case.asked.severity, line.needed, line.sentence))
    plain = line_to_json(line)
    following = plain.pop("next")
    if line.next is not None:
        following["text"] = case.edition.severity_text(line.next.severity)
    return {
        "method": case.edition.key,
        "ordered": {
            "severity": None if case.asked.severity is None else digits(case.asked.severity),
            "start": None if case.asked.start is None else digits(case.asked.start),
            "specimens": case.asked.specimens,
        },
        "stated": [case.records[place][0] for place in case.stated],
        "next": following,
        **plain,
    }


def _trials(case: JudgeCase) -> Iterator[LineTrial]:
    for place, (name, record, further) in enumerate(case.records):
        outcome = case.stated.get(place)
        try:
            verdict = case.edition.judge(record) if outcome is None else _stated(case.edition, record, outcome)
        except RecordError as refusal:
            raise JudgeFileError(f"specimen {name}: {refusal}") from refusal
        yield LineTrial(name, verdict, place, record.severity, record.conditioning.plan, further)


def _stated(edition: MethodEdition, record: TrialRecord, outcome: Outcome) -> Verdict:
    """A verdict that says no more than its outcome; of its figures it has those that stand in the set-up."""
    level = edition.severity_text(record.severity)
    return Verdict(
        method_key=edition.key,
        rule_version=edition.rule_version,
        severity=level,
        outcome=outcome,
        sentence=f"{WORDS[outcome]} at {level}: {STATED}.",
        reasons=(f"{capitalised(STATED)}.",),
        criteria=(),
        setup_criteria=(),
        quantities=tuple(
            Quantity(kind.key, kind.title, kind.symbol, kind.unit, *_figure(record, kind.key))
            for kind in edition.quantities
        ),
        warnings=(),
        parameters=edition.parameter_texts,
    )


def _figure(record: TrialRecord, key: str) -> tuple[Decimal | None, str]:
    """A figure that stands in the set-up, and its text; a choice that is a number of things counts as one."""
    value = record.setup.get(key)
    if isinstance(value, str):
        return Decimal(value) if value.isdecimal() else None, value
    return (value, digits(value)) if isinstance(value, Decimal) else (None, STATED)

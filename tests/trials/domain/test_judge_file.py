"""The judge file: every worked example comes out as it says, and what cannot be judged is refused in one sentence."""

import json
from pathlib import Path  # noqa: TID251  # a test reads files; the code it tests does not
from typing import Any

import pytest

from trials.domain.judge_file import JudgeFileError, case_result, judge_case
from trials.domain.methods.registry import EDITIONS

WORKED = Path(__file__).parents[3] / "fixtures" / "worked"
FOLDERS = sorted({edition.slug.replace("-", "_") for edition in EDITIONS.values()})
EXAMPLES = sorted(file for folder in FOLDERS for file in (WORKED / folder).glob("*.json"))
BASE = (WORKED / "glow_wire_end_product" / "no_ignition_passes.json").read_text("utf-8")


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: f"{file.parent.name}/{file.stem}")
def test_worked_example_comes_out_as_its_source_says(file: Path) -> None:
    text = file.read_text("utf-8")
    result = case_result(judge_case(text))
    assert json.loads(text)["source"]
    assert result["as_expected"] is True, result["line"]


def changed(**members: Any) -> str:
    """The base example with some members changed; None takes a member out."""
    plain = {**json.loads(BASE), **members}
    return json.dumps({name: value for name, value in plain.items() if value is not None})


def test_an_expectation_that_does_not_come_out_is_said() -> None:
    assert case_result(judge_case(changed(expected={"line": "failed"})))["as_expected"] is False
    assert case_result(judge_case(changed(expected={"colour": "red"})))["as_expected"] is False
    assert "as_expected" not in case_result(judge_case(changed(expected=None)))


def test_set_up_of_a_specimen_is_laid_over_that_of_the_file() -> None:
    specimen = {**json.loads(BASE)["specimens"][0], "setup": {"force_n": 1.3}}
    result = case_result(judge_case(changed(specimens=[specimen], expected={"decided_by": {"01": ["force_n"]}})))
    assert result["as_expected"] is True


def test_the_laboratory_states_its_own_figures() -> None:
    text = changed(
        parameters={"force_n": {"value": 1, "tolerance": None, "low": 0.8, "high": 0.95}},
        expected={"decided_by": {"01": ["force_n"]}},
    )
    result = case_result(judge_case(text))
    assert result["as_expected"] is True
    assert result["specimens"][0]["verdict"]["parameters"]["force_n"] == "0.8 to 0.95 N"


SPECIMEN: dict[str, Any] = json.loads(BASE)["specimens"][0]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("[]", "the file: an object in braces is needed, not []."),
        (
            changed(colour="red"),
            (
                "'colour' is not known here; known are about, source, method, edition, severity, start, "
                "ordered_specimens, parameters, setup, temperature_readings, conditioning, instruments, specimens, "
                "doubts, expected."
            ),
        ),
        (changed(method=None), "method: a text is needed, and it is missing."),
        (
            changed(edition="1999"),
            (f"There is no method edition 'glow-wire-end-product@1999'; known are {', '.join(sorted(EDITIONS))}."),
        ),
        (changed(severity=None), "severity: glow-wire-end-product@2021 needs a level."),
        (changed(severity="850"), 'severity: a number is needed, not "850".'),
        (changed(ordered_specimens=0), "ordered_specimens: a whole number from 1 to 1000 is needed, not 0."),
        (changed(specimens=[]), "specimens: at least one specimen is needed."),
        (changed(specimens=[SPECIMEN, SPECIMEN]), "specimens: specimen 01 is listed twice."),
        (
            changed(specimens=[{**SPECIMEN, "observation": []}]),
            (
                "specimens[0]: 'observation' is not known here; known "
                "are specimen, severity, further_point, observations, setup, temperature_readings, conditioning, "
                "instruments."
            ),
        ),
        (
            changed(specimens=[{**SPECIMEN, "observations": [{"kind": "drip", "t": 3}]}]),
            (
                "specimens[0].observations[0]: 't' is not known here; known are row, kind, t_s, value, replaces, "
                "takes_back, reason."
            ),
        ),
        (
            changed(temperature_readings=[{"t_s": 0}]),
            ("temperature_readings[0].read_c: a number is needed, and it is missing."),
        ),
        (
            changed(parameters={"colour": {"value": 1}}),
            ("parameters.colour: 2-11:2021 has no figure of that name."),
        ),
        (
            changed(parameters={"force_n": {"value": "x"}}),
            ("parameters.force_n.value: 'x' is not of the kind this figure holds."),
        ),
        (
            changed(parameters={"light_lx": {"high": None}}),
            ("parameters.light_lx: 2-11:2021 cannot do without a limit here."),
        ),
        (
            changed(parameters={"further_rule": {"value": "often"}}),
            ("parameters.further_rule: 'often' is none of in doubt, after a fail, none."),
        ),
    ],
)
def test_a_file_that_is_no_case_is_refused(text: str, sentence: str) -> None:
    with pytest.raises(JudgeFileError) as refusal:
        judge_case(text)
    assert str(refusal.value) == sentence


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            changed(setup={"forse_n": 1}),
            ("specimen 01: setup: 'forse_n' is not a set-up value of glow-wire-end-product@2021."),
        ),
        (
            changed(severity=851),
            (
                "specimen 01: severity: 851 °C is not a level of glow-wire-end-product@2021 "
                "(500, 550, 600, 650, 700, 750, 800, 850, 900, 960)."
            ),
        ),
        (
            changed(specimens=[{**SPECIMEN, "observations": [{"kind": "boom", "t_s": 1}]}]),
            "specimen 01: observation 1: 'boom' is not a kind of observation of glow-wire-end-product@2021.",
        ),
    ],
)
def test_a_record_that_does_not_fit_is_refused_with_its_specimen(text: str, sentence: str) -> None:
    with pytest.raises(JudgeFileError) as refusal:
        case_result(judge_case(text))
    assert str(refusal.value) == sentence

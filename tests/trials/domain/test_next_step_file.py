"""What is tested next by a judge file: from observations, from outcomes that are only stated, and before the start."""

import json
from typing import Any

import pytest

from trials.domain.judge_file import JudgeFileError, judge_case
from trials.domain.next_step_file import next_step_result

END_PRODUCT = {"method": "glow-wire-end-product", "edition": "2021", "severity": 850, "ordered_specimens": 2}


def answer(**members: Any) -> dict[str, Any]:
    return next_step_result(json.dumps({**END_PRODUCT, "specimens": [], **members}))


def stated(*outcomes: str) -> list[dict[str, str]]:
    return [{"specimen": f"{n:02d}", "outcome": outcome} for n, outcome in enumerate(outcomes, start=1)]


def test_before_the_start_all_that_is_ordered_comes_next():
    found = answer()
    assert (found["state"], found["stated"]) == ("not started", [])
    assert found["next"] == {
        "severity": "850",
        "text": "850 °C",
        "specimens": 2,
        "plan": "",
        "setup": [],
        "reason": "Not started: 2 specimens to be tested at 850 °C.",
    }


@pytest.mark.parametrize(
    ("outcomes", "state", "following"),
    [
        (("pass",), "more specimens needed", 1),
        (("pass", "invalid"), "more specimens needed", 1),
        (("pass", "pass"), "passed", None),
        (("pass", "fail"), "failed", None),
    ],
)
def test_outcomes_may_be_stated_and_are_named_as_such(outcomes, state, following):
    found = answer(specimens=stated(*outcomes))
    assert (found["state"], found["stated"]) == (state, [f"{n:02d}" for n in range(1, len(outcomes) + 1)])
    assert (None if found["next"] is None else found["next"]["specimens"]) == following


def test_the_sentence_says_that_nothing_was_judged():
    assert answer(specimens=stated("fail", "pass"))["sentence"] == (
        "Failed at 850 °C: specimen 01, stated in the file, not judged."
    )


@pytest.mark.parametrize(
    ("specimen", "sentence"),
    [
        ({"specimen": "01", "outcome": "good"}, "specimens[0].outcome: 'good' is none of pass, fail, invalid."),
        (
            {"specimen": "01", "outcome": "pass", "observations": [{"kind": "contact", "t_s": 0}]},
            "specimens[0]: it states its outcome and has observations; it can have one.",
        ),
        ({"outcome": "pass"}, "specimens[0].specimen: a text is needed, and it is missing."),
    ],
)
def test_what_is_stated_is_read_strictly(specimen, sentence):
    with pytest.raises(JudgeFileError) as refusal:
        answer(specimens=[specimen])
    assert str(refusal.value) == sentence


@pytest.mark.parametrize("specimens", [stated("pass"), []])
def test_judging_itself_takes_no_stated_outcome_and_no_empty_list(specimens):
    with pytest.raises(JudgeFileError):
        judge_case(json.dumps({**END_PRODUCT, "specimens": specimens}))


def test_a_record_that_does_not_fit_is_named_with_its_specimen():
    with pytest.raises(JudgeFileError) as refusal:
        answer(severity=860, specimens=[{"specimen": "01", "observations": []}])
    assert str(refusal.value).startswith("specimen 01: severity: 860 °C is not a level of")


TRACKING: dict[str, Any] = {"method": "tracking", "edition": "2020", "severity": None, "ordered_specimens": 5}


def run_stated(outcome: str, drops: str | None = "50") -> dict[str, Any]:
    setup = {} if drops is None else {"setup": {"drops_asked": drops}}
    return {"specimen": "01", "severity": 400, "outcome": outcome, **setup}


@pytest.mark.parametrize(
    ("specimen", "following"),
    [(run_stated("pass"), "425"), (run_stated("fail"), "375"), (run_stated("pass", "100"), "425")],
)
def test_a_stated_outcome_of_a_run_counts_with_the_drops_it_was_made_with(specimen, following):
    assert answer(**TRACKING, specimens=[specimen])["next"]["severity"] == following


@pytest.mark.parametrize("outcome", ["pass", "fail"])
def test_a_stated_outcome_without_its_drops_is_refused_and_not_passed_over(outcome):
    with pytest.raises(JudgeFileError) as refusal:
        answer(**TRACKING, specimens=[run_stated(outcome, None)])
    assert str(refusal.value) == (
        "The rule of tracking@2020 cannot go by outcomes that are only stated: "
        "specimen 01: with how many drops it was run is not known."
    )


def test_stated_and_judged_solutions_are_not_mixed():
    """A solution that a file does not state is no other solution."""
    specimens = [{**run_stated("pass"), "specimen": f"{n:02}"} for n in range(4)]
    known = {**run_stated("pass"), "setup": {"drops_asked": "50", "solution": "B"}, "specimen": "05"}
    line = answer(**{**TRACKING, "severity": 400}, specimens=[*specimens, known])
    assert (line["state"], line["result"]) == ("passed", "PTI 400 M")


@pytest.mark.parametrize(
    ("severity", "sentence"),
    [
        (None, "severity: glow-wire-end-product@2021 needs a level."),
        (851, ("severity: 851 °C is not a level of glow-wire-end-product@2021 "
              "(500, 550, 600, 650, 700, 750, 800, 850, 900, 960).")),
    ],
)  # fmt: skip
def test_before_the_start_the_level_is_one_of_the_method(severity, sentence):
    with pytest.raises(JudgeFileError) as refusal:
        answer(severity=severity)
    assert str(refusal.value) == sentence

"""Result of an order line. One specimen, two further in doubt: general knowledge of IEC 60695-2-11, a default."""

from itertools import permutations
from typing import Any

import pytest

from tests.trials.domain.glow_wire_trial import EDITION_2021, course, row, trial
from trials.domain.line_result import Doubt, LineResult, LineRule, LineTrial, line_result, refusal_of_doubt

PASS = EDITION_2021.judge(trial(*course(row("ignites", "6.5"), row("flame_out", "43.5"))))
FAIL = EDITION_2021.judge(trial(*course(row("ignites", "6.5"), row("flame_out", "66.0"))))
INVALID = EDITION_2021.judge(trial(*course(), setup={"tip_clean": False}))
UNKNOWN = EDITION_2021.judge(trial(*course(), setup={"force_n": None}))
OUTCOMES = {"p": PASS, "f": FAIL, "i": INVALID, "u": UNKNOWN}
RULE = LineRule(1, 2, "in doubt", "all must pass")
DOUBT = Doubt("01", "glow under the clamp hard to see", before_verdict=True)


def line(letters: str, *doubts: Doubt, rule: LineRule = RULE, ordered: int = 1) -> LineResult:
    trials = [LineTrial(f"{n:02}", OUTCOMES[letter], n) for n, letter in enumerate(letters, start=1)]
    results = {line_result(rule, "850 °C", order, doubts, ordered) for order in permutations(trials)}
    assert len(results) == 1, "the order of the rows must not matter"
    return results.pop()


@pytest.mark.parametrize(
    ("letters", "doubts", "state", "needed"),
    [
        ("", (), "not started", 1),
        ("p", (), "passed", 0),
        ("f", (), "failed", 0),
        ("i", (), "more specimens needed", 1),
        ("u", (), "more specimens needed", 1),
        ("ip", (), "passed", 0),
        ("if", (), "failed", 0),
        ("p", (DOUBT,), "more specimens needed", 2),
        ("pp", (DOUBT,), "more specimens needed", 1),
        ("pip", (DOUBT,), "more specimens needed", 1),
        ("ppp", (DOUBT,), "passed", 0),
        ("ppf", (DOUBT,), "failed", 0),
        ("pf", (DOUBT,), "failed", 0),
        ("fpp", (DOUBT,), "failed", 0),
        ("pp", (), "passed", 0),
        ("pf", (), "hold", 0),
        ("pppf", (DOUBT,), "hold", 0),
    ],
)
def test_one_ordered_specimen(letters: str, doubts: tuple[Doubt, ...], state: str, needed: int) -> None:
    result = line(letters, *doubts)
    assert (result.state, result.needed) == (state, needed)


@pytest.mark.parametrize(
    ("letters", "state", "needed"),
    [
        ("", "not started", 3),
        ("pp", "more specimens needed", 1),
        ("ppp", "passed", 0),
        ("pfp", "failed", 0),
        ("f", "failed", 0),
        ("pipp", "passed", 0),
        ("pppf", "hold", 0),
    ],
)
def test_three_ordered_specimens_must_all_pass(letters: str, state: str, needed: int) -> None:
    result = line(letters, ordered=3)
    assert (result.state, result.needed) == (state, needed)


def test_other_value_first_decides_lets_the_rest_hold_only() -> None:
    rule = LineRule(1, 2, "in doubt", "first decides")
    assert [line(letters, rule=rule, ordered=3).state for letters in ("p", "f", "pf")] == ["passed", "failed", "hold"]


def test_other_value_two_more_after_a_fail() -> None:
    rule = LineRule(1, 2, "after a fail", "all must pass")
    states = [line(letters, rule=rule).state for letters in ("p", "f", "fp", "fpp", "fpf")]
    assert states == ["passed", "more specimens needed", "more specimens needed", "passed", "failed"]


@pytest.mark.parametrize("rule", ["after a fail", "none"])
def test_other_values_do_not_know_doubt(rule: Any) -> None:
    result = line("p", DOUBT, rule=LineRule(1, 2, rule, "all must pass"))
    assert result.state == "passed"
    assert result.flags == ("The doubt about specimen 01 calls for nothing under this laboratory's rule.",)


def test_doubt_over_a_plain_fail_is_refused() -> None:
    sentence = (
        "Specimen 01 plainly fails (the flame ended at 66.0 s, 5.8 s after the limit of 60.2 s); "
        "a doubt cannot cover that."
    )
    assert refusal_of_doubt(DOUBT, FAIL) == sentence
    assert line("fpp", DOUBT).flags == (f"The doubt does not count. {sentence}",)


def test_doubt_needs_a_reason_and_comes_before_the_verdict() -> None:
    assert refusal_of_doubt(DOUBT, PASS) is None
    assert refusal_of_doubt(DOUBT, None) is None
    assert refusal_of_doubt(Doubt("01", " ", True), None) == "The doubt about specimen 01 gives no reason."
    assert (
        refusal_of_doubt(Doubt("01", "x", False), None) == "The doubt about specimen 01 was recorded after its verdict."
    )
    assert line("p", Doubt("01", "x", False)).state == "passed"


def test_doubt_again_fails_and_is_flagged() -> None:
    result = line("ppp", DOUBT, Doubt("03", "again", before_verdict=True))
    assert result.state == "failed"
    assert result.flags == ("Doubt again about specimen 03: a lead should look at it.",)


def test_every_part_is_named() -> None:
    result = line("ipppp", Doubt("02", "unclear", before_verdict=True))
    assert (result.counted, result.further, result.extra, result.set_aside) == (("02",), ("03", "04"), ("05",), ("01",))
    assert result.reasons == ("Specimen 01 does not count: Invalid at 850 °C: tip clean, no crack: no, yes is needed.",)


def test_a_specimen_tested_again_never_fills_a_place() -> None:
    doubted = [LineTrial("01", PASS, 1), LineTrial("01", PASS, 2), LineTrial("02", PASS, 3)]
    assert line_result(RULE, "850 °C", doubted, [DOUBT]).needed == 1


def test_sentences_put_the_answer_first() -> None:
    assert line("").sentence == "Not started: 1 specimen to be tested at 850 °C."
    assert line("ppp", ordered=3).sentence == "Passed at 850 °C: all 3 specimens passed."
    assert line("p", DOUBT).sentence == "2 more specimens to be tested."
    assert line("p", DOUBT).reasons == ("Specimen 01 is in doubt: glow under the clamp hard to see.",)
    assert line("pf").sentence == "On hold at 850 °C: specimen 02, beyond those asked for, failed; a lead decides."


def test_at_least_one_specimen_is_ordered() -> None:
    with pytest.raises(ValueError, match=r"^At least one specimen is ordered, not 0\.$"):
        line_result(RULE, "850 °C", [], ordered=0)

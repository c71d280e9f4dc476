"""The first words of a result, and the state of several lines together."""

from dataclasses import replace

import pytest

from reports.domain.content import state_of_all
from tests.reports.domain.sample import LINE, TRIAL


@pytest.mark.parametrize(
    ("sentence", "result", "head", "rest"),
    [
        ("Passed at 850 °C: no flame.", "", "Passed at 850 °C", "No flame."),
        ("GWFI: 850/3.0: all 3 passed.", "GWFI: 850/3.0", "GWFI: 850/3.0", "All 3 passed."),
        ("Passed at 850 °C: all 3 passed.", "GWFI: ≥ 850/3.0", "Passed at 850 °C", "All 3 passed."),
        ("CTI below 100: nothing survived.", "CTI <100", "CTI below 100", "Nothing survived."),
    ],
)
def test_the_first_words_of_a_result(sentence, result, head, rest):
    line = replace(LINE, sentence=sentence, result=result)
    assert (line.head, line.rest) == (head, rest)


@pytest.mark.parametrize(
    ("states", "together"),
    [
        (["passed", "passed"], "passed"),
        (["passed", "failed"], "failed"),
        (["determined"], "determined"),
        (["determined", "passed"], "determined"),
        (["determined", "failed"], "failed"),
    ],
)
def test_the_state_of_several_lines(states, together):
    assert state_of_all(states) == together


def test_stages_of_conditioning_in_the_order_of_time():
    stay = TRIAL.conditioning
    assert stay is not None
    oven = replace(stay, atmosphere="Oven")
    assert [one.atmosphere for one in replace(stay, earlier=oven).stages] == ["Oven", "Room"]
    assert stay.stages == (stay,)

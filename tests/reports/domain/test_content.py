"""The first words of a result, what is said once, the word of a criterion, stages of conditioning."""

from dataclasses import replace

import pytest

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


def test_a_reason_that_the_sentence_says_already_is_not_said_again():
    line = replace(
        LINE,
        sentence="HB40 at 3.0 mm: first set: all 3 bars meet HB40.",
        reasons=("First set: all 3 bars meet HB40.", "Not V-0: nobody asked."),
    )
    assert line.more_reasons == ("Not V-0: nobody asked.",)


@pytest.mark.parametrize(
    ("holds", "statement", "word"),
    [
        (True, "", "met"),
        (True, "pass", "met"),
        (True, "conditional pass", "met, conditional pass"),
        (False, "fail", "not met"),
        (False, "conditional fail", "not met, conditional fail"),
        (None, "", "not known"),
    ],
)
def test_a_criterion_says_once_whether_it_holds(holds, statement, word):
    assert replace(TRIAL.criteria[0], holds=holds, statement=statement).word == word


def test_stages_of_conditioning_in_the_order_of_time():
    stay = TRIAL.conditioning
    assert stay is not None
    oven = replace(stay, atmosphere="Oven")
    assert [one.atmosphere for one in replace(stay, earlier=oven).stages] == ["Oven", "Room"]
    assert stay.stages == (stay,)

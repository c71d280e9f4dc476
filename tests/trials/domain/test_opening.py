"""The level a trial is opened at: as ordered, as called for next, or another one with its reason."""

from dataclasses import replace
from decimal import Decimal

import pytest

from trials.domain.line_result import LineResult, NextStep
from trials.domain.methods.registry import method_edition
from trials.domain.opening import LevelError, next_sentence, opening_level, opening_levels

D = Decimal
PROOF = method_edition("glow-wire-end-product@2021")
SEARCH = replace(PROOF, open_severity="Index search", open_start=True)
CALLED = LineResult("more specimens needed", "Under way.", next=NextStep(D(800), 3, "850 °C failed"))
ENDED = LineResult("determined", "The index is 800.", result="800")
CLASSES = LineResult("more specimens needed", "Under way.", next=NextStep(None, 5, "A second set decides."))


def test_a_level_that_is_ordered_is_not_chosen() -> None:
    assert opening_levels(SEARCH, D(850), CALLED) is None
    assert opening_level(SEARCH, D(850), CALLED, None, "not needed") == (D(850), "")
    with pytest.raises(LevelError, match=r"^The level of this line is 850 °C; no other one can be chosen\.$"):
        opening_level(SEARCH, D(850), CALLED, D(800), "")


def test_trials_of_classes_have_no_level() -> None:
    assert opening_levels(PROOF, None, CLASSES) is None
    assert opening_level(PROOF, None, CLASSES, None, "") == (None, "")


def test_the_level_called_for_is_taken_without_a_reason() -> None:
    levels = opening_levels(SEARCH, None, CALLED)
    assert levels is not None
    assert levels.proposed == D(800)
    assert opening_level(SEARCH, None, CALLED, None, "") == (D(800), "")
    assert opening_level(SEARCH, None, CALLED, D(800), "kept by mistake") == (D(800), "")


def test_another_level_needs_its_reason_and_keeps_it() -> None:
    with pytest.raises(LevelError, match=r"calls for 3 specimens at 800 °C\. Write why 750 °C is tested instead\.$"):
        opening_level(SEARCH, None, CALLED, D(750), "")
    assert opening_level(SEARCH, None, CALLED, D(750), "the client asks") == (D(750), "the client asks")


def test_a_level_the_edition_does_not_have_is_refused() -> None:
    with pytest.raises(LevelError, match=r"^777 °C is not a level of 2-11:2021\.$"):
        opening_level(SEARCH, None, CALLED, D(777), "why not")


def test_after_the_end_a_level_is_chosen_with_a_reason() -> None:
    with pytest.raises(LevelError, match=r"^Nothing more is called for\. The index is 800\. Choose a level"):
        opening_level(SEARCH, None, ENDED, None, "")
    with pytest.raises(LevelError, match="calls for nothing more"):
        opening_level(SEARCH, None, ENDED, D(850), "")
    assert opening_level(SEARCH, None, ENDED, D(850), "asked for") == (D(850), "asked for")


@pytest.mark.parametrize(
    ("result", "words"),
    [
        (CALLED, "Next: 3 specimens at 800 °C, because 850 °C failed."),
        (CLASSES, "Next: 5 specimens. A second set decides."),
        (ENDED, ""),
        (replace(CALLED, next=NextStep(D(800), 1, "")), "Next: 1 specimen at 800 °C."),
    ],
)
def test_what_comes_next_in_words(result: LineResult, words: str) -> None:
    assert next_sentence(SEARCH, result) == words


def test_the_way_of_conditioning_is_named_where_there_are_several() -> None:
    oven = replace(PROOF.conditioning, key="oven", title="From the oven")
    edition = replace(PROOF, conditionings=(replace(PROOF.conditioning, key="room"), oven))
    result = LineResult("not started", "", next=NextStep(None, 5, "", plan="oven"))
    assert next_sentence(edition, result) == "Next: 5 specimens, from the oven."

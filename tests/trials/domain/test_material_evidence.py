"""Evidence on a material. Thickness rule and preferred thicknesses: general knowledge of IEC 60335-1 and 60695-2-12.

GWFI 850 and GWIT 775 sparing the glow wire for unattended appliances: two makers' public pages on clause 30.2.3.
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trials.domain.material_evidence import (
    PREFERRED_MM,
    EvidenceAsked,
    EvidenceError,
    covering_mm,
    evidence_answer,
    evidence_from_text,
)

D = Decimal
GWIT_775 = (EvidenceAsked("GWIT", "775"),)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("GWFI 850/3.0", ["GWFI 850/3.0"]),
        ("gwit: 775/1.5 mm; V-0/0.75", ["GWIT 775/1.5", "V-0/0.75"]),
        ("GWIT >960/3.0, HB40/1,6", ["GWIT 960/3.0", "HB40/1.6"]),
        ("V0/3.00", ["V-0/3.00"]),
        (" ;\n", []),
    ],
)
def test_evidence_is_read_as_a_data_sheet_writes_it(text: str, found: list[str]) -> None:
    assert [one.text for one in evidence_from_text(text)] == found


@pytest.mark.parametrize("text", ["GWFI 850", "850/3.0", "5VA/3.0", "GWFI 85/3.0", "V-0/"])
def test_words_that_are_no_evidence_are_refused_by_name(text: str) -> None:
    with pytest.raises(EvidenceError) as refusal:
        evidence_from_text(f"GWFI 850/3.0; {text}")
    assert str(refusal.value) == f"“{text}” cannot be read; write level and plate thickness, for instance GWFI 850/3.0."


@pytest.mark.parametrize(
    ("part", "plates", "plate"),
    [
        ("3.0", ("1.5", "3.0"), "3.0"),
        ("2.9", ("1.5", "3.0"), "3.0"),  # within 0.1 mm: the part's own thickness
        ("2.8", ("1.5", "3.0"), "1.5"),
        ("3.1", ("1.5", "3.0"), "3.0"),
        ("3.2", ("1.5", "3.0"), "3.0"),  # the preferred one below
        ("1.4", ("1.5", "3.0"), "1.5"),
        ("1.39", ("1.5", "3.0"), None),
        ("2.0", ("1.9", "2.1"), "1.9"),  # equally near: the thinner
        ("2.5", ("2.0",), None),  # no preferred thickness and not its own
        ("2.0", ("2.0",), "2.0"),
    ],
)
def test_which_plate_stands_for_a_part(part: str, plates: tuple[str, ...], plate: str | None) -> None:
    expected = None if plate is None else D(plate)
    assert covering_mm(D(part), [D(one) for one in plates]) == expected


@pytest.mark.parametrize(
    ("part", "evidence", "replaces", "sentence"),
    [
        ("3.0", "GWIT 775/3.0", True, "GWIT 775/3.0 replaces the test: GWIT at least 775 is asked for."),
        ("3.0", "GWIT 750/3.0", False, "What is known at 3.0 mm does not reach GWIT at least 775; the part is tested."),
        ("2.0", "GWIT 775/3.0", None,
         "Nothing typed covers 2.0 mm; GWIT at least 775 is asked for, no thicker than the part."),
        ("2.0", "GWFI 960/1.5", None,
         "Nothing typed covers 2.0 mm; GWIT at least 775 is asked for, no thicker than the part."),
        ("2.0", "GWIT 750/1.5; GWIT 800/3.0", False,
         "What is known at 2.0 mm does not reach GWIT at least 775; the part is tested."),
        ("3.0", "GWIT 800/3.0; GWIT 750/3.0", False,
         "What is known at 3.0 mm does not reach GWIT at least 775; the part is tested."),
    ],
)  # fmt: skip
def test_evidence_is_compared_and_never_interpolated(
    part: str, evidence: str, replaces: bool | None, sentence: str
) -> None:
    answer = evidence_answer(GWIT_775, evidence_from_text(evidence), D(part))
    assert (answer.replaces, answer.sentence) == (replaces, sentence)


def test_any_one_of_several_is_enough_and_a_better_class_will_do() -> None:
    asked = (EvidenceAsked("GWFI", "550"), EvidenceAsked("class", "HB40"))
    found = [evidence_answer(asked, evidence_from_text(text), D(3)).replaces for text in
             ("V-0/3.0", "HB40/3.0", "HB/3.0", "HB75/3.0", "GWFI 500/3.0; V-2/3.0")]  # fmt: skip
    assert found == [True, True, False, False, True]
    assert [one.text for one in asked] == ["GWFI at least 550", "class HB40 or better"]
    assert EvidenceAsked("class", "V-0").text == "class V-0"


def test_where_nothing_replaces_the_test_it_says_so() -> None:
    answer = evidence_answer((), evidence_from_text("GWFI 960/3.0"), D(3))
    assert (answer.replaces, answer.sentence) == (None, "No evidence on the material replaces this test.")


@given(
    part=st.decimals("0.1", "10", places=2),
    plates=st.lists(st.one_of(st.sampled_from(PREFERRED_MM), st.decimals("0.1", "10", places=2)), max_size=6),
)
def test_no_plate_is_thicker_than_the_part_by_more_than_a_tenth(part: Decimal, plates: list[Decimal]) -> None:
    plate = covering_mm(part, plates)
    assert plate is None or plate - part <= D("0.1")


@given(part=st.decimals("0.5", "6", places=1), level=st.integers(500, 960))
def test_a_higher_level_never_makes_evidence_worse(part: Decimal, level: int) -> None:
    order = {True: 2, None: 1, False: 0}
    lower, higher = (
        evidence_answer(GWIT_775, evidence_from_text(f"GWIT {one}/1.5; GWIT {one}/3.0"), part).replaces
        for one in (level, min(level + 25, 999))
    )
    assert order[lower] <= order[higher]

"""The list before a rig goes into service: its lines, how a finding is judged, what keeps a rig from release."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibration.domain.commissioning import (
    MOST_SOURCE,
    LineAnswer,
    ListLine,
    Requirement,
    finding_holds,
    list_lines,
    merged_requirements,
    release_obstacle,
    restrictions,
)
from calibration.models import RigKind

D = Decimal
FORCE = Requirement("Force", "0.95 ± 0.10 N", D("0.85"), D("1.05"), "N", "2-11:2021")
WIDER = Requirement("Force", "0.8 to 1.2 N", D("0.8"), D("1.2"), "N", "2-11:2000")
STOP = Requirement("Depth stop", "7.0 ± 0.5 mm", D("6.5"), D("7.5"), "mm", "2-11:2021")


def test_equal_requirements_are_one_and_different_limits_stay_apart_side_by_side():
    same = Requirement("Force", "0.95 ± 0.10 N", D("0.85"), D("1.05"), "N", "2-12:2021")
    merged = merged_requirements([FORCE, STOP, WIDER, same])
    assert [(one.title, one.limit_text, one.source) for one in merged] == [
        ("Force", "0.95 ± 0.10 N", "2-11:2021, 2-12:2021"),
        ("Force", "0.8 to 1.2 N", "2-11:2000"),
        ("Depth stop", "7.0 ± 0.5 mm", "2-11:2021"),
    ]


def test_editions_of_one_standard_are_named_together():
    older = Requirement("Force", "0.95 ± 0.10 N", D("0.85"), D("1.05"), "N", "2-11:2014")
    assert [one.source for one in merged_requirements([older, FORCE, FORCE])] == ["2-11:2014/2021"]


def test_sources_beyond_what_is_kept_are_counted():
    many = [Requirement("Force", "1 N", D(1), D(1), "N", f"standard {number:03d}:2021") for number in range(40)]
    [one] = merged_requirements(many)
    assert len(one.source) <= MOST_SOURCE
    named = one.source.count("standard")
    assert one.source.endswith(f" and {40 - named} more")


@pytest.mark.parametrize("kind", RigKind.values)
def test_every_kind_of_rig_has_parts_a_lock_its_requirements_and_papers(kind):
    lines = list_lines(kind, [FORCE])
    assert list(dict.fromkeys(one.kind for one in lines)) == ["part", "lock", "requirement", "paper"]
    assert [one.title for one in lines if one.kind == "requirement"] == ["Force"]
    assert len({(one.kind, one.title) for one in lines}) == len(lines)
    assert all(one.source and len(one.title) <= 200 for one in lines)


def test_a_rig_back_from_repair_has_the_paper_of_the_repair_besides():
    more = set(list_lines("tracking", [], repaired=True)) - set(list_lines("tracking", []))
    assert [one.title for one in more] == ["Report of the repair: what was exchanged or adjusted"]


# Limits are inclusive, as those of the editions: 0.95 N ± 0.10 N (IEC 60695-2-10:2013, public excerpt).
@pytest.mark.parametrize(
    ("value", "holds"),
    [("0.8499999", False), ("0.85", True), ("0.850", True), ("1.05", True), ("1.0500001", False)],
)
def test_a_value_is_judged_unrounded_at_its_limits(value, holds):
    line = ListLine("requirement", "Force", "0.95 ± 0.10 N", D("0.85"), D("1.05"), "N")
    assert finding_holds(line, D(value), None) is holds


@given(st.decimals(allow_nan=False, allow_infinity=False, places=6, min_value=-10, max_value=10))
def test_a_limit_open_on_one_side_admits_everything_on_that_side(value):
    assert finding_holds(ListLine("requirement", "L", "", D(0), None, "mm"), value, None) is (value >= 0)
    assert finding_holds(ListLine("requirement", "L", "", None, D(0), "mm"), value, None) is (value <= 0)


@pytest.mark.parametrize(("count", "holds"), [("0", False), ("1", False), ("2", True), ("3", True)])
def test_parts_are_counted_and_more_than_expected_are_welcome(count, holds):
    assert finding_holds(ListLine("part", "Leads", "2 expected", D(2), None, "pcs"), D(count), None) is holds


@pytest.mark.parametrize("count", ["1.5", "-1", "0.999"])
def test_half_a_part_is_no_count(count):
    with pytest.raises(ValueError, match="whole pieces are counted"):
        finding_holds(ListLine("part", "Leads", "2 expected", D(2), None, "pcs"), D(count), None)


def test_what_a_line_asks_for_must_be_there():
    with pytest.raises(ValueError, match="Force: the value found is needed"):
        finding_holds(ListLine("requirement", "Force", "", D(1), None, "N"), None, True)
    with pytest.raises(ValueError, match="Manual: yes or no is needed"):
        finding_holds(ListLine("paper", "Manual", "filed"), D(1), None)


def test_a_rig_is_released_when_every_line_holds():
    assert release_obstacle([LineAnswer("part", "Leads", True), LineAnswer("lock", "Straps", True)]) == ""


def test_a_title_that_stands_twice_is_named_once():
    answers = [LineAnswer("requirement", title, None) for title in ("Force", "Force", "Light", "Stop")]
    assert release_obstacle(answers) == "4 lines are not looked at yet: Force, Light, Stop."


def test_an_empty_list_releases_nothing():
    assert release_obstacle([]).startswith("The list has no line")


def test_lines_that_fail_and_lines_nobody_looked_at_are_named():
    answers = [LineAnswer("lock", "Straps", False, "still on"), *(LineAnswer("part", f"P{n}", None) for n in range(5))]
    assert release_obstacle(answers) == (
        "1 line does not hold: Straps; 5 lines are not looked at yet: P0, P1, P2 and 2 more."
    )


@pytest.mark.parametrize("kind", ["part", "paper"])
def test_a_missing_part_or_paper_with_a_note_is_a_restriction(kind):
    without, noted = LineAnswer(kind, "Foil", False, "  "), LineAnswer(kind, "Foil", False, "no check at 960 °C")
    assert (without.blocks, noted.blocks) == (True, False)
    assert restrictions([without, noted]) == ("Foil: no check at 960 °C",)


@pytest.mark.parametrize("kind", ["lock", "requirement"])
def test_no_note_lets_a_lock_or_a_requirement_pass(kind):
    one = LineAnswer(kind, "Force", False, "we take it as it is")
    assert one.blocks
    assert restrictions([one]) == ()

"""A search as it is drawn: levels in the order tried, and where the answer could still lie before each."""

from dataclasses import replace
from decimal import Decimal

from trials.domain.ladder import Ladder, ladder, ladder_of
from trials.domain.line_result import LevelResult, LineResult, NextStep
from trials.domain.methods.registry import method_edition

D = Decimal
GRID = [(D(level), f"{level} °C") for level in (500, 550, 600, 650, 700, 750, 800, 825, 850, 900, 930, 960)]


def search(*tried: tuple[int, str, str], following: int | None = None, run: str = "") -> Ladder:
    """Levels as (°C, state, outcomes of its specimens), given in order of value as a judge names them."""
    outcomes: dict[str, str] = {}
    levels = []
    for value, state, marks in tried:
        names = tuple(f"{value}{run}-{place}" for place in range(len(marks)))
        outcomes |= {name: {"p": "pass", "f": "fail", "i": "invalid"}[m] for name, m in zip(names, marks, strict=True)}
        levels.append(LevelResult(D(value), f"{value} °C{run}", state, names))  # type: ignore[arg-type]  # the state comes as a plain word
    levels.sort(key=lambda level: level.severity or D(0))
    after = None if following is None else NextStep(D(following), 3, "")
    return ladder(levels, after, GRID, outcomes)


def test_a_ladder_from_650_narrows_step_by_step() -> None:
    """The first ladder of IEC 60695-2-13:2010, 8.3 (public text): up by 50 K, then 25 K below the first fail."""
    found = search((650, "passed", "ppp"), (700, "passed", "ppp"), (850, "failed", "pf"), following=750)
    assert [(rung.value, rung.low, rung.high) for rung in found.rungs] == [
        (D(650), None, None),
        (D(700), D(650), None),
        (D(850), D(700), None),
    ]
    assert (found.low, found.high, found.following) == (D(700), D(850), (D(750), "750 °C"))
    assert [rung.words for rung in found.rungs] == ["3 of 3 passed", "3 of 3 passed", "1 of 2 failed"]


def test_levels_stand_in_the_order_in_which_they_were_tried() -> None:
    found = search((850, "failed", "f"), (800, "failed", "f"), (750, "passed", "ppp"), (825, "open", "pi"))
    assert [rung.value for rung in found.rungs] == [D(850), D(800), D(750), D(825)]
    assert found.rungs[-1].marks == ("pass", "open")
    assert found.words == (
        "Search by levels. 850 °C: 1 of 1 failed; 800 °C: 1 of 1 failed; 750 °C: 3 of 3 passed; 825 °C: 1 of 2 passed "
        "so far."
    )


def test_a_pass_above_a_fail_tells_nothing_about_where_the_answer_lies() -> None:
    found = search((850, "failed", "f"), (900, "passed", "ppp"))
    assert (found.low, found.high) == (None, D(850))


def test_runs_of_two_kinds_at_one_level_do_not_mix() -> None:
    outcomes = {"a": "pass", "b": "fail"}
    levels = [
        LevelResult(D(850), "850 °C, short", "passed", ("a",)),
        LevelResult(D(800), "800 °C, long", "failed", ("b",)),
    ]
    found = ladder(levels, None, GRID, outcomes)
    assert [(rung.run, rung.low, rung.high) for rung in found.rungs] == [("short", None, None), ("long", None, None)]
    assert (found.low, found.high) == (None, D(800))


def test_only_an_open_search_is_drawn() -> None:
    proof = method_edition("glow-wire-end-product@2021")
    edition = replace(proof, open_severity="Index search", open_start=True)
    result = LineResult("more specimens needed", "", next=NextStep(D(650), 3, ""))
    assert ladder_of(edition, D(850), result, {}) is None
    assert ladder_of(proof, None, result, {}) is None
    found = ladder_of(edition, None, result, {})
    assert found is not None
    assert (found.rungs, found.following, found.grid[0]) == ((), (D(650), "650 °C"), (D(500), "500 °C"))
    assert found.words == "Search by levels. nothing tested yet. 650 °C is next."

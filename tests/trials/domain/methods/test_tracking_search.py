"""The search for the index: order of runs by edition, next voltage, way of writing, bounds.

Published: five survive 50 drops at the index and 100 drops 25 V lower (public pages of test laboratories); an air arc
is repeated once, then lower (IEC 60112:2020 clause 11, public excerpt); 100 drops first in 2003, screening then 50
then 100 in 2020 (public contents lists). Way of writing and material groups are from memory. Courses are constructed
from these rules.
"""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.trials.domain.tracking_trial import EDITION_2003, EDITION_2020, five, line, next_of, search
from trials.domain.line_result import Asked, Doubt, LineResult
from trials.domain.methods.base import MethodEdition
from trials.domain.tracking_words import material_group

D = Decimal
type Run = tuple[int, int, int | str | None]
SCREENING = "Screening, as no start is agreed: the search starts at 400 V with 50 drops."
UP = "Survived at 400 V, so the next run is a step higher, at 425 V with 50 drops."
DOWN = "Specimen 01 failed at 400 V, so the next run is at 375 V with 50 drops."


def with_values(edition: MethodEdition = EDITION_2020, **values: Any) -> MethodEdition:
    return edition.revised(*(replace(edition.parameter(key), value=value) for key, value in values.items()))


def material(proof_v: int, lower_v: int) -> Callable[[int, int], int | None]:
    """A material that survives 50 drops up to one voltage and 100 up to another: the drop of its trip, or None."""

    def answer(voltage: int, drops: int) -> int | None:
        if voltage > proof_v:
            return 30
        return 73 if drops == 100 and voltage > lower_v else None

    return answer


def followed(
    edition: MethodEdition, answer: Callable[[int, int], int | str | None], start: int | None = None
) -> tuple[LineResult, list[Run]]:
    """Test what is asked for, one specimen at a time, to the end of the search."""
    runs: list[Run] = []
    while (step := next_of(result := search(edition, runs, start))) is not None:
        voltage, specimens, drops = step
        assert specimens > 0
        assert voltage in range(100, 601, 25)
        assert len(runs) < 21 * 2 * 22, "the search does not end"
        runs.append((voltage, int(drops), answer(voltage, int(drops))))
    return result, runs


def path(runs: list[Run]) -> list[tuple[int, int]]:
    """The levels in the order in which they were gone to."""
    found: list[tuple[int, int]] = []
    for voltage, drops, _ in runs:
        if not found or found[-1] != (voltage, drops):
            found.append((voltage, drops))
    return found


@pytest.mark.parametrize(
    ("proof_v", "lower_v", "written", "group"),
    [
        (400, 400, "CTI 400", "II"),
        (400, 375, "CTI 400", "II"),
        (400, 350, "CTI 400 (350)", "II"),
        (400, 100, "CTI 400 (100)", "II"),
        (400, 75, "CTI 400 (<100)", "II"),
        (600, 600, "CTI 600", "I"),
        (600, 575, "CTI 600", "I"),
        (600, 550, "CTI 600 (550)", "I"),
        (575, 550, "CTI 575", "II"),
        (175, 150, "CTI 175", "IIIa"),
        (150, 125, "CTI 150", "IIIb"),
        (125, 100, "CTI 125", "IIIb"),
        (125, 75, "CTI 125 (<100)", "IIIb"),
        (100, 75, "CTI 100", "IIIb"),
        (75, 75, "CTI <100", ""),
    ],
)
@pytest.mark.parametrize("edition", [EDITION_2003, EDITION_2020], ids=["2003", "2020"])
@pytest.mark.parametrize("start", [None, 100, 250, 600])
def test_both_orders_of_the_runs_lead_to_the_same_index(
    edition: MethodEdition, start: int | None, proof_v: int, lower_v: int, written: str, group: str
) -> None:
    result, _ = followed(edition, material(proof_v, lower_v), start)
    assert (result.state, result.result, result.needed) == ("determined", written, 0)
    words = f"material group {group}." if group else "not survived at 100 V."
    assert result.sentence.endswith(words)


@pytest.mark.parametrize(
    ("voltage", "group"),
    [("600", "I"), ("599", "II"), ("400", "II"), ("399", "IIIa"), ("175", "IIIa"), ("174", "IIIb"), ("100", "IIIb"),
     ("99", "")],
)  # fmt: skip
def test_material_groups(voltage: str, group: str) -> None:
    assert material_group(EDITION_2020, D(voltage)) == group


def test_the_2020_order_screens_then_50_then_100_drops() -> None:
    result, runs = followed(EDITION_2020, material(450, 400))
    assert path(runs) == [(400, 50), (425, 50), (450, 50), (475, 50), (450, 50), (425, 100), (400, 100)]
    assert len(runs) == 4 + 4 + 1 + 5
    assert result.sentence == (
        "CTI 450 (400): 50 drops survived at 450 V and 100 drops only at 400 V; material group II."
    )


def test_the_2003_order_finds_the_100_drop_point_first() -> None:
    result, runs = followed(EDITION_2003, material(450, 400))
    assert path(runs) == [(400, 100), (425, 100), (425, 50), (450, 50), (475, 50)]
    assert len(runs) == 5 + 1 + 4 + 5 + 1  # the specimen that failed at drop 73 survived 50
    assert result.result == "CTI 450 (400)"


def test_the_order_of_runs_is_a_parameter() -> None:
    turned = with_values(run_order="100 drops first", screening_run=False)
    assert followed(turned, material(450, 400))[1] == followed(EDITION_2003, material(450, 400))[1]


def test_what_is_not_believed_is_screened_and_what_is_agreed_is_not() -> None:
    begun, agreed = search(EDITION_2020, []), search(EDITION_2020, [], 350)
    assert (begun.state, next_of(begun)) == ("not started", (400, 1, "50"))
    assert begun.next is not None
    assert begun.next.reason == SCREENING
    assert next_of(agreed) == (350, 5, "50")
    assert agreed.next is not None
    assert agreed.next.reason == "The search starts at the voltage agreed, 350 V with 50 drops."
    assert next_of(search(with_values(start_v=D(350)), [])) == (350, 1, "50")
    assert next_of(search(with_values(screening_specimens=D(2)), [])) == (400, 2, "50")


def test_a_start_off_the_grid_is_flagged() -> None:
    result = search(EDITION_2020, [], 410)
    assert next_of(result) == (400, 5, "50")
    assert result.flags == ("410 V is no step of the search; it starts at 400 V.",)


@pytest.mark.parametrize(
    ("runs", "step", "reason"),
    [
        ([(400, 50, None)], (425, 1, "50"), UP),
        ([(400, 50, 12)], (375, 5, "50"), DOWN),
        ([(400, 50, "flame")], (375, 5, "50"), DOWN),
        ([(400, 50, None), (425, 50, 12)], (400, 4, "50"), "1 survived at 400 V with 50 drops; all of 5 must."),
        (
            [(425, 50, 12), *five(400, 50)], (375, 5, "100"),
            "50 drops are survived at 400 V; the longer run follows 25 V lower, at 375 V with 100 drops.",
        ),
        (
            [(425, 50, 12), *five(400, 50), (375, 100, 99)], (350, 5, "100"),
            "Specimen 07 failed at 375 V, so the next run is at 350 V with 100 drops.",
        ),
        (
            [(400, 50, "arc")], (400, 1, "50"),
            f"{SCREENING} An air arc spoiled specimen 01: clean, and repeat at the same voltage on a new site.",
        ),
        (
            [(400, 50, "arc"), (400, 50, "arc")], (375, 5, "50"),
            "The air arc came again at 400 V, so the next run is lower, at 375 V with 50 drops.",
        ),
    ],
)  # fmt: skip
def test_the_next_voltage_has_its_reason(runs: list[Run], step: tuple[int, int, str], reason: str) -> None:
    result = search(EDITION_2020, runs)
    assert next_of(result) == step
    assert result.next is not None
    assert result.next.reason == reason


@pytest.mark.parametrize(("drop", "survives"), [(50, False), (51, True)])
def test_a_failure_after_drop_51_of_a_longer_run_has_survived_50(drop: int, survives: bool) -> None:
    runs: list[Run] = [(425, 50, 12), *five(400, 50)[:4], (400, 100, drop)]
    expected = (375, 5, "100") if survives else (375, 5, "50")
    assert next_of(search(EDITION_2020, runs)) == expected


def test_a_failure_at_drop_100_fails_the_longer_run_and_one_at_101_does_not() -> None:
    before: list[Run] = [(425, 50, 12), *five(400, 50), *five(375, 100)[:4]]
    assert search(EDITION_2020, [*before, (375, 100, 101)]).result == "CTI 400"
    assert next_of(search(EDITION_2020, [*before, (375, 100, 100)])) == (350, 5, "100")


def test_the_lowest_voltage_can_be_made_to_need_the_longer_run() -> None:
    strict = with_values(lowest_needs_lower_run=True)
    assert followed(strict, material(100, 75))[0].result == "CTI 100 (<100)"
    assert followed(strict, material(100, 100))[0].result == "CTI 100"


def test_how_far_below_the_longer_run_is_made_is_a_parameter() -> None:
    assert followed(with_values(lower_by_v=D(50)), material(400, 350))[0].result == "CTI 400"


def test_one_in_ten_keeps_the_voltage_under_the_other_rule() -> None:
    runs: list[Run] = [(425, 50, 12), (425, 50, 9), *five(400, 50)[:4], (400, 50, 31)]
    assert next_of(search(EDITION_2020, runs)) == (375, 5, "50")
    other = with_values(failure_rule="one in ten counts as passed")
    assert next_of(search(other, runs)) == (400, 5, "50")
    assert next_of(search(other, [*runs, *five(400, 50)])) == (375, 5, "100")


def test_an_air_arc_that_bars_the_voltage_above_leaves_the_index_open() -> None:
    runs: list[Run] = [(400, 50, None), (425, 50, "arc"), (425, 50, "arc"), *five(400, 50)[:4], *five(375, 100)]
    barred = search(EDITION_2020, runs)
    assert (barred.state, barred.result) == ("determined", "CTI not determinable")
    assert barred.sentence == "CTI not determinable: an air arc bars 425 V; 50 drops survived at 400 V."
    assert search(with_values(air_arc_end="the highest survived"), runs).result == "CTI 400"
    assert search(EDITION_2020, [*runs, (425, 50, 12)]).result == "CTI 400"


def test_an_air_arc_that_bars_the_longer_run_sends_it_lower_and_is_reported() -> None:
    before: list[Run] = [(425, 50, 12), *five(400, 50), (375, 100, "arc"), (375, 100, "arc")]
    assert next_of(search(EDITION_2020, before)) == (350, 5, "100")
    result = search(EDITION_2020, [*before, *five(350, 100)])
    assert (result.result, result.flags[-1]) == (
        "CTI 400 (350)", "An air arc came again at 375 V; to be reported.",
    )  # fmt: skip


def test_what_lies_below_the_lowest_failure_counts_and_is_flagged() -> None:
    runs: list[Run] = [*five(450, 50), (425, 50, 12), *five(400, 50), *five(375, 100)]
    result = search(EDITION_2020, runs)
    assert (result.result, result.flags) == ("CTI 400", (
        "Survived at 450 V with 50 drops although 425 V failed; what lies below the lowest failure counts.",
    ))  # fmt: skip


def test_levels_are_drawn_with_their_drops() -> None:
    runs: list[Run] = [(375, 50, None), (425, 50, 12), *five(400, 50), (375, 100, "arc"), (375, 100, "arc")]
    levels = search(EDITION_2020, runs).levels
    assert [(level.text, level.state, level.note, level.specimens) for level in levels] == [
        ("375 V, 50 drops", "open", "50 drops, 1 of 5", ("01",)),
        ("375 V, 100 drops", "open", "100 drops, air arc", ("08", "09")),
        ("400 V, 50 drops", "passed", "50 drops", ("03", "04", "05", "06", "07")),
        ("425 V, 50 drops", "failed", "50 drops", ("02",)),
    ]


def test_a_doubt_calls_for_nothing_in_a_search() -> None:
    trials = line(EDITION_2020, (400, 50, None))
    result = EDITION_2020.judge_line(Asked(None, 5), trials, (Doubt("01", "sparks", before_verdict=True),))
    assert result.flags == ("The doubt about specimen 01 calls for nothing in a search.",)


def test_the_result_by_solution_b_carries_its_letter_and_no_group() -> None:
    by_b = with_values(solution="B")
    runs = [(425, 50, 12), *five(400, 50), (375, 100, 60), *five(350, 100)]
    trials = line(EDITION_2020, *runs)
    as_b = [
        replace(t, verdict=replace(t.verdict, quantities=tuple(
            replace(q, text="B") if q.key == "solution" else q for q in t.verdict.quantities
        )))
        for t in trials
    ]  # fmt: skip
    result = by_b.judge_line(Asked(None, 5), as_b)
    assert result.result == "CTI 400 (350) M"
    assert result.sentence == "CTI 400 (350) M: 50 drops survived at 400 V and 100 drops only at 350 V."


EDITIONS_OF_BOTH_ORDERS = st.sampled_from([
    EDITION_2003, EDITION_2020, with_values(failure_rule="one in ten counts as passed"),
    with_values(EDITION_2003, failure_rule="one in ten counts as passed"),
])  # fmt: skip
STARTS = st.sampled_from([None, 100, 250, 400, 600])
WHAT = st.sampled_from([None, None, None, None, 12, 50, 51, 73, 100, "arc", "flame"])
RUNS = st.lists(
    st.tuples(st.sampled_from(range(300, 501, 25)), st.sampled_from([50, 100]), WHAT), max_size=30
)  # fmt: skip


@settings(max_examples=40, deadline=None)
@given(edition=EDITIONS_OF_BOTH_ORDERS, start=STARTS, data=st.data())
def test_the_search_ends_within_the_bound_of_its_grid_whatever_the_specimens_do(
    edition: MethodEdition, start: int | None, data: st.DataObject
) -> None:
    answers = data.draw(st.lists(WHAT, min_size=1, max_size=60))
    counter = iter(range(10_000))
    result, _ = followed(edition, lambda _voltage, _drops: answers[next(counter) % len(answers)], start)
    assert (result.state, result.needed) == ("determined", 0)


@given(runs=RUNS, start=STARTS, data=st.data(), edition=EDITIONS_OF_BOTH_ORDERS)
def test_a_search_does_not_depend_on_the_order_of_its_trials(
    runs: list[Run], start: int | None, data: st.DataObject, edition: MethodEdition
) -> None:
    trials = line(edition, *runs)
    asked = Asked(None, 5, None if start is None else D(start))
    assert edition.judge_line(asked, data.draw(st.permutations(trials))) == edition.judge_line(asked, trials)


def index_of(result: LineResult) -> int:
    """The index of a determined search in V; 0 below the grid, -1 where there is none yet."""
    if not result.result or "not determinable" in result.result:
        return -1
    return 0 if "<100" in result.result.split("(")[0] else int(result.result.split()[1])


@settings(max_examples=200, deadline=None)
@given(
    proof_v=st.sampled_from(range(75, 601, 25)),
    below=st.sampled_from([0, 25, 50, 100]),
    edition=EDITIONS_OF_BOTH_ORDERS,
    voltage=st.sampled_from(range(100, 601, 25)),
    drops=st.sampled_from([50, 100]),
    drop=st.sampled_from([1, 12, 50]),
)
def test_a_failing_specimen_never_raises_the_index(
    proof_v: int, below: int, edition: MethodEdition, voltage: int, drops: int, drop: int
) -> None:
    before, runs = followed(edition, material(proof_v, proof_v - below))
    after = search(edition, [*runs, (voltage, drops, drop)])
    assert index_of(after) <= index_of(before)

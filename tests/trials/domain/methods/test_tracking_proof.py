"""Proof at one voltage: five specimens, one failure, air arcs, holes, doubt.

Five specimens and 50 drops: public pages of two test laboratories. One failure fails the voltage; an air arc is no
failure and is repeated once: IEC 60112:2020 clause 11, public excerpt. The rule for doubt: IEC 60335-1 annex N, public
text of a national adoption. One in ten: a test laboratory's page. The figures of the trials are constructed.
"""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.trials.domain.glow_wire_trial import row
from tests.trials.domain.tracking_trial import EDITION_2020, course, five, line, next_of, trial
from trials.domain.line_result import Asked, Doubt, LineResult, LineTrial
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import EDITIONS

D = Decimal


def with_values(**values: Any) -> MethodEdition:
    return EDITION_2020.revised(*(replace(EDITION_2020.parameter(key), value=value) for key, value in values.items()))


ONE_IN_TEN = with_values(failure_rule="one in ten counts as passed")
ANNEX_N = with_values(doubt_rule="100 drops, 25 V lower")
DOUBT = Doubt("03", "small sparks at drop 40", before_verdict=True)


def proof(
    *runs: tuple[int, int, int | str | None],
    edition: MethodEdition = EDITION_2020,
    voltage: int = 400,
    ordered: int = 5,
    doubts: tuple[Doubt, ...] = (),
) -> LineResult:
    return edition.judge_line(Asked(D(voltage), ordered), line(edition, *runs), doubts)


def test_a_proof_begins_with_five_at_its_voltage() -> None:
    result = proof()
    assert (result.state, result.sentence) == (
        "not started", "Not started: 5 specimens to be tested at 400 V with 50 drops.",
    )  # fmt: skip
    assert (next_of(result), result.needed) == ((400, 5, "50"), 5)
    assert result.next is not None
    assert result.next.reason == "The proof is 5 specimens at 400 V with 50 drops."


@pytest.mark.parametrize("key", sorted(key for key in EDITIONS if key.startswith("tracking@")))
@pytest.mark.parametrize("voltage", [100, 175, 400, 600])
def test_five_survivors_prove_the_voltage_in_every_edition(key: str, voltage: int) -> None:
    result = proof(*five(voltage, 50), edition=EDITIONS[key], voltage=voltage)
    assert (result.state, result.result, result.next) == ("passed", f"PTI {voltage}", None)
    assert result.sentence == f"Passed at {voltage} V: 5 specimens survived 50 drops. PTI {voltage}."


def test_four_survivors_are_not_five() -> None:
    result = proof(*five(400, 50)[:4])
    assert (result.state, next_of(result)) == ("more specimens needed", (400, 1, "50"))


def test_one_valid_failure_fails_the_voltage() -> None:
    result = proof(*five(400, 50)[:4], (400, 50, 31))
    assert (result.state, result.needed, result.result) == ("failed", 0, "")
    assert result.sentence == "Failed at 400 V: specimen 05, the device tripped at drop 31, 50 drops asked."


def test_one_in_ten_counts_as_passed_under_the_other_rule() -> None:
    begun = proof((400, 50, 31), *five(400, 50)[:4], edition=ONE_IN_TEN)
    assert (begun.state, next_of(begun)) == ("more specimens needed", (400, 5, "50"))
    passed = proof((400, 50, 31), *five(400, 50)[:4], *five(400, 50), edition=ONE_IN_TEN)
    assert (passed.state, passed.result) == ("passed", "PTI 400")
    assert passed.flags == ("Specimen 01 failed; one in 10 counts as passed here.",)
    failed = proof((400, 50, 31), *five(400, 50), *five(400, 50)[:3], (400, 50, 7), edition=ONE_IN_TEN)
    assert (failed.state, failed.sentence) == ("failed", "Failed at 400 V: 2 failed (01, 10).")


def test_every_specimen_ordered_beyond_five_must_survive() -> None:
    assert next_of(proof(*five(400, 50), ordered=7)) == (400, 2, "50")
    assert proof(*five(400, 50), (400, 50, 9)).state == "failed"


def test_a_run_of_more_drops_proves_fewer() -> None:
    assert proof(*five(400, 50)[:4], (400, 100, 73)).state == "passed"
    assert proof(*five(400, 50)[:4], (400, 100, 50)).state == "failed"
    later = with_values(later_failure_survives=False)
    assert next_of(proof(*five(400, 50)[:4], (400, 100, 73), edition=later)) == (400, 1, "50")


def test_an_air_arc_is_repeated_once_at_the_same_voltage_and_then_bars_it() -> None:
    once = proof((400, 50, "arc"))
    assert (once.state, next_of(once)) == ("more specimens needed", (400, 5, "50"))
    assert once.next is not None
    assert once.next.reason == (
        "The proof is 5 specimens at 400 V with 50 drops. An air arc spoiled specimen 01: clean, and repeat once at "
        "this voltage on a new site."
    )
    twice = proof((400, 50, "arc"), (400, 50, "arc"))
    assert (twice.state, twice.next) == ("hold", None)
    assert twice.flags == (
        "An air arc at 400 V spoiled the trial on specimen 01.",
        "An air arc at 400 V spoiled the trial on specimen 02.",
    )
    assert proof((400, 50, "arc"), (400, 50, "arc"), *five(400, 50)).state == "passed"
    two_repeats = with_values(air_arc_repeats=D(2))
    assert proof((400, 50, "arc"), (400, 50, "arc"), edition=two_repeats).state == "more specimens needed"


def test_a_hole_sends_to_thicker_material() -> None:
    result = proof((400, 50, "hole"))
    assert (result.state, result.set_aside, next_of(result)) == ("more specimens needed", ("01",), (400, 5, "50"))
    assert result.flags == ("A hole formed through specimen 01 at 400 V: thicker material.",)
    assert result.next is not None
    assert result.next.reason.endswith(" Take thicker material, a stack: a hole formed through specimen 01.")
    recorded = with_values(hole_rule="a remark")
    assert proof(*[(400, 50, "hole")] * 5, edition=recorded).result == "PTI 400"


def test_in_doubt_a_hundred_drops_25_v_lower_settle_it_where_agreed() -> None:
    asked = proof(*five(400, 50), edition=ANNEX_N, doubts=(DOUBT,))
    assert (asked.state, next_of(asked)) == ("more specimens needed", (375, 5, "100"))
    passed = proof(*five(400, 50), *five(375, 100), edition=ANNEX_N, doubts=(DOUBT,))
    assert (passed.state, passed.result) == ("passed", "PTI 400")
    assert passed.flags == ("To be reported: in doubt at 400 V, settled by 375 V with 100 drops.",)
    failed = proof(*five(400, 50), (375, 100, 88), edition=ANNEX_N, doubts=(DOUBT,))
    assert (failed.state, failed.result) == ("failed", "")
    barred = proof(*five(400, 50), (375, 100, "arc"), (375, 100, "arc"), edition=ANNEX_N, doubts=(DOUBT,))
    assert barred.state == "hold"


@pytest.mark.parametrize(("voltage", "by_v", "lower"), [(100, 25, "75 V"), (400, 30, "370 V")])
def test_a_doubt_that_no_voltage_can_settle_holds_the_line(voltage: int, by_v: int, lower: str) -> None:
    edition = with_values(doubt_rule="100 drops, 25 V lower", lower_by_v=D(by_v))
    found = proof(*five(voltage, 50), edition=edition, voltage=voltage, doubts=(DOUBT,))
    unsettled = f"in doubt, and {lower} is no voltage of the test, so that nothing settles it; a lead decides."
    assert (found.state, found.result, found.sentence) == ("hold", "", f"On hold at {voltage} V: {unsettled}")


def test_a_doubt_that_does_not_count_is_flagged() -> None:
    late = Doubt("03", "small sparks", before_verdict=False)
    found = [
        proof(*five(400, 50), doubts=(DOUBT,)).flags,
        proof(*five(400, 50), edition=ANNEX_N, doubts=(late,)).flags,
        proof(*five(400, 50), edition=ANNEX_N, doubts=(replace(DOUBT, specimen="09"),)).flags,
    ]
    assert found == [
        ("The doubt about specimen 03 calls for nothing under the rule agreed.",),
        ("The doubt does not count. The doubt about specimen 03 was recorded after its verdict.",),
        ("The doubt about specimen 09 does not count: no trial at this voltage.",),
    ]


def test_a_doubt_never_covers_a_failure() -> None:
    assert proof(*five(400, 50)[:4], (400, 50, 31), edition=ANNEX_N, doubts=(DOUBT,)).state == "failed"


def measured(edition: MethodEdition, *depths: str, solution: str = "A") -> list[LineTrial]:
    resistivity = D("3.95") if solution == "A" else D("1.98")
    setup = {"solution": solution, "resistivity_ohm_m": resistivity}
    records = [trial(*course(row("erosion", value=D(d))), edition=edition, setup=setup) for d in depths]
    return [LineTrial(f"{n:02}", edition.judge(r), n, D(400)) for n, r in enumerate(records, start=1)]


def test_letter_and_erosion_follow_the_figure() -> None:
    depths = ("0.3", "1.2", "0.75", "1.0", "0.9")
    with_erosion, by_b = with_values(erosion_asked=True), with_values(erosion_asked=True, solution="B")
    other_letter = with_values(solution="B", suffix_b="B")
    written = [
        with_erosion.judge_line(Asked(D(400), 5), measured(with_erosion, *depths)).result,
        EDITION_2020.judge_line(Asked(D(400), 5), measured(EDITION_2020, *depths)).result,
        by_b.judge_line(Asked(D(400), 5), measured(by_b, *depths, solution="B")).result,
        other_letter.judge_line(Asked(D(400), 5), measured(other_letter, *depths, solution="B")).result,
        with_erosion.judge_line(Asked(D(400), 5), measured(with_erosion, "0.3", "0.1", "0.25", "0.75", "0.2")).result,
    ]
    assert written == ["PTI 400-1.2", "PTI 400", "PTI 400 M-1.2", "PTI 400 B", "PTI 400-0.8"]


def test_solutions_are_never_mixed() -> None:
    by_b = with_values(solution="B")
    mixed = [*measured(EDITION_2020, "0.1", "0.1"), *measured(by_b, "0.1", solution="B")]
    result = EDITION_2020.judge_line(Asked(D(400), 5), mixed)
    assert (result.state, result.sentence) == (
        "hold", "On hold: solutions A and B are mixed in one line; a lead decides.",
    )  # fmt: skip


def test_less_than_one_specimen_cannot_be_ordered() -> None:
    with pytest.raises(ValueError, match="At least one specimen is ordered, not 0"):
        proof(ordered=0)


OUTCOMES = st.lists(st.sampled_from([None, None, None, 12, 50, 51, "arc", "hole", "flame"]), max_size=8)


@given(outcomes=OUTCOMES, data=st.data())
def test_a_proof_does_not_depend_on_the_order_of_its_trials(
    outcomes: list[int | str | None], data: st.DataObject
) -> None:
    trials = line(EDITION_2020, *((400, 50, what) for what in outcomes))
    asked = Asked(D(400), 5)
    mixed = data.draw(st.permutations(trials))
    assert EDITION_2020.judge_line(asked, mixed) == EDITION_2020.judge_line(asked, trials)


@given(outcomes=OUTCOMES)
def test_a_failing_specimen_is_never_passed_over(outcomes: list[int | str | None]) -> None:
    runs: list[tuple[int, int, int | str | None]] = [(400, 50, what) for what in outcomes]
    assert proof(*runs, (400, 50, 50)).state == "failed"

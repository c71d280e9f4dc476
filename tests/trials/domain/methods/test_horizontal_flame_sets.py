"""Sets of bars of the horizontal flame: second sets, replaced bars, best class, how far down HB stands.

Sets of three, a second one where only one bar is bad, all of which must comply: general knowledge of IEC 60695-11-10.
HB at 3.0 mm standing down to 1.5 mm: text of IEC 60695-11-10:2003 as quoted in public.
"""

from collections.abc import Sequence
from decimal import Decimal
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.trials.domain.glow_wire_trial import row
from tests.trials.domain.horizontal_flame_trial import (
    EDITION_2013,
    HB,
    HB40,
    HB75,
    burns_past,
    course,
    edition,
    judged,
    line,
    stops,
)
from trials.domain.line_result import Asked, Doubt, LineResult, LineTrial
from trials.domain.verdicts import Verdict

D = Decimal
ROWS = {
    "slow": burns_past("120.0"),  # 37.5 mm/min: HB40
    "fast": burns_past("90.0"),  # 50 mm/min: HB75
    "none": burns_past("59.9"),  # 75.1 mm/min
    "stop": stops("10", "150.0"),  # 10 mm in 110 s
    "put out": course(row("front_first", "40.0"), row("put_out", "70.0")),
}
RANK = {"passed": 0, "more specimens needed": 1, "hold": 1, "failed": 2}
BARS = st.lists(st.sampled_from(["slow", "fast", "none", "stop"]), min_size=1, max_size=7)


@cache
def bar(kind: str, severity: Decimal | None = None) -> Verdict:
    """The verdict on a bar of a kind."""
    return judged(*ROWS[kind], severity=severity)


def result(kinds: Sequence[str], severity: Decimal | None = None) -> LineResult:
    """The result of a line of bars of these kinds, in the order tested."""
    return line(*(bar(kind, severity) for kind in kinds), severity=severity)


@pytest.mark.parametrize(
    ("kinds", "state", "written", "needed"),
    [
        ([], "not started", "", 3),
        (["slow"], "more specimens needed", "", 2),
        (["slow"] * 3, "determined", "HB40 at 3.0 mm", 0),
        (["slow", "fast", "slow"], "more specimens needed", "", 3),
        (["slow", "fast", "slow", "slow"], "more specimens needed", "", 2),
        (["slow", "fast", "slow", "slow", "stop", "slow"], "determined", "HB40 at 3.0 mm", 0),
        (["slow", "fast", "slow", "fast"], "determined", "HB75 at 3.0 mm", 0),
        (["slow", "fast", "fast"], "determined", "HB75 at 3.0 mm", 0),
        (["fast", "fast"], "more specimens needed", "", 1),
        (["fast", "fast", "none"], "more specimens needed", "", 3),
        (["fast", "fast", "none", "fast", "fast", "fast"], "determined", "HB75 at 3.0 mm", 0),
        (["fast", "fast", "none", "none"], "determined", "no HB class at 3.0 mm", 0),
        (["none", "none"], "determined", "no HB class at 3.0 mm", 0),
    ],
)
def test_the_best_class_of_sets_of_three(kinds: list[str], state: str, written: str, needed: int) -> None:
    found = result(kinds)
    assert (found.state, found.result, found.needed) == (state, written, needed)
    assert found.needed == (0 if found.next is None else found.next.specimens)


@pytest.mark.parametrize(
    ("level", "kinds", "state", "written"),
    [
        (HB40, ["slow", "slow", "stop"], "passed", "HB40 at 3.0 mm"),
        (HB40, ["slow", "fast", "slow"], "more specimens needed", ""),
        (HB40, ["slow", "fast", "slow", "slow", "slow", "slow"], "passed", "HB40 at 3.0 mm"),
        (HB40, ["slow", "fast", "slow", "slow", "fast"], "failed", ""),
        (HB40, ["fast", "fast"], "failed", ""),
        (HB75, ["fast", "slow", "fast"], "passed", "HB75 at 3.0 mm"),
        (HB, ["slow", "slow", "slow"], "passed", "HB at 3.0 mm"),
        (HB, ["fast", "slow", "fast"], "failed", ""),
    ],
)
def test_proof_of_a_class(level: Decimal, kinds: list[str], state: str, written: str) -> None:
    found = result(kinds, level)
    assert (found.state, found.result) == (state, written)


def test_the_lower_class_that_is_reached_is_named_with_the_second_set() -> None:
    found = result(["slow", "fast", "slow"])
    assert found.next is not None
    assert (found.sentence, found.next.reason) == (
        "3 more specimens to be tested for HB40: second set.",
        "A second set decides on HB40: specimen 02 does not meet HB40 (HB75 at best). HB75 is reached already.",
    )


def test_a_second_set_run_for_hb40_does_not_bind_hb75() -> None:
    found = result(["slow", "fast", "slow", "none"])
    assert (found.state, found.result) == ("determined", "HB75 at 3.0 mm")
    assert len(found.flags) == 1
    assert found.further == ("04",)


def test_a_bar_put_out_or_burner_out_is_replaced() -> None:
    found = result(["slow", "put out", "slow", "slow"])
    assert (found.state, found.counted, found.set_aside) == ("determined", ("01", "03", "04"), ("02",))


def test_another_number_of_bars_in_a_set_is_a_parameter() -> None:
    five = edition(specimens_needed={"value": D(5)})
    found = line(*(judged(*ROWS["slow"], judged_by=five) for _ in range(4)), judged_by=five)
    assert (found.state, found.needed) == ("more specimens needed", 1)


@pytest.mark.parametrize(("nominal", "stands"), [("2.8", True), ("3.0", True), ("3.2", True), ("2.5", False),
                                                 ("3.5", False)])  # fmt: skip
def test_hb_at_3_mm_says_how_far_down_it_stands(nominal: str, stands: bool) -> None:
    setup = {"nominal_mm": D(nominal), "thickness_mm": D(nominal)}
    found = line(*(judged(*ROWS["slow"], severity=HB, setup=setup) for _ in range(3)), severity=HB)
    said = [one for one in found.reasons if "1.5 mm" in one]
    assert (found.state, len(said)) == ("passed", int(stands))


def test_hb_that_burned_faster_than_the_lower_rate_does_not_stand_further_down() -> None:
    setup = {"nominal_mm": D("1.6"), "thickness_mm": D("1.60")}
    found = line(*(judged(*ROWS["fast"], severity=HB, setup=setup) for _ in range(3)), severity=HB)
    assert (found.state, [one for one in found.reasons if "down to" in one]) == ("passed", [])


def test_a_doubt_calls_for_nothing() -> None:
    trials = [LineTrial(f"{n:02d}", bar("slow"), n) for n in (1, 2, 3)]
    found = EDITION_2013.judge_line(Asked(None, 3), trials, [Doubt("02", "flickered", True)])
    assert (found.state, len(found.flags)) == ("determined", 1)


def test_a_bad_bar_beyond_those_asked_for_holds_the_line_unless_it_is_only_listed() -> None:
    assert result(["slow", "slow", "slow", "fast"]).state == "hold"
    listed = edition(failing_extra={"value": "is listed only"})
    found = line(*(judged(*ROWS[k], judged_by=listed) for k in ("slow", "slow", "slow", "fast")), judged_by=listed)
    assert (found.state, found.result, found.extra) == ("determined", "HB40 at 3.0 mm", ("04",))


def test_less_than_one_specimen_is_refused() -> None:
    with pytest.raises(ValueError, match="At least one"):
        EDITION_2013.judge_line(Asked(None, 0), [])


@given(kinds=st.lists(st.sampled_from(["slow", "fast", "none", "stop"]), min_size=3, max_size=3), data=st.data())
def test_the_order_within_a_set_does_not_matter(kinds: list[str], data: st.DataObject) -> None:
    other = data.draw(st.permutations(kinds))
    first, second = result(kinds), result(other)
    assert (first.state, first.result, first.needed) == (second.state, second.result, second.needed)


@given(kinds=BARS, data=st.data())
def test_the_order_in_which_trials_are_given_does_not_matter(kinds: list[str], data: st.DataObject) -> None:
    trials = [LineTrial(f"{n:02d}", bar(kind), n) for n, kind in enumerate(kinds, start=1)]
    mixed = data.draw(st.permutations(trials))
    assert EDITION_2013.judge_line(Asked(None, 3), mixed) == EDITION_2013.judge_line(Asked(None, 3), trials)


@given(kinds=BARS, level=st.sampled_from([HB, HB40, HB75]))
def test_a_further_bad_bar_never_improves_a_line(kinds: list[str], level: Decimal) -> None:
    before, after = result(kinds, level), result([*kinds, "none"], level)
    assert RANK[after.state] >= RANK[before.state]


@given(kinds=BARS, level=st.sampled_from([HB, HB40, HB75]), data=st.data())
def test_a_bad_bar_in_the_place_of_another_never_improves_a_line(
    kinds: list[str], level: Decimal, data: st.DataObject
) -> None:
    place = data.draw(st.integers(min_value=0, max_value=len(kinds) - 1))
    worse = [*kinds[:place], "none", *kinds[place + 1 :]]
    before, after = result(kinds, level), result(worse, level)
    assert RANK[after.state] >= RANK[before.state]

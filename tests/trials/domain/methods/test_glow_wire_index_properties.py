"""Properties of the two glow-wire indexes that hold for any course of a trial and any set of trials."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.trials.domain.methods.test_glow_wire_properties import BURNS, EVENTS, TENTHS, rows_of
from tests.trials.domain.plate_trial import GWFI, GWIT, at, plate
from trials.domain.line_result import Asked, LineTrial
from trials.domain.methods.base import MethodEdition
from trials.domain.verdicts import verdict_bytes

D = Decimal
RANK = {"pass": 0, "not judged": 1, "fail": 2}
EDITIONS = st.sampled_from((GWFI, GWIT))
LEVELS = ("650", "700", "750", "775", "800", "825", "850", "900", "930", "960")
LADDERS = st.lists(st.tuples(st.sampled_from(LEVELS), st.sampled_from("PF")), max_size=6)

type Burn = tuple[str, Decimal, Decimal | None]


def index(edition: MethodEdition, trials: list[LineTrial]) -> Decimal:
    """The highest level passed below the lowest failed, 0 where there is none."""
    levels = edition.judge_line(Asked(None), trials).levels
    failed = min((one.severity or D(0) for one in levels if one.state == "failed"), default=D(9999))
    return max((one.severity or D(0) for one in levels if one.state == "passed" and (one.severity or D(0)) < failed),
               default=D(0))  # fmt: skip


def trials_of(edition: MethodEdition, ladder: list[tuple[str, str]]) -> list[LineTrial]:
    return at(edition, " ".join(f"{level}{mark}" for level, mark in ladder))


@given(EDITIONS, BURNS.filter(len), EVENTS, st.integers(0, 4), TENTHS)
def test_a_longer_flame_never_improves_a_verdict(
    edition: MethodEdition, burns: list[Burn], events: list[tuple[str, Decimal]], which: int, longer: Decimal
) -> None:
    known = [(kind, start, D(1) if length is None else length) for kind, start, length in burns]
    kind, start, length = known[which % len(known)]
    stretched: list[Burn] = [*known]
    stretched[which % len(known)] = (kind, start, length + longer)
    courses = (tuple(rows_of([*one], events)) for one in (known, stretched))
    before, after = (edition.judge(plate(edition, observations=rows)).outcome for rows in courses)
    assert RANK[after] >= RANK[before]


@given(EDITIONS, BURNS, EVENTS, st.data())
def test_a_trial_is_judged_the_same_whatever_the_order_of_its_rows(
    edition: MethodEdition, burns: list[Burn], events: list[tuple[str, Decimal]], data: st.DataObject
) -> None:
    rows = rows_of(burns, events)
    mixed = tuple(data.draw(st.permutations(rows)))
    verdicts = [edition.judge(plate(edition, observations=one)) for one in (tuple(rows), mixed)]
    assert verdict_bytes(verdicts[0]) == verdict_bytes(verdicts[1])


@settings(max_examples=50, deadline=None)
@given(EDITIONS, LADDERS, st.data())
def test_a_line_is_judged_the_same_in_any_order_of_its_trials(
    edition: MethodEdition, ladder: list[tuple[str, str]], data: st.DataObject
) -> None:
    trials = trials_of(edition, ladder)
    mixed = data.draw(st.permutations(trials))
    assert edition.judge_line(Asked(None), mixed) == edition.judge_line(Asked(None), trials)


@settings(max_examples=50, deadline=None)
@given(EDITIONS, LADDERS, st.sampled_from(LEVELS))
def test_adding_a_failing_plate_never_raises_an_index(
    edition: MethodEdition, ladder: list[tuple[str, str]], level: str
) -> None:
    trials = trials_of(edition, ladder)
    failing = LineTrial("x", at(edition, f"{level}F")[0].verdict, 999, D(level))
    assert index(edition, [*trials, failing]) <= index(edition, trials)


@settings(max_examples=50, deadline=None)
@given(EDITIONS, st.sampled_from([None, *LEVELS]), st.sampled_from([None, *LEVELS]))
def test_the_proposed_ladder_ends_within_the_bound_of_its_grid(
    edition: MethodEdition, highest: str | None, start: str | None
) -> None:
    """No level twice, three plates each at most: the grid bounds the search, and it ends at the material's index."""
    grid = [level.value for level in edition.severities]
    asked = Asked(None, start=None if start is None else D(start))
    trials: list[LineTrial] = []
    tested: list[Decimal] = []
    while (step := edition.judge_line(asked, trials).next) is not None:
        level = step.severity or D(0)
        assert level in grid
        assert level not in tested
        assert step.specimens == 3
        tested.append(level)
        passes = highest is not None and level <= D(highest)
        new = at(edition, f"{level}{'P' if passes else 'F'}")
        trials += [LineTrial(f"{level}-{t.specimen}", t.verdict, len(trials) + t.sequence, level) for t in new]
    assert index(edition, trials) == (D(0) if highest is None else D(highest))


@pytest.mark.parametrize("edition", [GWFI, GWIT])
def test_an_invalid_plate_counts_neither_for_nor_against(edition: MethodEdition) -> None:
    trials = at(edition, "750P 800F 775P")
    spoiled = edition.judge(plate(edition, level="700", setup={"force_n": D("1.20")}))
    line = edition.judge_line(Asked(None), [*trials, LineTrial("x", spoiled, 99, D(700))])
    assert (line.result, line.levels) == (
        edition.judge_line(Asked(None), trials).result, edition.judge_line(Asked(None), trials).levels,
    )  # fmt: skip

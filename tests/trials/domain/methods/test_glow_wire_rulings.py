"""Each choice a laboratory confirms for the end-product test: its default, and one other value that changes the answer.

The defaults are this program's; the figures behind them carry their own sources in the parameters.
"""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import permutations

import pytest

from tests.trials.domain.glow_wire_trial import EDITION_2021, course, row, trial
from trials.domain.criteria import Value
from trials.domain.flame_line import AFTER_WITHDRAWAL, FAILS, LONGEST, NEEDLE_FLAME, WHOLE
from trials.domain.line_result import Asked, Doubt, LineResult, LineTrial
from trials.domain.methods.base import MethodEdition
from trials.domain.records import Observation
from trials.domain.verdicts import Verdict

D = Decimal
LATE = (row("ignites", "6.5"), row("flame_out", "66.0"))


def edition(**values: Value) -> MethodEdition:
    return EDITION_2021.revised(*(replace(EDITION_2021.parameter(key), value=value) for key, value in values.items()))


def judged(rows: Sequence[Observation] = (), *, watch: str = "90.0", setup: dict[str, Value] | None = None,
           **values: Value) -> Verdict:  # fmt: skip
    return edition(**values).judge(trial(*course(*rows, watch=watch), setup=setup or {}))


def line(trials: Sequence[LineTrial], *doubts: Doubt, specimens: int = 1, **values: Value) -> LineResult:
    found = {edition(**values).judge_line(Asked(D(850), specimens), order, doubts) for order in permutations(trials)}
    assert len(found) == 1, "the order of the trials must not matter"
    return found.pop()


PASS, FAIL = judged(), judged(LATE)


# 1: the limit counts from the measured time in contact, else from the nominal one
def test_limit_counts_from() -> None:
    rows = (row("ignites", "6.5"), row("flame_out", "60.1"))
    assert [judged(rows, limit_counts_from=choice).outcome for choice in ("measured", "nominal")] == ["pass", "fail"]


# 2: glow past the limit fails without a flame
def test_glow_past_the_limit() -> None:
    rows = (row("glow_starts", "20.0"), row("glow_ends", "60.3"))
    assert [judged(rows, judge_glow=choice).outcome for choice in (True, False)] == ["fail", "pass"]
    assert judged(rows, judge_glow=False).warnings == ("Glow was seen; its end is recorded and not judged.",)


def test_glow_without_an_end_is_no_obstacle_where_glow_is_not_judged() -> None:
    rows = (row("glow_starts", "20.0"),)
    assert [judged(rows, judge_glow=choice).outcome for choice in (True, False)] == ["not judged", "pass"]
    assert judged(rows, judge_glow=False).sentence == "Passed at 850 °C: no flame, and the layer did not catch."


# 3: the layer catching fails a specimen that shows no flame itself
def test_layer() -> None:
    rows = (row("drip", "19.0"), row("layer_catches", "19.4"))
    assert [judged(rows, layer_must_not_catch=choice).outcome for choice in (True, False)] == ["fail", "pass"]
    off = judged(rows, layer_must_not_catch=False)
    assert off.sentence == "Passed at 850 °C: no flame and no glow, and the layer is not judged."
    assert off.warnings == ("The layer caught at 19.4 s; this is recorded and not judged.",)


# 4: a colourless flame counts by its duration, a corona never; what is left is judged, and only after a fire
@pytest.mark.parametrize(("kind", "outcome"), [("bright", "fail"), ("colourless", "fail"), ("corona", "pass")])
def test_kinds_of_flame(kind: str, outcome: str) -> None:
    assert judged((row("ignites", "20.0", kind), row("flame_out", "60.3", kind))).outcome == outcome


def test_consumed() -> None:
    rows = (row("contact", "0.0"), *LATE[:1], row("flame_out", "43.5"), row("withdrawn", "30.2"),
            row("watch_ends", "61.0"), row("consumed", value=True))  # fmt: skip
    outcomes = [edition(judge_consumed=choice).judge(trial(*rows)).outcome for choice in (True, False)]
    assert outcomes == ["fail", "pass"]


# 5: the line on a flame is off; on, it looks at the longest single flame, equal inside, and asks for the needle flame
def flame_criterion(verdict: Verdict) -> tuple[str, bool | None, bool]:
    (found,) = (c for c in verdict.criteria if c.key == "flame_line")
    return found.found, found.holds, found.enforced


TWO_FLAMES = (row("ignites", "6.0"), row("flame_out", "7.5"), row("ignites", "29.0"), row("flame_out", "31.7"))


def test_line_is_off_by_default() -> None:
    assert [c.key for c in judged(TWO_FLAMES).criteria if c.key == "flame_line"] == []


@pytest.mark.parametrize(("out", "holds"), [("8.4", True), ("8.5", True), ("8.6", False)])
def test_line_at_its_figure_and_a_step_to_each_side(out: str, holds: bool) -> None:
    rows = (row("ignites", "6.5"), row("flame_out", out))
    assert flame_criterion(judged(rows, flame_line=NEEDLE_FLAME))[1:] == (holds, False)
    assert judged(rows, flame_line=NEEDLE_FLAME).outcome == "pass"
    assert judged(rows, flame_line=FAILS).outcome == ("pass" if holds else "fail")


@pytest.mark.parametrize(("measure", "found"), [(LONGEST, "2.7 s"), (WHOLE, "25.7 s"), (AFTER_WITHDRAWAL, "1.5 s")])
def test_length_of_a_flame_in_three_ways(measure: str, found: str) -> None:
    verdict = judged(TWO_FLAMES, flame_line=NEEDLE_FLAME, flame_line_measure=measure)
    assert flame_criterion(verdict)[0] == found


def test_line_never_looks_at_a_specimen_that_failed() -> None:
    assert [c.key for c in judged(LATE, flame_line=NEEDLE_FLAME).criteria if c.key == "flame_line"] == []
    assert [c.key for c in judged(LATE, flame_line=FAILS).criteria if c.decides] == ["burning_ends", "flame_line"]


@pytest.mark.parametrize("kind", ["bright", "colourless"])
def test_line_counts_a_colourless_flame_by_its_duration_and_never_a_corona(kind: str) -> None:
    corona = (row("ignites", "1.0", "corona"), row("flame_out", "29.0", "corona"))
    flame = (row("ignites", "6.5", kind), row("flame_out", "8.6", kind))
    assert flame_criterion(judged(corona, flame_line=NEEDLE_FLAME)) == ("no flame", True, False)
    assert flame_criterion(judged((*corona, *flame), flame_line=NEEDLE_FLAME))[:2] == ("2.1 s", False)


def test_a_flame_without_a_start_cannot_be_held_against_the_line() -> None:
    rows = (row("flame_out", "8.0"),)
    assert flame_criterion(judged(rows, flame_line=NEEDLE_FLAME))[1] is None
    assert judged(rows, flame_line=FAILS).outcome == "not judged"
    unknown = line([LineTrial("01", judged(rows, flame_line=NEEDLE_FLAME), 1)])
    assert unknown.flags == (
        "Specimen 01: the longest single flame is not known, so it cannot be held against at most 2 s.",
    )


def test_the_needle_flame_asked_for_names_the_cylinder() -> None:
    rows = (row("ignites", "6.5"), row("flame_out", "8.6"))
    (flag,) = line([LineTrial("01", judged(rows, flame_line=NEEDLE_FLAME), 1)]).flags
    assert "an upright cylinder 20 mm wide and 50 mm high" in flag
    wider = judged(rows, flame_line=NEEDLE_FLAME, flame_line_cylinder_mm=D(25))
    assert "an upright cylinder 25 mm wide and 50 mm high" in line([LineTrial("01", wider, 1)]).flags[0]


# 6: one specimen; two further in doubt, stated before the verdict
def test_further_specimens() -> None:
    doubt = Doubt("01", "glow under the clamp hard to see", before_verdict=True)
    passed, failed = LineTrial("01", PASS, 1), LineTrial("01", FAIL, 1)
    found = {
        choice: (line([passed], doubt, further_rule=choice).needed, line([failed], further_rule=choice).state)
        for choice in ("in doubt", "after a fail", "none")
    }
    assert found == {"in doubt": (2, "failed"), "after a fail": (0, "more specimens needed"), "none": (0, "failed")}


# 7: a specimen beyond those asked for that fails holds the line, else it is listed only
def test_failing_extra() -> None:
    trials = [LineTrial("01", PASS, 1), LineTrial("02", FAIL, 2)]
    results = [line(trials, failing_extra=choice) for choice in ("holds the line", "is listed only")]
    assert [(result.state, result.extra) for result in results] == [("hold", ("02",)), ("passed", ("02",))]


# 8: small parts by circles, else by what the product standard says
def test_small_part_rule() -> None:
    setup: dict[str, Value] = {"face_around_mm": D(30), "face_inside_mm": D(12), "part_mass_g": D("0.4")}
    warned = [bool(judged(setup=setup, small_part_rule=rule).warnings) for rule in ("15/8 mm circles", "0.5 g", "none")]
    assert warned == [False, True, False]


# 9: surroundings are judged when recorded, scorching is not
def test_surroundings_and_scorching() -> None:
    around, scorched = (row("surroundings_catch", "12.0"),), (row("board_scorched", value=True),)
    assert [judged(around, judge_surroundings=choice).outcome for choice in (True, False)] == ["fail", "pass"]
    assert [judged(scorched, judge_scorching=choice).outcome for choice in (False, True)] == ["pass", "fail"]


# Several places of one specimen
@pytest.mark.parametrize(
    ("outcomes", "state"),
    [("pp", "passed"), ("pf", "failed"), ("fp", "failed"), ("ip", "passed"), ("if", "failed"), ("pi", "passed"),
     ("ppf", "failed"), ("ii", "more specimens needed")],
)  # fmt: skip
def test_a_specimen_passes_when_all_its_valid_places_pass(outcomes: str, state: str) -> None:
    invalid = judged(setup={"tip_clean": False})
    verdicts = {"p": PASS, "f": FAIL, "i": invalid}
    trials = [LineTrial("01", verdicts[o], n, further_point=n > 1) for n, o in enumerate(outcomes, start=1)]
    result = line(trials)
    assert (result.state, result.extra) == (state, ())


def test_places_of_a_specimen_fill_one_place_of_those_ordered() -> None:
    trials = [LineTrial("01", PASS, 1), LineTrial("01", PASS, 2, further_point=True)]
    assert line(trials, specimens=2).needed == 1
    assert line(trials).reasons == ("Specimen 01 was tested at 2 places, all passed.",)
    assert line([*trials, LineTrial("02", PASS, 3)], specimens=2).counted == ("01", "02")


def test_the_specimen_that_came_first_stays_first_although_its_failing_place_came_last() -> None:
    trials = [LineTrial("01", PASS, 1), LineTrial("02", PASS, 2), LineTrial("01", FAIL, 3, further_point=True)]
    result = line(trials)
    assert (result.state, result.counted, result.extra) == ("failed", ("01",), ("02",))


def test_the_same_trial_again_without_a_further_place_is_beyond_those_asked_for() -> None:
    assert line([LineTrial("01", PASS, 1), LineTrial("01", FAIL, 2)]).state == "hold"


def test_places_stated_alike_are_flagged() -> None:
    rib = judged(setup={"point": "rib"})
    trials = [LineTrial("01", rib, 1), LineTrial("01", rib, 2, further_point=True)]
    assert line(trials).flags == ("Specimen 01 was tested 2 times at the same place, “rib”.",)


@pytest.mark.parametrize(
    ("hand", "measure", "found", "outcome"),
    [
        ("22.0", LONGEST, "10.0 s at least", "fail"),
        ("22.0", WHOLE, "17.0 s at least", "fail"),
        ("22.0", AFTER_WITHDRAWAL, "not recorded", "not judged"),
        ("32.3", AFTER_WITHDRAWAL, "2.1 s at least", "fail"),
        ("32.2", AFTER_WITHDRAWAL, "not recorded", "not judged"),
    ],
)
def test_a_flame_known_to_be_past_the_line_breaks_it_also_where_another_was_put_out(hand, measure, found, outcome):
    rows = (row("ignites", "5.0"), row("flame_out", "15.0"), row("ignites", "20.0"), row("put_out", hand))
    verdict = judged(rows, flame_line=FAILS, flame_line_measure=measure)
    assert flame_criterion(verdict)[0] == found
    assert verdict.outcome == outcome

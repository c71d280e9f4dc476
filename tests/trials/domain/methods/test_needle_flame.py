"""The needle flame: each limit at its value and one step either side, the rulings, and what holds for any course."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.trials.domain.glow_wire_trial import row
from tests.trials.domain.needle_flame_trial import EDITION_2016, course, edition, trial
from trials.domain.criteria import Value
from trials.domain.line_result import Asked, LineTrial
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import method_edition
from trials.domain.parameter_changes import Change
from trials.domain.records import Observation
from trials.domain.verdicts import Verdict, verdict_bytes, verdict_from_bytes

D = Decimal
RANK = {"pass": 0, "not judged": 1, "fail": 2}
INCLUSIVE: dict[str, Change] = {"limit_inclusive": {"value": True}}
BOARD: dict[str, Change] = {**INCLUSIVE, "burn_after_removal_s": {"high": D(15)}}
ONE_MORE: dict[str, Change] = {
    "specimens_needed": {"value": D(1)},
    "further_rule": {"value": "after a fail"},
    "application_deviation_s": {"low": D(-1), "high": D(1)},
}


def burning(until: str, judged_by: MethodEdition = EDITION_2016) -> Verdict:
    """The verdict on a specimen that burns from 12.0 s until so many s after the flame was put on."""
    rows = course(row("ignites", "12.0"), row("flame_out", until))
    return judged_by.judge(trial(*rows, judged_by=judged_by))


@pytest.mark.parametrize(
    ("field", "below", "low", "high", "above"),
    [
        # burner, gas, flame and block: general knowledge and JIS C 60695-11-5:2018; layer: public notes
        ("flame_height_mm", "10.9", "11.0", "13.0", "13.1"),
        ("burner_bore_mm", "0.39", "0.40", "0.60", "0.61"),
        ("burner_outer_mm", None, "0.80", "0.90", "0.91"),
        ("burner_length_mm", "34", "35", "90", None),
        ("gas_percent", "94.9", "95.0", "100", None),
        ("confirm_1_s", "22.4", "22.5", "24.5", "24.6"),
        ("confirm_2_s", "22.4", "22.5", "24.5", "24.6"),
        ("confirm_3_s", "22.4", "22.5", "24.5", "24.6"),
        ("block_mm", "3.98", "3.99", "4.01", "4.02"),
        ("block_g", "0.569", "0.570", "0.590", "0.591"),
        ("layer_distance_mm", "194", "195", "205", "206"),
        ("tissue_g_m2", "11.9", "12.0", "30.0", "30.1"),
        ("board_mm", "9.9", "10.0", "25.0", None),
        ("chamber_m3", "0.49", "0.50", "2.00", None),
        ("light_lx", None, "0", "20", "21"),
    ],
)
def test_set_up_counts_to_its_limits(field: str, below: str | None, low: str, high: str, above: str | None) -> None:
    def outcome(value: str) -> str:
        return EDITION_2016.judge(trial(*course(), setup={field: D(value)})).outcome

    assert [outcome(low), outcome(high)] == ["pass", "pass"]
    assert [outcome(value) for value in (below, above) if value is not None] == ["invalid"] * (
        (below is not None) + (above is not None)
    )


@pytest.mark.parametrize("field", ["confirmed_current", "new_layer", "hood_off"])
def test_a_no_where_yes_is_needed_is_invalid(field: str) -> None:
    assert EDITION_2016.judge(trial(*course(), setup={field: False})).outcome == "invalid"


@pytest.mark.parametrize("field", [f.key for f in EDITION_2016.setup_fields if f.required])
def test_what_is_needed_and_not_known_is_not_judged(field: str) -> None:
    assert EDITION_2016.judge(trial(*course(), setup={field: None})).outcome == "not judged"


@pytest.mark.parametrize(
    ("setup", "outcome"),
    [
        ({"layer_distance_mm": None}, "not judged"),
        ({"arrangement": "equipment stands on the layer", "layer_distance_mm": None}, "not judged"),
        (
            {"arrangement": "equipment stands on the layer", "layer_distance_mm": D(0), "layer_margin_mm": D(100)},
            "pass",
        ),
        ({"arrangement": "equipment stands on the layer", "layer_margin_mm": D(99)}, "invalid"),
        ({"layer_margin_mm": D(5)}, "pass"),
    ],
)
def test_the_layer_has_a_distance_or_a_margin(setup: dict[str, Value], outcome: str) -> None:
    # public notes: 200 mm below, or 100 mm all round equipment that stands on it
    assert EDITION_2016.judge(trial(*course(), setup=setup)).outcome == outcome


@pytest.mark.parametrize(("hours_s", "outcome"), [(86_399, "invalid"), (86_400, "pass")])
def test_conditioned_for_24_hours(hours_s: int, outcome: str) -> None:
    record = trial(*course())
    changed = trial(*course(), conditioning=type(record.conditioning)(D(hours_s), D(20)))
    assert EDITION_2016.judge(changed).outcome == outcome


@pytest.mark.parametrize("level", [5, 10, 20, 30, 60, 120])
def test_application_at_every_level_is_one_second_short_at_most(level: int) -> None:
    # public notes: 5, 10, 20, 30, 60, 120 s, +0 and -1 s
    def outcome(off: Decimal, judged_by: MethodEdition = EDITION_2016) -> str:
        record = trial(*course(off=str(off), watch="300"), judged_by=judged_by, severity=D(level))
        return judged_by.judge(record).outcome

    tenth = D("0.1")
    assert [outcome(D(level) + d) for d in (-1 - tenth, D(-1), D(0), tenth)] == ["invalid", "pass", "pass", "invalid"]
    either = edition(**ONE_MORE)
    assert [outcome(D(level) + d, either) for d in (-1 - tenth, D(-1), D(1), 1 + tenth)] == [
        *("invalid", "pass", "pass", "invalid")
    ]


@pytest.mark.parametrize(
    ("changes", "outcomes"),
    # ruling: below 30 s; equal allowed under IEC 60335-1 and IEC 60598-1; 15 s for printed boards
    [
        ({}, ["pass", "pass", "pass", "fail", "fail"]),
        (INCLUSIVE, ["pass", "pass", "pass", "pass", "fail"]),
        (BOARD, ["pass", "fail", "fail", "fail", "fail"]),
        ({"burn_after_removal_s": {"high": D(15)}}, ["fail", "fail", "fail", "fail", "fail"]),
    ],
)
def test_burning_after_removal_at_its_limit(changes: dict[str, Change], outcomes: list[str]) -> None:
    ends = ("44.5", "44.6", "59.4", "59.5", "59.6")  # 15.0, 15.1, 29.9, 30.0 and 30.1 s after removal at 29.5 s
    assert [burning(end, edition(**changes)).outcome for end in ends] == outcomes


def test_burning_time_is_the_exact_difference() -> None:
    rows = course(row("ignites", "5.0"), row("flame_out", "60.2"), off="30.0")
    verdict = EDITION_2016.judge(trial(*rows))
    assert verdict.quantity("afterburn").value == D("30.2")
    late = course(row("ignites", "5.0"), row("flame_out", "59.8"), off="29.8")
    assert EDITION_2016.judge(trial(*late)).quantity("afterburn").value == D("30.0")


def test_what_is_out_before_removal_burned_for_no_time_after_it() -> None:
    verdict = burning("20.0")
    assert verdict.quantity("afterburn").value == D(0)
    assert verdict.sentence == "Passed at 30 s: nothing burned after removal, and the layer did not catch."


def test_no_ignition_is_a_word_and_no_zero() -> None:
    verdict = EDITION_2016.judge(trial(*course()))
    assert [(q.value, q.text) for q in verdict.quantities if q.key in ("ignites", "afterburn")] == [
        (None, "no ignition"),
        (None, "no flame, no glow"),
    ]


@pytest.mark.parametrize(
    ("rows", "outcome"),
    [
        ((row("ignites", "9.0"), row("put_out", "59.4")), "not judged"),
        ((row("ignites", "9.0"), row("put_out", "59.5")), "fail"),
        ((row("ignites", "9.0"),), "not judged"),
        ((row("ignites", "59.4"),), "not judged"),
        ((row("ignites", "59.5"),), "fail"),
        ((row("layer_catches", "70.0"),), "fail"),
        ((row("surroundings_catch", "40.0"),), "fail"),
        ((row("burner_out", "29.4"),), "invalid"),
        ((row("burner_out", "29.6"),), "pass"),
    ],
)
def test_what_is_seen_decides(rows: tuple[Observation, ...], outcome: str) -> None:
    assert EDITION_2016.judge(trial(*course(*rows))).outcome == outcome


@pytest.mark.parametrize(("watch", "outcome"), [("59.4", "not judged"), ("59.5", "pass")])
def test_a_watch_cut_short_is_not_judged(watch: str, outcome: str) -> None:
    assert EDITION_2016.judge(trial(*course(watch=watch))).outcome == outcome


def test_surroundings_can_be_left_unjudged() -> None:
    off = edition(judge_surroundings={"value": False})
    assert off.judge(trial(*course(row("surroundings_catch", "40.0")), judged_by=off)).outcome == "pass"


@pytest.mark.parametrize(("extent", "outcome"), [("19", "pass"), ("20", "pass"), ("21", "fail"), (None, "not judged")])
def test_extent_within_the_product_standards_limit_passes_by_itself(extent: str | None, outcome: str) -> None:
    limited = edition(extent_mm={"high": D(20)})
    found = () if extent is None else (row("extent", value=D(extent)),)
    rows = course(row("ignites", "9.0"), row("layer_catches", "20.0"), row("flame_out", "90.0"), *found)
    verdict = limited.judge(trial(*rows, judged_by=limited))
    assert verdict.outcome == outcome
    assert EDITION_2016.judge(trial(*rows)).outcome == "fail"


def test_extent_of_a_flame_put_out_by_hand_stands_in_for_nothing() -> None:
    limited = edition(extent_mm={"high": D(20)})
    rows = course(row("ignites", "9.0"), row("put_out", "80.0"), row("extent", value=D(5)))
    verdict = limited.judge(trial(*rows, judged_by=limited))
    assert (verdict.outcome, [c.key for c in verdict.criteria if c.decides]) == ("not judged", ["extent"])


def test_a_cut_edge_is_said_and_not_judged() -> None:
    verdict = EDITION_2016.judge(trial(*course(), setup={"place": "cut edge"}))
    said = "The flame was put to a cut edge; the method keeps away from cut edges where it can."
    assert (verdict.outcome, verdict.warnings) == ("pass", (said,))
    allowed = edition(cut_edge_allowed={"value": True})
    assert allowed.judge(trial(*course(), judged_by=allowed, setup={"place": "cut edge"})).warnings == ()


def line(judged_by: MethodEdition, *ends: str) -> tuple[str, int]:
    """State of a line and specimens still needed after specimens that burned until these times."""
    trials = [LineTrial(f"{n:02}", burning(end, judged_by), n) for n, end in enumerate(ends, start=1)]
    result = judged_by.judge_line(Asked(D(30)), trials)
    return result.state, result.needed


def test_three_specimens_must_all_pass() -> None:
    # public notes: three unless the product standard says otherwise
    assert line(EDITION_2016, "40.0", "40.0") == ("more specimens needed", 1)
    assert line(EDITION_2016, "40.0", "40.0", "59.4") == ("passed", 0)
    assert line(EDITION_2016, "40.0", "59.5", "40.0") == ("failed", 0)


def test_one_and_two_more_after_a_fail() -> None:
    # IEC 60335-1 annex E as quoted in public
    annex_e = edition(**ONE_MORE)
    assert line(annex_e, "40.0") == ("passed", 0)
    assert line(annex_e, "59.5") == ("more specimens needed", 2)
    assert line(annex_e, "59.5", "40.0") == ("more specimens needed", 1)
    assert line(annex_e, "59.5", "40.0", "40.0") == ("passed", 0)
    assert line(annex_e, "59.5", "40.0", "59.5") == ("failed", 0)


TENTHS = st.integers(0, 1200).map(lambda n: D(n) / 10)
BURNS = st.lists(st.tuples(st.sampled_from(["flame", "glow"]), TENTHS, TENTHS), min_size=1, max_size=4)
CHANGES = st.sampled_from([{}, INCLUSIVE, BOARD, {"extent_mm": {"high": D(20)}}])


def rows_of(burns: list[tuple[str, Decimal, Decimal]]) -> list[Observation]:
    names = {"flame": ("ignites", "flame_out"), "glow": ("glow_starts", "glow_ends")}
    rows: list[Observation] = []
    for n, (kind, start, length) in enumerate(burns):
        rows += [row(names[kind][0], start, row=f"start {n}"), row(names[kind][1], start + length, row=f"end {n}")]
    return rows


@given(burns=BURNS, which=st.integers(0, 3), longer=TENTHS, changes=CHANGES)
def test_longer_burning_never_improves_the_verdict(
    burns: list[tuple[str, Decimal, Decimal]], which: int, longer: Decimal, changes: dict[str, Change]
) -> None:
    judged_by = edition(**changes)
    kind, start, length = burns[which % len(burns)]
    stretched = [*burns]
    stretched[which % len(burns)] = (kind, start, length + longer)
    outcomes = [
        judged_by.judge(trial(*course(*rows_of([*b]), watch="999"), judged_by=judged_by)).outcome
        for b in (burns, stretched)
    ]
    assert RANK[outcomes[0]] <= RANK[outcomes[1]]


@given(burns=BURNS, data=st.data())
def test_judging_does_not_depend_on_the_order_of_rows(
    burns: list[tuple[str, Decimal, Decimal]], data: st.DataObject
) -> None:
    rows = [*course(*rows_of(burns))]
    mixed = EDITION_2016.judge(trial(*data.draw(st.permutations(rows))))
    assert verdict_bytes(mixed) == verdict_bytes(EDITION_2016.judge(trial(*rows)))
    assert verdict_from_bytes(verdict_bytes(mixed)) == mixed


def test_both_editions_judge_alike() -> None:
    old = method_edition("needle-flame@2004")
    ends = ("40.0", "59.4", "59.5")
    assert [burning(end, old).outcome for end in ends] == [burning(end).outcome for end in ends]

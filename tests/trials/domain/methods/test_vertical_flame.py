"""The vertical flame, bar by bar: each limit at its value and one step either side, rounding, what spoils a bar."""

from decimal import Decimal

import pytest

from tests.trials.domain.glow_wire_trial import row
from tests.trials.domain.vertical_flame_trial import (
    EDITION_2013,
    V0,
    V2,
    best,
    course,
    edition,
    judged,
    trial,
)
from trials.domain.records import Conditioning

D = Decimal
RANK = {"V-0": 0, "V-1": 1, "V-2": 2, "none": 3}


@pytest.mark.parametrize(
    ("field", "below", "low", "high", "above"),
    [
        # flame: IEC 60695-11-4 from general knowledge; bar: two laboratories' pages; cotton and gap: UL 94:2013 excerpt
        ("flame_height_mm", "18.9", "19.0", "21.0", "21.1"),
        ("burner_bore_mm", "9.1", "9.2", "9.8", "9.9"),
        ("gas_percent", "97.9", "98.0", "100", None),
        ("gas_ml_min", "99", "100", "110", "111"),
        ("back_pressure_mm", None, "0.0", "9.9", "10.0"),
        ("confirm_1_s", "41.9", "42.0", "46.0", "46.1"),
        ("confirm_2_s", "41.9", "42.0", "46.0", "46.1"),
        ("confirm_3_s", "41.9", "42.0", "46.0", "46.1"),
        ("block_mm", "5.48", "5.49", "5.51", "5.52"),
        ("block_g", "1.749", "1.750", "1.770", "1.771"),
        ("chamber_m3", "0.49", "0.50", "2.00", None),
        ("bar_length_mm", "119", "120", "130", "131"),
        ("bar_width_mm", "12.4", "12.5", "13.5", "13.6"),
        ("thickness_mm", None, "0.20", "13.00", "13.01"),
        ("edge_radius_mm", None, "0.0", "1.3", "1.4"),
        ("tip_gap_mm", "8", "9", "11", "12"),
        ("cotton_distance_mm", "289", "290", "310", "311"),
        ("cotton_g", None, "0.01", "0.08", "0.09"),
        ("cotton_mm", None, "1.0", "6.0", "6.5"),
        ("cotton_dry_h", "23", "24", "99", None),
        ("cotton_out_min", None, "0", "30", "31"),
    ],
)
def test_set_up_counts_to_its_limits(field: str, below: str | None, low: str, high: str, above: str | None) -> None:
    def outcome(value: str) -> str:
        nominal = {"nominal_mm": D(value)} if field == "thickness_mm" else {}
        return EDITION_2013.judge(trial(*course(), setup={field: D(value), **nominal})).outcome

    assert [outcome(low), outcome(high)] == ["pass", "pass"]
    outside = [outcome(value) for value in (below, above) if value is not None]
    assert outside == ["invalid"] * len(outside)


@pytest.mark.parametrize("field", ["confirmed_current", "hood_off", "solid_material", "clamped", "new_cotton"])
def test_a_no_where_yes_is_needed_is_invalid(field: str) -> None:
    assert EDITION_2013.judge(trial(*course(), setup={field: False})).outcome == "invalid"


@pytest.mark.parametrize("field", [f.key for f in EDITION_2013.setup_fields if f.required])
def test_what_is_needed_and_not_known_is_not_judged(field: str) -> None:
    assert EDITION_2013.judge(trial(*course(), setup={field: None})).outcome == "not judged"


@pytest.mark.parametrize(
    ("stay", "outcome"),
    # 48 h and 1 h from the room, 168 ± 2 h, 4 h and 30 min from the oven: two laboratories' pages and general knowledge
    [
        (Conditioning(D(172_799), D(20), "room"), "invalid"),
        (Conditioning(D(172_800), D(60), "room"), "pass"),
        (Conditioning(D(172_800), D("60.1"), "room"), "invalid"),
        (Conditioning(D(172_800), None, "room"), "not judged"),
        (Conditioning(D(14_400), D(30), "oven", D(597_599)), "invalid"),
        (Conditioning(D(14_400), D(30), "oven", D(597_600)), "pass"),
        (Conditioning(D(14_400), D(30), "oven", D(612_000)), "pass"),
        (Conditioning(D(14_400), D(30), "oven", D(612_001)), "invalid"),
        (Conditioning(D(14_399), D(30), "oven", D(604_800)), "invalid"),
        (Conditioning(D(14_400), D("30.1"), "oven", D(604_800)), "invalid"),
        (Conditioning(D(14_400), D(30), "oven"), "not judged"),
    ],
)
def test_both_ways_of_conditioning_are_gates(stay: Conditioning, outcome: str) -> None:
    assert EDITION_2013.judge(trial(*course(), conditioning=stay)).outcome == outcome


def test_the_window_after_conditioning_is_a_figure_of_the_edition() -> None:
    # ruling: 1 h and 30 min as gates; another value where the laboratory states one
    wide = edition(use_within_h={"high": D(2)}, desiccator_within_h={"high": D(1)})
    stays = [Conditioning(D(172_800), D(120), "room"), Conditioning(D(14_400), D(60), "oven", D(604_800))]
    assert [wide.judge(trial(*course(), judged_by=wide, conditioning=stay)).outcome for stay in stays] == ["pass"] * 2


@pytest.mark.parametrize(
    ("times", "classes"),
    # limits: four public pages on V-0, V-1, V-2; t2 + t3 of V-1 and V-2 from general knowledge
    [
        (("9", "0"), "V-0"),
        (("10", "0"), "V-0"),
        (("11", "0"), "V-1"),
        (("0", "10"), "V-0"),
        (("0", "11"), "V-1"),
        (("29", "0"), "V-1"),
        (("30", "0"), "V-1"),
        (("31", "0"), "none"),
        (("0", "30"), "V-1"),
        (("0", "31"), "none"),
        (("0", "0", "29"), "V-0"),
        (("0", "0", "30"), "V-0"),
        (("0", "0", "31"), "V-1"),
        (("0", "10", "20"), "V-0"),
        (("0", "10", "21"), "V-1"),
        (("0", "30", "30"), "V-1"),
        (("0", "30", "31"), "none"),
        (("0", "0", "60"), "V-1"),
        (("0", "0", "61"), "none"),
    ],
)
def test_single_bars_at_the_limits_of_the_classes(times: tuple[str, ...], classes: str) -> None:
    assert best(*times) == classes


@pytest.mark.parametrize(
    ("timed", "counted", "outcome"),
    # nearest second by the UL 94:2013 excerpt, halves upwards by ruling; 10.5 s by hand cannot be audited
    [
        ("10.4", "10", "pass"),
        ("10.49", "10", "pass"),
        ("10.5", "11", "fail"),
        ("9.5", "10", "pass"),
        ("0.4", "0", "pass"),
    ],
)
def test_each_time_is_rounded_by_itself_and_kept_as_timed(timed: str, counted: str, outcome: str) -> None:
    verdict = judged(timed, severity=V0)
    assert (verdict.quantity("t1").text, verdict.outcome) == (counted, outcome)
    assert verdict.quantity("t1_timed").value == D(timed)


def test_rounded_times_are_summed_and_a_sum_is_never_rounded() -> None:
    assert judged("0", "9.5", "19.5").quantity("glow").text == "30"
    assert judged("0", "9.5", "20.5", severity=V0).outcome == "fail"
    assert judged("0", "9.4", "20.4", severity=V0).outcome == "pass"


@pytest.mark.parametrize(
    ("rounding", "texts"),
    [
        ("whole seconds, half up", ["11", "10"]),
        ("whole seconds, half to even", ["10", "10"]),
        ("as timed", ["10.5", "9.6"]),
    ],
)
def test_rounding_is_a_choice_of_the_laboratory(rounding: str, texts: list[str]) -> None:
    by = edition(rounding={"value": rounding})
    verdict = judged("10.5", "9.6", judged_by=by)
    assert [verdict.quantity(key).text for key in ("t1", "t2")] == texts


def test_a_time_is_the_exact_difference_of_two_moments() -> None:
    rows = (row("contact", "20.2"), row("ignites", "25"), row("withdrawn", "30.2"), row("flame_out", "60.2"),
            row("second_on", "60.3"), row("second_off", "70.3"), row("watch_ends", "90"))  # fmt: skip
    verdict = EDITION_2013.judge(trial(*rows))
    assert verdict.quantity("t1_timed").value == D("30.0")
    assert verdict.quantity("class").text == "V-1"


@pytest.mark.parametrize("applied", ["9.4", "9.5", "10.0", "10.5", "10.6"])
def test_each_application_lasts_ten_seconds_and_half_a_second_at_most_off(applied: str) -> None:
    # UL 94:2013 excerpt: 10 ± 0.5 s
    outcome = "pass" if D("9.5") <= D(applied) <= D("10.5") else "invalid"
    first = (row("contact", "0"), row("withdrawn", applied), row("second_on", "12"), row("second_off", "22"))
    again = (row("contact", "0"), row("withdrawn", "10"), row("second_on", "12"), row("second_off", 12 + D(applied)))
    for rows in (first, again):
        assert EDITION_2013.judge(trial(*rows, row("watch_ends", "30"))).outcome == outcome


@pytest.mark.parametrize(
    ("left_out", "outcome"),
    [
        ("contact", "not judged"),
        ("withdrawn", "not judged"),
        ("second_off", "not judged"),
        ("watch_ends", "not judged"),
        ("flame_out", "not judged"),
    ],
)
def test_a_moment_left_out_is_not_judged(left_out: str, outcome: str) -> None:
    rows = [one for one in course("5") if one.kind != left_out]
    assert EDITION_2013.judge(trial(*rows)).outcome == outcome


def test_a_bar_without_a_second_application_is_not_judged_unless_it_fails_anyway() -> None:
    def outcome(t1: str) -> str:
        rows = [one for one in course(t1) if one.kind not in ("second_on", "second_off")]
        return EDITION_2013.judge(trial(*rows, severity=V2)).outcome

    assert [outcome("30"), outcome("31")] == ["not judged", "fail"]


def test_burned_to_the_clamp_before_the_second_application_is_bad_and_t2_is_no_zero() -> None:
    rows = [one for one in course("20") if one.kind not in ("second_on", "second_off")]
    verdict = EDITION_2013.judge(trial(*rows, row("burned_to_clamp", "25"), severity=V2))
    assert (verdict.outcome, [c.key for c in verdict.criteria if c.decides]) == ("fail", ["burned_to_clamp"])
    assert [(verdict.quantity(key).value, verdict.quantity(key).text) for key in ("t2", "t3")] == [
        (None, "not applied"),
        (None, "not applied"),
    ]


def test_cotton_that_catches_leaves_v_2() -> None:
    rows = course("5", "5", "0", row("drip", "12"), row("layer_catches", "12.5"))
    verdict = EDITION_2013.judge(trial(*rows))
    assert (verdict.outcome, verdict.quantity("meets").text) == ("pass", "V-2")
    assert verdict.sentence == "Passed at V-2: t1 5 s, t2 5 s, t3 0 s, and the cotton caught."


def test_drips_alone_take_no_class_away() -> None:
    assert EDITION_2013.judge(trial(*course("5", "5", "0", row("drip", "12")))).quantity("class").text == "V-0"

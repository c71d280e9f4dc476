"""The tracking judge: each limit at its value and a step either side, and each choice a laboratory may make.

Published figures: force 1.00 ± 0.05 N, gap 4.0 ± 0.1 mm, resistivity 3.95 and 1.98 ± 0.05 Ω·m, drops every 30 ± 5 s
from 30 to 40 mm, thickness from 3 mm, 50 drops then 25 s, trip by 0.5 A for 2 s (public pages of test laboratories on
IEC 60112). Drop masses, 24.5 ± 2 min, 1.0 ± 0.1 A, ± 10 % of the trip, 2 s of flame are from memory, as the parameters
say.
"""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tests.trials.domain.glow_wire_trial import row
from tests.trials.domain.tracking_trial import EDITION_2020, SETUP, course, judged, trial, tripped
from trials.domain.criteria import Value
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import EDITIONS
from trials.domain.records import Conditioning, RecordError
from trials.domain.statements import Parameter

D = Decimal
OURS = sorted(key for key in EDITIONS if key.startswith("tracking@"))


def changed(key: str, **members: Any) -> MethodEdition:
    return EDITION_2020.revised(replace(EDITION_2020.parameter(key), **members))


@pytest.mark.parametrize(
    ("key", "criterion", "inside", "outside"),
    [
        ("force_n", "force_n", ("0.95", "0.96", "1.04", "1.05"), ("0.94", "1.06")),
        ("gap_mm", "gap_mm", ("3.9", "4.0", "4.1"), ("3.8", "4.2")),
        ("thickness_mm", "thickness_mm", ("3.0", "3.1"), ("2.9",)),
        ("side_mm", "side_mm", ("20", "21"), ("14",)),
        ("resistivity_ohm_m", "resistivity", ("3.90", "3.91", "3.99", "4.00"), ("3.89", "4.01")),
        ("mass_20_drops_g", "mass_20_drops_g", ("0.380", "0.381", "0.479", "0.480"), ("0.379", "0.481")),
        ("mass_50_drops_g", "mass_50_drops_g", ("0.997", "0.998", "1.146", "1.147"), ("0.996", "1.148")),
        ("drop_height_mm", "drop_height_mm", ("30", "31", "39", "40"), ("29", "41")),
        ("short_circuit_a", "short_circuit_a", ("0.90", "0.91", "1.09", "1.10"), ("0.89", "1.11")),
        ("trip_current_a", "trip_current_a", ("0.45", "0.46", "0.54", "0.55"), ("0.44", "0.56")),
        ("trip_delay_s", "trip_delay_s", ("1.80", "1.81", "2.19", "2.20"), ("1.79", "2.21")),
        ("edge_radius_mm", "edge_radius_mm", ("0.01", "0.02", "0.09", "0.10"), ("0.00", "0.11")),
        ("room_temperature_c", "room_temperature_c", ("18.0", "18.1", "27.9", "28.0"), ("17.9", "28.1")),
        ("voltage_v", "voltage_at_level", ("394", "395", "405", "406"), ("393", "407")),
    ],
)
def test_set_up_limits_include_their_ends(
    key: str, criterion: str, inside: tuple[str, ...], outside: tuple[str, ...]
) -> None:
    assert [judged(*course(), setup={key: D(found)}) for found in inside] == [("pass", [])] * len(inside)
    assert [judged(*course(), setup={key: D(found)}) for found in outside] == [("invalid", [criterion])] * len(outside)


@pytest.mark.parametrize(
    ("found", "outcome"), [("1.92", "invalid"), ("1.93", "pass"), ("2.03", "pass"), ("2.04", "invalid")]
)
def test_the_resistivity_of_solution_b_has_its_own_limit(found: str, outcome: str) -> None:
    ordered_b = changed("solution", value="B")
    setup: dict[str, Value] = {"solution": "B", "resistivity_ohm_m": D(found)}
    assert judged(*course(), edition=ordered_b, setup=setup)[0] == outcome


def test_the_other_solution_than_ordered_is_invalid() -> None:
    setup: dict[str, Value] = {"solution": "B", "resistivity_ohm_m": D("1.98")}
    assert judged(*course(), setup=setup) == ("invalid", ["solution"])


@pytest.mark.parametrize("key", ["electrodes_rinsed", "surface_clean", "new_site", "electrodes_right"])
def test_a_needed_answer_of_no_is_invalid(key: str) -> None:
    assert judged(*course(), setup={key: False}) == ("invalid", [key])


def test_every_required_value_that_is_missing_leaves_the_trial_unjudged() -> None:
    required = [field.key for field in EDITION_2020.setup_fields if field.required]
    found = {key: EDITION_2020.judge(trial(*course(), setup={key: None})).outcome for key in required}
    assert found == dict.fromkeys(required, "not judged")
    assert required == [key for key in (f.key for f in EDITION_2020.setup_fields) if key in {*SETUP, "voltage_v"}
                        if not key.startswith("mass")]  # fmt: skip


def test_twenty_or_fifty_drops_are_weighed() -> None:
    assert judged(*course(), setup={"mass_20_drops_g": None}) == ("not judged", ["drop_mass"])
    assert judged(*course(), setup={"mass_20_drops_g": None, "mass_50_drops_g": D("1.07")}) == ("pass", [])


@pytest.mark.parametrize(
    ("side", "ran_off", "expected"),
    [
        ("19", None, ("not judged", ["ran_off"])),
        ("19", False, ("pass", [])),
        ("19", True, ("invalid", ["ran_off"])),
        ("15", False, ("pass", [])),
        ("20", True, ("pass", [])),
    ],
)
def test_a_small_surface_is_right_only_where_nothing_runs_off(
    side: str, ran_off: bool | None, expected: tuple[str, list[str]]
) -> None:
    rows = () if ran_off is None else (row("ran_off", value=ran_off),)
    assert judged(*course(*rows), setup={"side_mm": D(side)}) == expected


@pytest.mark.parametrize(
    ("seconds", "expected"),
    [(86_399, ("invalid", ["conditioned"])), (86_400, ("pass", [])), (86_401, ("pass", []))],
)
def test_conditioning_is_a_day(seconds: int, expected: tuple[str, list[str]]) -> None:
    assert judged(*course(), conditioning=Conditioning(D(seconds))) == expected


def test_a_trial_without_a_voltage_is_refused() -> None:
    with pytest.raises(RecordError, match="a tracking trial needs its voltage"):
        EDITION_2020.judge(trial(*course(), severity=None, setup={"voltage_v": D(400)}))


@pytest.mark.parametrize(
    ("drop", "outcome", "sentence"),
    [
        (1, "fail", "Failed at 400 V: the device tripped at drop 1, 50 drops asked."),
        (49, "fail", "Failed at 400 V: the device tripped at drop 49, 50 drops asked."),
        (50, "fail", "Failed at 400 V: the device tripped at drop 50, 50 drops asked."),
        (51, "pass", "Passed at 400 V: 50 drops survived, and it failed only at drop 51."),
    ],
)
def test_a_failure_after_drop_n_plus_1_has_survived_n(drop: int, outcome: str, sentence: str) -> None:
    verdict = EDITION_2020.judge(trial(*tripped(drop)))
    assert (verdict.outcome, verdict.sentence) == (outcome, sentence)
    assert verdict.quantity("survived").value == drop - 1


def test_the_other_reading_fails_a_later_failure_too() -> None:
    assert judged(*tripped(51), edition=changed("later_failure_survives", value=False)) == ("fail", ["trip"])


@pytest.mark.parametrize("drop", ["0", "12.5"])
def test_a_trip_at_no_whole_number_of_drops_is_not_judged(drop: str) -> None:
    rows = [r for r in tripped(12) if r.kind not in ("trip", "drops_fallen")]
    assert judged(*rows, row("trip", "340.0", D(drop)), row("drops_fallen", value=D(drop)))[0] == "not judged"


@pytest.mark.parametrize(
    ("out", "expected"),
    [("101.9", ("pass", [])), ("102.0", ("pass", [])), ("102.1", ("fail", ["flame"]))],
)
def test_a_persistent_flame_lasts_longer_than_two_seconds(out: str, expected: tuple[str, list[str]]) -> None:
    assert judged(*course(row("ignites", "100.0"), row("flame_out", out))) == expected


def test_touching_flames_are_one_flame() -> None:
    flames = (
        row("ignites", "100.0"), row("flame_out", "101.5"), row("ignites", "101.5"), row("flame_out", "102.1"),
    )  # fmt: skip
    assert judged(*course(*flames)) == ("fail", ["flame"])


def test_a_flame_without_an_end_is_unknown_and_one_put_out_is_known_up_to_then() -> None:
    assert judged(*course(row("ignites", "100.0"))) == ("not judged", ["flame"])
    assert judged(*course(row("ignites", "100.0"), row("put_out", "102.0"))) == ("not judged", ["flame"])
    assert judged(*course(row("ignites", "100.0"), row("put_out", "102.1"))) == ("fail", ["flame"])


def test_a_persistent_flame_after_a_further_drop_has_survived_those_asked() -> None:
    late = (row("ignites", "1505.0"), row("flame_out", "1510.0"))
    early = (row("ignites", "1495.0"), row("flame_out", "1510.0"))
    assert judged(*course(*late, drops=51)) == ("pass", [])
    assert judged(*course(*early, drops=51)) == ("fail", ["flame"])
    verdict = EDITION_2020.judge(trial(*course(*late, drops=51)))
    assert verdict.quantity("survived").value == D(50)


@pytest.mark.parametrize(
    ("watched", "expected"),
    [("24.9", ("not judged", ["watched"])), ("25.0", ("pass", [])), ("25.1", ("pass", []))],
)
def test_the_watch_after_the_last_drop_is_25_s(watched: str, expected: tuple[str, list[str]]) -> None:
    assert judged(*course(watched=watched)) == expected


def test_another_watch_can_be_agreed() -> None:
    assert judged(*course(watched="20.0"), edition=changed("watch_after_last_drop_s", low=D(20))) == ("pass", [])


@pytest.mark.parametrize(("drops", "expected"), [(49, ("not judged", ["drops"])), (50, ("pass", []))])
def test_fewer_drops_than_asked_are_not_judged(drops: int, expected: tuple[str, list[str]]) -> None:
    assert judged(*course(drops=drops)) == expected
    assert judged(*course(drops=drops + 50), setup={"drops_asked": "100"}) == expected


def test_drops_that_nobody_counted_are_not_judged() -> None:
    rows = [r for r in course() if r.kind != "drops_fallen"]
    assert judged(*rows) == ("not judged", ["drops"])


@pytest.mark.parametrize(
    ("last", "expected"),  # 50 drops in 24.5 ± 2 min: 1350 to 1590 s from the first to the last
    [
        ("1349.9", ("invalid", ["fifty_drops"])),
        ("1350.0", ("pass", [])),
        ("1350.1", ("pass", [])),
        ("1589.9", ("pass", [])),
        ("1590.0", ("pass", [])),
        ("1590.1", ("invalid", ["fifty_drops"])),
    ],
)
def test_fifty_drops_fall_in_their_time(last: str, expected: tuple[str, list[str]]) -> None:
    assert judged(*course(last=last)) == expected


@pytest.mark.parametrize(
    ("last", "expected"),  # 99 intervals of 30 ± 5 s: 2475 to 3465 s
    [
        ("2474.9", ("invalid", ["interval"])),
        ("2475.0", ("pass", [])),
        ("2475.1", ("pass", [])),
        ("3464.9", ("pass", [])),
        ("3465.0", ("pass", [])),
        ("3465.1", ("invalid", ["interval"])),
    ],
)
def test_the_interval_is_checked_from_the_total_time(last: str, expected: tuple[str, list[str]]) -> None:
    assert judged(*course(drops=100, last=last), setup={"drops_asked": "100"}) == expected


def test_an_air_arc_is_invalid_even_with_a_trip() -> None:
    assert judged(*tripped(12, row("air_arc", "338.0"))) == ("invalid", ["air_arc"])


def test_a_hole_calls_for_thicker_material_and_must_be_answered() -> None:
    assert judged(*course(hole=True)) == ("invalid", ["hole"])
    assert judged(*course(hole=None)) == ("not judged", ["hole"])
    recorded = changed("hole_rule", value="a remark")
    verdict = recorded.judge(trial(*course(hole=True), edition=recorded))
    assert (verdict.outcome, verdict.warnings) == ("pass", ("To be reported: a hole formed through the specimen.",))


def test_erosion_must_be_measured_where_it_is_asked() -> None:
    asked = changed("erosion_asked", value=True)
    assert judged(*course(), edition=asked) == ("not judged", ["erosion"])
    assert judged(*course(row("erosion", value=D("0.7"))), edition=asked) == ("pass", [])


@pytest.mark.parametrize("key", OURS)
def test_every_figure_says_where_it_comes_from_and_every_default_that_it_is_one(key: str) -> None:
    edition = EDITIONS[key]
    unsure: list[Parameter] = [p for p in edition.parameters if p.certainty != "published"]
    assert [p.key for p in edition.parameters if not p.source] == []
    assert [p.key for p in unsure if "to be confirmed by the laboratory" not in p.note] == []
    keys = [p.key for p in edition.parameters]
    assert len(keys) == len(set(keys))
    assert [f.key for f in edition.setup_fields if f.parameter and f.parameter not in keys] == []


def test_the_levels_are_25_v_apart() -> None:
    assert [int(s.value) for s in EDITION_2020.severities] == list(range(100, 601, 25))


def test_editions_differ_in_what_they_state() -> None:
    stated = {key: [EDITIONS[key].parameter(p).value for p in ("run_order", "screening_run")] for key in OURS}
    assert stated == {
        "tracking@2003": ["100 drops first", False],
        "tracking@2009": ["100 drops first", False],
        "tracking@2020": ["50 drops first", True],
        "tracking@2025": ["50 drops first", True],
    }

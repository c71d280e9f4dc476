"""The end-product judge: boundaries at, one step below and above each limit, and each choice a laboratory may make.

Published limits: time in contact 30 ± 1 s, force 0.95 ± 0.10 N, depth stop 7.0 ± 0.5 mm (IEC 60695-2-10:2013 in a
national adoption, public excerpt); flames gone 30 s after withdrawal, layer unlit (public test descriptions); tissue 12
to 30 g/m² (IEC 60695-11-5 layer). Other figures are from general knowledge, as the parameters say.
"""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tests.trials.domain.glow_wire_trial import EDITION_2021, INSTRUMENTS, course, row, steady_readings, trial
from trials.domain.glow_wire_apparatus import tolerance_key
from trials.domain.methods.registry import method_edition
from trials.domain.records import Conditioning, InstrumentUse
from trials.domain.verdicts import Verdict

D = Decimal
FLAME = (row("ignites", "6.5"), row("flame_out", "43.5"))


def deciding(verdict: Verdict) -> list[str]:
    return [c.key for c in (*verdict.setup_criteria, *verdict.criteria) if c.decides]


def with_values(**values: Any) -> Any:
    return EDITION_2021.revised(*(replace(EDITION_2021.parameter(key), value=value) for key, value in values.items()))


@pytest.mark.parametrize(
    ("key", "inside", "outside"),
    [
        ("force_n", ("0.85", "0.86", "1.04", "1.05"), ("0.84", "1.06")),
        ("penetration_mm", ("6.5", "6.6", "7.4", "7.5"), ("6.4", "7.6")),
        ("layer_distance_mm", ("195", "196", "204", "205"), ("194", "206")),
        ("tissue_g_m2", ("12", "12.1", "29.9", "30"), ("11.9", "30.1")),
        ("board_mm", ("10.0", "10.1"), ("9.9",)),
        ("chamber_m3", ("0.5", "0.51"), ("0.49",)),
        ("light_lx", ("20", "19"), ("21",)),
        ("thermocouple_mm", ("1.0",), ("0.5", "1.1")),
        ("foil_check_c", ("950", "950.1", "969.9", "970"), ("949.9", "970.1")),
        ("approach_mm_s", ("10", "11", "24", "25"), ("9", "26")),
    ],
)
def test_set_up_limits_include_their_ends(key: str, inside: tuple[str, ...], outside: tuple[str, ...]) -> None:
    for found in inside:
        assert EDITION_2021.judge(trial(*course(), setup={key: D(found)})).outcome == "pass"
    for found in outside:
        verdict = EDITION_2021.judge(trial(*course(), setup={key: D(found)}))
        assert (verdict.outcome, deciding(verdict)) == ("invalid", [key])


@pytest.mark.parametrize("key", ["tip_clean", "new_layer", "hood_off"])
def test_a_needed_answer_of_no_is_invalid_and_none_is_unknown(key: str) -> None:
    outcomes = [EDITION_2021.judge(trial(*course(), setup={key: answer})).outcome for answer in (True, False, None)]
    assert outcomes == ["pass", "invalid", "not judged"]


def test_every_required_value_that_is_missing_leaves_the_trial_unjudged() -> None:
    required = [field.key for field in EDITION_2021.setup_fields if field.required]
    found = {key: EDITION_2021.judge(trial(*course(), setup={key: None})) for key in required}
    assert {key: (v.outcome, deciding(v)) for key, v in found.items()} == {k: ("not judged", [k]) for k in required}


@pytest.mark.parametrize(
    ("key", "value", "warning"),
    [
        ("tip_wear_percent", D("97.4"), "Tip wear 97.4 % is outside at least 97.5 %."),
        ("room_temperature_c", D("35.1"), "Room temperature 35.1 °C is outside 15 to 35 °C."),
        ("room_humidity_percent", D(44), "Room humidity 44 % RH is outside 45 to 75 % RH."),
        ("foil_check_current", False, "Foil check still current: no, yes is needed."),
    ],
)
def test_what_is_not_enforced_warns_and_never_decides(key: str, value: Any, warning: str) -> None:
    verdict = EDITION_2021.judge(trial(*course(), setup={key: value}))
    assert (verdict.outcome, verdict.warnings) == ("pass", (warning,))


@pytest.mark.parametrize(
    ("level", "tolerance"),
    [(500, 10), (750, 10), (775, 10), (800, 15), (825, 15), (850, 15), (875, 15), (930, 15), (960, 15)],
)
def test_tolerance_of_the_tip_by_level(level: int, tolerance: int) -> None:
    assert EDITION_2021.number(tolerance_key(EDITION_2021, D(level))) == D(tolerance)


def test_tolerance_at_775_has_another_value() -> None:
    widened = with_values(temperature_tolerance_high_from_c=D(775))
    assert widened.number(tolerance_key(widened, D(775))) == D(15)


@pytest.mark.parametrize(
    ("level", "read", "outcome"),
    [
        ("750", "740.0", "pass"), ("750", "739.9", "invalid"), ("750", "760.0", "pass"), ("750", "760.1", "invalid"),
        ("800", "785.0", "pass"), ("800", "784.9", "invalid"), ("800", "815.0", "pass"), ("800", "815.1", "invalid"),
    ],
)  # fmt: skip
def test_tip_at_contact(level: str, read: str, outcome: str) -> None:
    record = trial(*course(), severity=D(level), temperature_readings=steady_readings(read))
    assert EDITION_2021.judge(record).outcome == outcome


@pytest.mark.parametrize(
    ("withdrawn", "outcome"),
    [("28.9", "invalid"), ("29.0", "pass"), ("29.1", "pass"), ("30.9", "pass"), ("31.0", "pass"), ("31.1", "invalid")],
)
def test_time_in_contact(withdrawn: str, outcome: str) -> None:
    assert EDITION_2021.judge(trial(*course(withdrawn=withdrawn, watch="62.0"))).outcome == outcome


@pytest.mark.parametrize(("ends", "outcome"), [("60.1", "pass"), ("60.2", "pass"), ("60.3", "fail")])
@pytest.mark.parametrize("kinds", [("ignites", "flame_out"), ("glow_starts", "glow_ends")])
def test_flames_and_glow_end_in_time(kinds: tuple[str, str], ends: str, outcome: str) -> None:
    record = trial(*course(row(kinds[0], "6.5"), row(kinds[1], ends), watch="62.0"))
    assert EDITION_2021.judge(record).outcome == outcome


def test_difference_of_times_is_exact() -> None:
    """60.2 s minus 30.2 s is 30.0 s and passes; in binary fractions it is not."""
    assert 60.2 - 30.2 != 30.0
    late_bench_clock = (row("ignites", "19.0"), row("flame_out", "72.6"))
    record = trial(
        *course(*late_bench_clock, contact="12.4", withdrawn="42.6", watch="80.0"),
        temperature_readings=tuple(replace(r, t_s=r.t_s + D("12.4")) for r in steady_readings()),
    )
    verdict = EDITION_2021.judge(record)
    assert (verdict.outcome, verdict.quantity("flames_end").text, verdict.quantity("latest").text) == (
        "pass", "60.2", "60.2",
    )  # fmt: skip


@pytest.mark.parametrize(("watch", "outcome"), [("60.1", "not judged"), ("60.2", "pass"), ("60.3", "pass")])
def test_watch_goes_on_for_30_s_after_withdrawal(watch: str, outcome: str) -> None:
    assert EDITION_2021.judge(trial(*course(*FLAME, watch=watch))).outcome == outcome


def test_limit_from_the_nominal_time_is_the_other_value() -> None:
    record = trial(*course(row("ignites", "6.5"), row("flame_out", "60.1")))
    assert [edition.judge(record).outcome for edition in (EDITION_2021, with_values(limit_counts_from="nominal"))] == [
        "pass", "fail",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("edition", "value", "outcome"), [("2021", None, "fail"), ("2014", None, "fail"), ("2021", False, "pass")]
)
def test_consumed_by_edition_and_by_choice(edition: str, value: bool | None, outcome: str) -> None:
    method = method_edition(f"glow-wire-end-product@{edition}")
    if value is not None:
        method = method.revised(replace(method.parameter("judge_consumed"), value=value))
    rows = (*[r for r in course(*FLAME) if r.kind != "consumed"], row("consumed", value=True))
    assert method.judge(trial(*rows, edition=method)).outcome == outcome


def test_consumed_without_ignition_is_flagged_and_not_judged() -> None:
    rows = (*[r for r in course() if r.kind != "consumed"], row("consumed", value=True))
    verdict = EDITION_2021.judge(trial(*rows))
    assert (verdict.outcome, verdict.warnings) == (
        "pass", ("The specimen was consumed; this is not judged here and a lead should look at it.",),
    )  # fmt: skip


def test_surroundings_are_judged_when_recorded_and_not_by_the_other_value() -> None:
    record = trial(*course(*FLAME, row("surroundings_catch", "20.0")))
    verdict, other = EDITION_2021.judge(record), with_values(judge_surroundings=False).judge(record)
    assert verdict.sentence == "Failed at 850 °C: the surroundings caught fire at 20.0 s."
    assert (other.outcome, other.warnings) == (
        "pass", ("The surroundings caught fire at 20.0 s; this is recorded and not judged.",),
    )  # fmt: skip


def test_scorching_is_off_and_can_be_judged() -> None:
    strict = with_values(judge_scorching=True)
    scorched, sound = (trial(*course(*FLAME, row("board_scorched", value=answer))) for answer in (True, False))
    assert EDITION_2021.judge(scorched).outcome == "pass"
    outcomes = [strict.judge(record).outcome for record in (scorched, sound, trial(*course(*FLAME)))]
    assert outcomes == ["fail", "pass", "not judged"]


def test_height_is_rounded_up_and_leaves_out_the_flash() -> None:
    """General knowledge of the 2000 edition: up to the next 5 mm, the flash of about 1 s ignored."""
    heights = [("6.8", "80"), ("10.0", "31"), ("20.0", "35"), ("22.0", "36")]
    for last, height in ((2, "35"), (3, "35"), (4, "40")):
        rows = [row("flame_height", t, D(h)) for t, h in heights[:last]]
        assert EDITION_2021.judge(trial(*course(*FLAME, *rows))).quantity("height").text == height


def test_flame_that_left_with_the_wire_is_reported() -> None:
    verdict = EDITION_2021.judge(trial(*course(*FLAME, row("carried_off", "30.4"))))
    assert (verdict.outcome, verdict.warnings) == (
        "pass", ("To be reported: at 30.4 s the burning material left with the wire.",),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("counted_s", "outcome"), [(D(86_399), "invalid"), (D(86_400), "pass"), (D(86_401), "pass"), (None, "not judged")]
)
def test_conditioning_hours_gate(counted_s: Decimal | None, outcome: str) -> None:
    assert EDITION_2021.judge(trial(*course(), conditioning=Conditioning(counted_s, D(44)))).outcome == outcome


def test_time_since_conditioning_is_shown_and_not_enforced() -> None:
    verdict = EDITION_2021.judge(trial(*course(), conditioning=Conditioning(D(90_000), D(241))))
    assert (verdict.outcome, verdict.warnings) == (
        "pass",
        ("Taken out 4 h 1 min before the start, at most 4 h asked.",),
    )
    need = replace(EDITION_2021.conditioning, use_within_enforced=True)
    assert replace(EDITION_2021, conditionings=(need,)).judge(
        trial(*course(), conditioning=Conditioning(D(90_000), D(241)))
    ).outcome == "invalid"  # fmt: skip


def test_instruments_gate() -> None:
    def outcome(use: InstrumentUse | None) -> str:
        others = tuple(i for i in INSTRUMENTS if i.role != "timer")
        return EDITION_2021.judge(trial(*course(), instruments=others if use is None else (*others, use))).outcome

    assert outcome(InstrumentUse("timer", "TM-01", True)) == "pass"
    assert outcome(InstrumentUse("timer", "TM-01", False, "due 20 January")) == "invalid"
    assert outcome(InstrumentUse("timer", "TM-01", None)) == "not judged"
    assert outcome(None) == "not judged"


def test_an_override_lets_an_instrument_pass_and_is_printed() -> None:
    others = tuple(i for i in INSTRUMENTS if i.role != "timer")
    use = InstrumentUse("timer", "TM-01", False, "due 20 January", "compared with TM-02 the same day")
    verdict = EDITION_2021.judge(trial(*course(), instruments=(*others, use)))
    assert (verdict.outcome, verdict.warnings) == (
        "pass", ("Timer TM-01 was used although due 20 January: compared with TM-02 the same day.",),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "sentence"),
    [
        ("contact", "Not judged at 850 °C: contact is not recorded (and 1 more reason)."),
        ("withdrawn", "Not judged at 850 °C: withdrawal is not recorded."),
        ("watch_ends", "Not judged at 850 °C: the end of the watch is not recorded."),
    ],
)
def test_a_course_without_one_of_its_moments_is_not_judged(kind: str, sentence: str) -> None:
    record = trial(*(r for r in course(*FLAME) if r.kind != kind))
    verdict = EDITION_2021.judge(record)
    assert (verdict.outcome, verdict.sentence.partition(" (and")[0].rstrip(".")) == (
        "not judged", sentence.partition(" (and")[0].rstrip("."),
    )  # fmt: skip


def test_two_standing_contacts_are_not_judged_until_one_is_taken_back() -> None:
    second = row("contact", "0.4", row="second")
    verdict = EDITION_2021.judge(trial(*course(second)))
    assert (verdict.outcome, deciding(verdict)) == ("not judged", ["application", "one contact"])
    assert EDITION_2021.judge(trial(*course(second, row("contact", row="undo", takes_back="second")))).outcome == "pass"


def test_a_known_fail_stands_although_the_watch_was_cut_short() -> None:
    rows = (row("ignites", "6.5"), row("layer_catches", "22.4"), row("put_out", "35.0"))
    verdict = EDITION_2021.judge(trial(*course(*rows, watch="36.0")))
    assert (verdict.outcome, deciding(verdict)) == ("fail", ["layer"])


def test_several_reasons_are_counted_in_the_sentence_and_listed() -> None:
    verdict = EDITION_2021.judge(trial(*course(), setup={"force_n": D("1.30"), "light_lx": D(40), "board_mm": None}))
    assert verdict.sentence == "Invalid at 850 °C: force 1.30 N is outside 0.95 ± 0.10 N (and 1 more reason)."
    assert verdict.reasons == (
        "Force 1.30 N is outside 0.95 ± 0.10 N.",
        "Light at the specimen 40 lx is outside at most 20 lx.",
    )


def test_start_criteria_say_what_still_stands_in_the_way() -> None:
    record = trial(setup={"hood_off": None}, temperature_readings=steady_readings()[2:])
    open_ones = {c.key: c.holds for c in EDITION_2021.start_criteria(record) if c.enforced and c.holds is not True}
    assert open_ones == {"steady": False, "hood_off": None}


def test_levels_other_than_five_are_by_product_standard() -> None:
    offered = {str(s.value): s.offered_as for s in EDITION_2021.severities}
    standard = {level for level, how in offered.items() if how == "standard"}
    assert standard == {"550", "650", "750", "850", "960"}
    assert set(offered) - standard == {"500", "600", "700", "800", "900"}


@pytest.mark.parametrize(
    ("edition", "inside", "outside"), [("2000", ("0.8", "1.2"), ("0.79", "1.21")), ("2014", ("0.85",), ("0.8", "1.2"))]
)
def test_force_window_by_edition(edition: str, inside: tuple[str, ...], outside: tuple[str, ...]) -> None:
    method = method_edition(f"glow-wire-end-product@{edition}")
    for forces, outcome in ((inside, "pass"), (outside, "invalid")):
        for force in forces:
            assert method.judge(trial(*course(), edition=method, setup={"force_n": D(force)})).outcome == outcome

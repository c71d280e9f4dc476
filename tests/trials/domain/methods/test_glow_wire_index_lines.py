"""Lines on the two glow-wire indexes: what a search came to, what comes next, proofs and rulings on the search."""

import itertools
import json
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tests.trials.domain.glow_wire_trial import course, steady_readings
from tests.trials.domain.plate_trial import GWFI, GWIT, at, flame, outcome, plate
from trials.domain.line_result import Asked, Doubt, LineTrial
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import method_edition
from trials.domain.next_step_file import next_step_result
from trials.domain.parameter_changes import Change, changed_edition
from trials.domain.records import Conditioning

D = Decimal
BOTH = pytest.mark.parametrize("edition", [GWFI, GWIT])


@pytest.mark.parametrize(
    ("highest", "above", "gwfi", "gwit"),
    [
        ("550", "575", "550", "575"), ("650", "675", "650", "675"), ("675", "700", "675", "700"),
        ("750", "775", "750", "775"), ("850", "875", "850", "875"), ("875", "900", "875", "900"),
        ("900", "930", "900", "930"), ("930", "960", "930", "960"),
    ],
)  # fmt: skip
def test_what_the_highest_level_passed_stands_for(highest: str, above: str, gwfi: str, gwit: str) -> None:
    """Mapping by the rule of IEC 60695-2-13: + 25 K, + 30 K between 900 and 960 °C (public abstracts)."""
    steps = f"{highest}P {above}F"
    for edition, written in ((GWFI, f"GWFI: {gwfi}/3.0"), (GWIT, f"GWIT: {gwit}/3.0")):
        line = edition.judge_line(Asked(None), at(edition, steps))
        assert (line.state, line.result, line.next) == ("determined", written, None)


def test_both_ends_of_the_range() -> None:
    assert GWFI.judge_line(Asked(None), at(GWFI, "960P")).result == "GWFI: 960/3.0"
    assert GWIT.judge_line(Asked(None), at(GWIT, "960P")).result == "GWIT: >960/3.0"
    assert GWFI.judge_line(Asked(None), at(GWFI, "550F")).result == "GWFI not established, below 550 °C"
    assert GWIT.judge_line(Asked(None), at(GWIT, "500F")).result == "GWIT not established, below 525 °C"


@pytest.mark.parametrize(("thickness", "written"), [("3.0", "3.0"), ("3.00", "3.00"), ("0.75", "0.75")])
def test_the_thickness_keeps_its_digits(thickness: str, written: str) -> None:
    assert GWFI.judge_line(Asked(None), at(GWFI, "850P 875F", thickness)).result == f"GWFI: 850/{written}"


def test_outcomes_that_are_only_stated_are_written_with_their_thickness_too() -> None:
    stated = [{"specimen": f"{n}", "severity": 850, "outcome": "pass"} for n in range(3)]
    stated.append({"specimen": "3", "severity": 875, "outcome": "fail"})
    file = {"method": GWFI.slug, "edition": "2021", "setup": {"nominal_mm": "3.0"}, "specimens": stated}
    assert next_step_result(json.dumps(file).replace('"3.0"', "3.0"))["result"] == "GWFI: 850/3.0"


def test_plates_of_two_thicknesses_hold_the_line() -> None:
    trials = [*at(GWFI, "850P"), LineTrial("99", at(GWFI, "875F", "1.5")[0].verdict, 99, D(875))]
    line = GWFI.judge_line(Asked(None), trials)
    assert (line.state, line.sentence) == (
        "hold", "On hold: specimens of different thickness stand in one line (1.5 mm, 3.0 mm).",
    )  # fmt: skip


@BOTH
def test_the_next_level_comes_with_its_reason(edition: MethodEdition) -> None:
    line = edition.judge_line(Asked(None, start=D(750)), at(edition, "750P"))
    assert (line.state, line.needed, line.sentence) == (
        "more specimens needed", 3,
        "Next: 3 specimens to be tested at 800 °C. All 3 passed at 750 °C, so the next is 50 K higher.",
    )  # fmt: skip
    assert [(level.text, level.state, level.specimens) for level in line.levels] == [
        ("750 °C", "passed", ("01", "02", "03"))
    ]


@BOTH
def test_an_invalid_trial_never_counts_and_asks_for_another_plate(edition: MethodEdition) -> None:
    bad = edition.judge(plate(edition, level="750", setup={"force_n": D("1.20")}))
    trials = [*at(edition, "750P")[:2], LineTrial("03", bad, 3, D(750))]
    line = edition.judge_line(Asked(None), trials)
    assert (line.needed, line.next and line.next.severity, line.set_aside) == (1, D(750), ("03",))


@BOTH
def test_a_proof_takes_three_plates_at_the_level_ordered(edition: MethodEdition) -> None:
    asked = Asked(D(750), 3)
    assert edition.judge_line(asked, at(edition, "750P")[:2]).needed == 1
    assert edition.judge_line(asked, at(edition, "750P")).state == "passed"
    assert edition.judge_line(asked, at(edition, "750P 750F")).state == "failed"
    assert edition.judge_line(asked, at(edition, "750F")).state == "failed"


def test_a_doubt_calls_for_nothing_here() -> None:
    line = GWFI.judge_line(Asked(None), at(GWFI, "750P"), (Doubt("01", "flicker", True),))
    assert line.flags == ("The doubt about specimen 01 calls for nothing: every specimen of a level counts.",)


@pytest.mark.parametrize(
    ("key", "change", "steps", "following"),
    [
        ("start_c", {"value": D("700.0")}, "", D(700)),
        ("fine_step", {"value": False}, "850P 900F", None),
        ("first_fail_ends", {"value": False}, "850F", D(850)),
        ("specimens_needed", {"value": D(4)}, "850P", D(850)),
    ],
)
def test_rulings_13_and_14_as_parameters(key: str, change: Change, steps: str, following: Decimal | None) -> None:
    other = changed_edition(GWIT, {key: change})
    found = other.judge_line(Asked(None), at(GWIT, steps)).next
    default = GWIT.judge_line(Asked(None), at(GWIT, steps)).next
    assert ((found.severity if found else None) == following, found == default) == (True, False)


def test_ruling_14_a_start_off_the_table_is_flagged_whether_agreed_or_taken() -> None:
    deviation = "The search starts at 825 °C, which is no level of the method’s own table: a recorded deviation."
    assert GWIT.judge_line(Asked(None, start=D(825)), []).flags == (deviation,)
    assert GWIT.judge_line(Asked(None, start=D(850)), at(GWIT, "825P")).flags == (deviation,)
    assert GWIT.judge_line(Asked(None, start=D(825)), at(GWIT, "850P")).flags == ()


def test_ruling_14_a_start_that_is_no_level_gives_way_to_the_nearest_one() -> None:
    line = GWIT.judge_line(Asked(None, start=D(860)), [])
    assert (line.next and line.next.severity, line.flags) == (
        D(850), ("860 °C is no level of 2-13:2021; the search starts at 850 °C.",),
    )  # fmt: skip


def test_a_level_off_the_table_that_was_begun_is_finished_without_refinement_too() -> None:
    older = method_edition("glow-wire-flammability-index@2000")
    line = older.judge_line(Asked(None, start=D(775)), at(older, "775P")[:1])
    assert (line.next and line.next.severity, line.needed) == (D(775), 2)


@pytest.mark.parametrize(
    ("key", "change", "given"),
    [
        ("temperature_tolerance_high_from_c", {"value": D(775)},
         {"level": "775", "temperature_readings": steady_readings("790.0")}),
        ("use_within_h", {"high": D(5)}, {"conditioning": Conditioning(D(190_000), D(300))}),
        ("force_n", {"tolerance": D("0.20")}, {"setup": {"force_n": D("1.15")}}),
        ("ignition_flame_s", {"high": D(6)}, {"observations": course(*flame("12.0", "18.0"), watch="75.0")}),
        ("judge_consumed", {"value": False}, {
            "observations": tuple(one for one in course(*flame("12.0", "16.0")) if one.kind != "consumed")}),
    ],
)  # fmt: skip
def test_rulings_4_10_11_12_and_16_by_another_value(key: str, change: Change, given: dict[str, Any]) -> None:
    assert outcome(GWIT, **given) != "pass"
    assert outcome(GWIT, changes={key: change}, **given) == "pass"


def test_ruling_13_lowest_levels() -> None:
    assert (min(s.value for s in GWFI.severities), min(s.value for s in GWIT.severities)) == (D(550), D(500))
    assert method_edition("glow-wire-flammability-index@2000").parameter("fine_step").value is False
    assert method_edition("glow-wire-ignition-temperature@2000").parameter("fine_step").value is True


def test_every_edition_has_its_own_standard_and_apparatus() -> None:
    keys = ("glow-wire-flammability-index", "glow-wire-ignition-temperature")
    editions = [method_edition(f"{slug}@{year}") for slug, year in itertools.product(keys, (2000, 2010, 2014, 2021))]
    assert len({edition.standard for edition in editions}) == 8
    assert [edition.number("force_n") for edition in editions] == [D("1.0"), D("1.0"), D("0.95"), D("0.95")] * 2


@BOTH
@pytest.mark.parametrize("ordered", [None, D(750)])
def test_a_plate_tested_again_counts_once(edition: MethodEdition, ordered: Decimal | None) -> None:
    once = [replace(trial, specimen="01") for trial in at(edition, "750P")]
    for trials in (once, once[::-1]):
        line = edition.judge_line(Asked(ordered), trials)
        assert (line.state, line.counted, line.extra, line.needed) == (
            "more specimens needed",
            ("01",),
            ("01", "01"),
            2,
        )
        assert line.flags == (
            "Specimen 01 was tested again; every plate is new, so only its first trial with a verdict counts.",
        )


@BOTH
def test_a_plate_that_fails_when_tested_again_holds_the_line(edition: MethodEdition) -> None:
    trials = [replace(trial, specimen=name) for trial, name in zip(at(edition, "750P 800F"), "1231", strict=True)]
    line = edition.judge_line(Asked(None), trials)
    assert (line.state, line.sentence, line.result) == (
        "hold",
        "On hold: specimen 1 failed when it was tested again; a lead decides.",
        "",
    )


@BOTH
@pytest.mark.parametrize(("does", "state"), [("does not count", "determined"), ("holds the line", "hold")])
def test_ruling_15_a_pass_above_a_fail_as_a_parameter(edition: MethodEdition, does: str, state: str) -> None:
    other = changed_edition(edition, {"turned_round": {"value": does}})
    line = other.judge_line(Asked(None), at(edition, "750F 800P 700P 725P"))
    assert (line.state, line.flags) == (
        state, ("Passed at 800 °C although 750 °C failed: the highest pass below the lowest fail counts.",),
    )  # fmt: skip
    assert (line.sentence.startswith("On hold: passed at 800 °C although 750 °C failed; a lead")) is (state == "hold")

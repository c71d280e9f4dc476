"""The two glow-wire indexes of a material: limits at value and one step either side, rulings, and what always holds.

Limits: public abstracts of IEC 60695-2-12 and -2-13 (30 s, 5 s); the plates are made up.
"""

from decimal import Decimal

import pytest

from tests.trials.domain.glow_wire_trial import course, row, steady_readings
from tests.trials.domain.plate_trial import GWFI, GWIT, flame, glow, outcome, plate
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import method_edition
from trials.domain.parameter_changes import Change
from trials.domain.records import Conditioning

D = Decimal
BOTH = pytest.mark.parametrize("edition", [GWFI, GWIT])


@pytest.mark.parametrize(("end", "expected"), [("60.1", "pass"), ("60.2", "pass"), ("60.3", "fail")])
def test_gwfi_burning_counts_to_30_s_after_withdrawal(end: str, expected: str) -> None:
    assert outcome(GWFI, *flame("12.0", end)) == expected
    assert outcome(GWFI, *glow("12.0", end)) == expected


def test_the_time_after_withdrawal_is_an_exact_difference() -> None:
    verdict = GWFI.judge(plate(GWFI, *flame("12.0", "60.2")))
    assert verdict.quantity("after_withdrawal").text == "30.0"


@pytest.mark.parametrize(("end", "expected"), [("16.9", "pass"), ("17.0", "pass"), ("17.1", "fail")])
def test_gwit_a_single_flame_counts_to_5_s(end: str, expected: str) -> None:
    assert outcome(GWIT, *flame("12.0", end)) == expected


@pytest.mark.parametrize(("meaning", "expected"), [("until all is out", "fail"), ("longest single one", "pass")])
def test_both_readings_of_the_time_after_withdrawal(meaning: str, expected: str) -> None:
    rows = (*flame("12.0", "50.2"), *glow("50.2", "75.0"))
    changes: dict[str, Change] = {"t_r_is": {"value": meaning}}
    assert outcome(GWFI, *rows, changes=changes, observations=course(*rows, watch="80.0")) == expected


@pytest.mark.parametrize(("counted", "expected"), [("whenever they fall", "fail"), ("after withdrawal only", "pass")])
def test_ruling_16_which_flames_count(counted: str, expected: str) -> None:
    assert outcome(GWIT, *flame("12.0", "20.0"), changes={"flames_counted": {"value": counted}}) == expected


def test_ruling_16_touching_flames_are_one_and_glow_never_ignites() -> None:
    assert outcome(GWIT, *flame("12.0", "15.0"), *flame("15.0", "18.0")) == "fail"
    assert outcome(GWIT, *flame("12.0", "15.0"), *flame("15.1", "18.0")) == "pass"
    assert outcome(GWIT, *glow("12.0", "45.0")) == "pass"


def test_ruling_16_what_is_known_to_be_too_long_fails_whatever_else_is_unknown() -> None:
    assert outcome(GWIT, *flame("12.0", "15.0"), *flame("15.0", "18.0"), row("ignites", "40.0")) == "fail"
    assert outcome(GWIT, row("ignites", "40.0"), row("put_out", "45.0")) == "not judged"
    assert outcome(GWIT, row("ignites", "40.0"), row("put_out", "45.1")) == "fail"


def test_a_flame_put_out_late_is_known_to_have_lasted_too_long() -> None:
    changes: dict[str, Change] = {"t_r_is": {"value": "longest single one"}}
    for rows, expected in (
        ((row("ignites", "35.0"), row("put_out", "65.1")), "fail"),
        ((row("ignites", "35.0"), row("put_out", "65.0")), "not judged"),
        ((row("ignites", "35.0"),), "not judged"),
    ):
        assert outcome(GWFI, *rows, changes=changes) == expected


def test_ruling_16_the_layer_is_recorded_and_never_judged() -> None:
    verdict = GWIT.judge(plate(GWIT, row("layer_catches", "20.0")))
    assert (verdict.outcome, verdict.warnings) == (
        "pass", ("The layer caught at 20.0 s; this is recorded and never judged here.",),
    )  # fmt: skip
    assert outcome(GWFI, row("layer_catches", "20.0")) == "fail"


@BOTH
def test_ruling_4_a_corona_never_counts_and_a_colourless_flame_does(edition: MethodEdition) -> None:
    assert outcome(edition, *flame("5.0", "70.0", "corona")) == "pass"
    assert outcome(edition, *flame("5.0", "70.0", "colourless")) == "fail"


@pytest.mark.parametrize(
    ("key", "expected"),
    [
        ("glow-wire-flammability-index@2000", "pass"),
        ("glow-wire-flammability-index@2010", "fail"),
        ("glow-wire-ignition-temperature@2000", "pass"),
        ("glow-wire-ignition-temperature@2010", "fail"),
    ],
)
def test_ruling_4_consumed_is_judged_from_2010_on(key: str, expected: str) -> None:
    edition = method_edition(key)
    rows = [one for one in course(*flame("12.0", "16.0")) if one.kind != "consumed"]
    assert edition.judge(plate(edition, observations=(*rows, row("consumed", value=True)))).outcome == expected


@BOTH
@pytest.mark.parametrize(("minutes", "expected"), [("239", "pass"), ("240", "pass"), ("241", "invalid")])
def test_ruling_12_four_hours_from_conditioning(edition: MethodEdition, minutes: str, expected: str) -> None:
    assert outcome(edition, conditioning=Conditioning(D(190_000), D(minutes))) == expected


@BOTH
@pytest.mark.parametrize(("counted_s", "expected"), [(172_799, "invalid"), (172_800, "pass"), (172_801, "pass")])
def test_48_hours_of_conditioning(edition: MethodEdition, counted_s: int, expected: str) -> None:
    assert outcome(edition, conditioning=Conditioning(D(counted_s), D(44))) == expected


@BOTH
@pytest.mark.parametrize(
    ("nominal", "expected"), [("0.0", "invalid"), ("0.1", "pass"), ("6.0", "pass"), ("6.1", "invalid")]
)
def test_plates_from_a_tenth_to_six_millimetres(edition: MethodEdition, nominal: str, expected: str) -> None:
    assert outcome(edition, setup={"nominal_mm": D(nominal), "thickness_mm": D(nominal)}) == expected


@BOTH
@pytest.mark.parametrize(
    ("nominal", "measured", "expected"),
    [("1.5", "1.60", "pass"), ("1.5", "1.61", "not judged"), ("3.0", "2.80", "pass"), ("3.0", "2.79", "not judged"),
     ("0.8", "3.05", "not judged")],
)  # fmt: skip
def test_a_plate_of_another_thickness_than_it_is_called_is_not_judged(
    edition: MethodEdition, nominal: str, measured: str, expected: str
) -> None:
    record = plate(edition, setup={"nominal_mm": D(nominal), "thickness_mm": D(measured)})
    assert edition.judge(record).outcome == expected
    open_ones = [c.key for c in edition.start_criteria(record) if c.holds is None and c.enforced]
    assert open_ones == ([] if expected == "pass" else ["off_nominal"])


@pytest.mark.parametrize(
    ("level", "read", "expected"),
    [
        ("750", "760.0", "pass"), ("750", "760.1", "invalid"), ("775", "785.0", "pass"), ("775", "785.1", "invalid"),
        ("800", "815.0", "pass"), ("800", "815.1", "invalid"), ("825", "840.0", "pass"), ("930", "945.0", "pass"),
        ("930", "945.1", "invalid"), ("875", "859.9", "invalid"),
    ],
)  # fmt: skip
def test_ruling_11_tolerance_of_the_tip(level: str, read: str, expected: str) -> None:
    assert outcome(GWIT, level=level, temperature_readings=steady_readings(read)) == expected

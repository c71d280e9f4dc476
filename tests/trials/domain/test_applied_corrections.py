"""The corrections of a trial's figures: the chain of a temperature, set-up numbers, what cannot be corrected."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import orjson
import pytest

from calibration.domain.corrections import StatedPoint, correction_table
from calibration.domain.drift import Point
from tests.trials.domain import glow_wire_trial
from tests.trials.domain.glow_wire_trial import EDITION_2021, course, trial
from trials.domain.applied_corrections import CalibratedUse, applied_correction, tip_reading_for, with_corrections
from trials.domain.methods.registry import method_edition
from trials.domain.record_json import record_from_json, record_to_json
from trials.domain.records import TIP, AppliedCorrection

D = Decimal


def use(role: str, code: str, unit: str, *points: tuple[str, str], number: int = 1, **more: str) -> CalibratedUse:
    rows = [StatedPoint(Point(False, D(a), D(b), unit, D("0.6")), D(2)) for a, b in points]
    table = correction_table(rows, unit)
    assert table is not None
    return CalibratedUse(role, code, number, date(2026, 5, 14), {unit: table}, **more)


TIP_LOW = use("thermocouple", "TC-1", "°C", ("500.0", "498.0"), ("1000.0", "996.0"), number=7)
DISPLAY = use("indicator", "IN-1", "°C", ("400.0", "400.5"), ("1100.0", "1100.5"), number=8)
GAUGE = use("force gauge", "FG-1", "N", ("0.50", "0.51"), ("2.00", "2.01"), number=9)


def corrected(*uses: CalibratedUse, tip: str = "850.4", **changed):
    record = trial(*course(), temperature_readings=readings(tip), **changed)
    return with_corrections(EDITION_2021, record, uses)


def readings(figure: str):
    return tuple(replace(one, correction_k=None) for one in glow_wire_trial.steady_readings(figure))


def criterion(record, key):
    verdict = EDITION_2021.judge(record)
    return next(one for one in (*verdict.setup_criteria, *verdict.criteria) if one.key == key)


def test_a_temperature_gets_the_corrections_of_display_and_tip_one_after_the_other():
    """850.4 read; the display reads 0.5 high: 849.9; there the tip reads 2 + 2 x 351.9/498 = 3.41 low."""
    record = corrected(DISPLAY, TIP_LOW)
    assert {str(one.correction_k) for one in record.temperature_readings} == {"2.91"}
    assert record.corrections_by_key[TIP].source == "IN-1, calibrated 14 May 2026; TC-1, calibrated 14 May 2026"
    assert record.corrections_by_key[TIP].calibrations == (8, 7)
    uncertainty = record.corrections_by_key[TIP].standard_uncertainty
    assert uncertainty is not None
    assert abs(uncertainty - (2 * D("0.3") ** 2).sqrt()) < D("0.000001")
    found = criterion(record, "temperature")
    assert (found.found, found.holds) == ("853.31 °C", True)
    assert found.reason.startswith("850.4 °C read, +2.91 K correction (IN-1, calibrated 14 May 2026; TC-1")


@pytest.mark.parametrize(("tip", "holds"), [("831.65", False), ("831.66", True), ("861.54", True), ("861.55", False)])
def test_the_window_is_judged_with_the_correction(tip, holds):
    """Limits 835 and 865 °C; the correction is 3.34 at 831.7 read and 3.46 at 861.5 by the tip alone."""
    record = corrected(TIP_LOW, tip=tip)
    reading = record.temperature_readings[-1]
    assert holds is (D(835) <= reading.temperature_c <= D(865))
    assert criterion(record, "temperature").holds is holds


def test_a_chain_calibrated_as_one_takes_its_own_points_only():
    chain = replace(TIP_LOW, chain_with="IN-1")
    assert {str(one.correction_k) for one in corrected(DISPLAY, chain).temperature_readings} == {"3.42"}
    other = corrected(replace(DISPLAY, code="IN-2"), chain)
    assert {one.correction_k for one in other.temperature_readings} == {None}
    found = criterion(other, "temperature")
    assert (found.holds, found.reason) == (None, "TC-1: calibrated together with IN-1, not with IN-2")


def test_outside_the_calibrated_range_a_temperature_is_not_judged():
    short = use("thermocouple", "TC-1", "°C", ("500.0", "500.0"), ("800.0", "800.0"))
    found = criterion(corrected(short), "temperature")
    assert (found.holds, found.found) == (None, "850.4 °C")
    assert found.reason == "TC-1: calibrated from 500.0 to 800.0 °C, and 850.4 °C is outside"
    assert criterion(corrected(short, tip="900"), "temperature").holds is False


def test_a_set_up_number_is_judged_with_the_correction_and_kept_as_read():
    record = corrected(GAUGE, setup={"force_n": D("1.06")})
    found = criterion(record, "force_n")
    assert (found.found, found.holds) == ("1.050 N", True)
    assert found.reason == "1.06 N read, −0.010 N correction (FG-1, calibrated 14 May 2026)"
    assert record.setup["force_n"] == D("1.06")
    assert criterion(corrected(setup={"force_n": D("1.06")}), "force_n").holds is False


def test_a_set_up_number_outside_the_range_is_unknown_unless_it_is_out_anyway():
    short = use("force gauge", "FG-1", "N", ("1.00", "1.00"), ("2.00", "2.00"))
    found = criterion(corrected(short), "force_n")
    assert (found.holds, found.found) == (None, "0.96 N")
    assert found.reason == "FG-1: calibrated from 1.00 to 2.00 N, and 0.96 N is outside"
    assert criterion(corrected(short, setup={"force_n": D("0.50")}), "force_n").holds is False


def test_nothing_is_converted_and_nothing_assumed():
    record = trial(*course(), temperature_readings=readings("850.4"))
    assert with_corrections(EDITION_2021, record, [use("thermocouple", "TC-1", "K", ("1000", "1000"))]) == record
    assert with_corrections(EDITION_2021, record, []) is record
    assert applied_correction("force_n", [], "N", D(1)) is None
    assert criterion(record, "temperature").reason == "850.4 °C read, no correction stated"


def test_an_unknown_uncertainty_in_the_chain_leaves_the_whole_unknown():
    bare = correction_table([StatedPoint(Point(False, D("400"), D("400"), "°C"))] * 2, "°C")
    assert bare is not None
    unstated = replace(DISPLAY, tables={"°C": replace(bare, low=D(0), high=D(1100))})
    found = applied_correction(TIP, [unstated, TIP_LOW], "°C", D("850.4"))
    assert found is not None
    assert (found.correction, found.standard_uncertainty) == (D("3.42"), None)


def test_a_display_without_points_leaves_the_uncertainty_of_the_whole_unknown():
    silent = replace(DISPLAY, tables={})
    alone = applied_correction(TIP, [TIP_LOW], "°C", D("850.4"))
    beside = applied_correction(TIP, [silent, TIP_LOW], "°C", D("850.4"))
    as_one = applied_correction(TIP, [silent, replace(TIP_LOW, chain_with="IN-1")], "°C", D("850.4"))
    assert [one and (str(one.correction), one.standard_uncertainty) for one in (alone, beside, as_one)] == [
        ("3.42", D("0.300000")), ("3.42", None), ("3.42", D("0.300000")),
    ]  # fmt: skip


def test_the_oven_under_load_is_corrected_too():
    edition = method_edition("ball-pressure@2014")
    kinds = {kind.key: kind.instrument_role for kind in edition.observation_kinds if kind.instrument_role}
    assert kinds == {"oven_lowest": "indicator", "oven_highest": "indicator"}


def test_a_record_with_corrections_comes_back_from_json():
    record = corrected(DISPLAY, TIP_LOW, GAUGE)
    plain = orjson.loads(orjson.dumps(record_to_json(record)))
    assert record_from_json(EDITION_2021, plain) == record
    assert plain["corrections"][1] == {
        "key": "force_n", "correction": "-0.010", "source": "FG-1, calibrated 14 May 2026", "calibrations": [9],
        "standard_uncertainty": "0.300000", "refusal": "",
    }  # fmt: skip


def test_a_figure_without_correction_is_as_read():
    record = trial()
    assert record.figure("force_n") == record.setup["force_n"]
    assert record.corrected("force_n", D("1.0")) == D("1.0")
    refused = replace(record, corrections=(AppliedCorrection("force_n", None, "FG-1", (1,), refusal="why"),))
    assert refused.figure("force_n") == record.setup["force_n"]


def test_what_the_display_shows_at_a_true_temperature():
    """850 in truth: the tip reads 3.41 low, the display 0.5 high."""
    assert tip_reading_for([DISPLAY, TIP_LOW], D(850)) == D("847.1")
    there = applied_correction(TIP, [DISPLAY, TIP_LOW], "°C", D("847.1"))
    assert there is not None
    assert there.correction == D("2.90")
    assert tip_reading_for([], D(850)) is None
    assert tip_reading_for([TIP_LOW], D(1200)) is None

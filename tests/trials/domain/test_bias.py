"""Trials judged again with an instrument's error put right; rules: metrology practice, figures made by hand."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path  # noqa: TID251  (a test reads the worked examples)

import pytest

from calibration.domain.corrections import StatedPoint, correction_table
from calibration.domain.decisions import decide, nonconformance_probability
from calibration.domain.drift import Point
from trials.domain.applied_corrections import CalibratedUse, with_corrections
from trials.domain.bias import WrongInstrument, corrected_record, drift_share
from trials.domain.bias_finding import judged_with_error
from trials.domain.judge_file import judge_case
from trials.domain.records import Observation
from trials.domain.stability import TemperatureReading

D = Decimal
WORKED = Path(__file__).parents[3] / "fixtures" / "worked"
GOOD, BAD, OTHER = 10, 20, 30
DAY = date(2026, 11, 18)


def table(unit, *points):
    found = correction_table([StatedPoint(Point(False, D(r), D(i), unit, D("1.0")), D(2)) for r, i in points], unit,
                             as_found=True)  # fmt: skip
    assert found is not None
    return found


EIGHT_HIGH = {"°C": table("°C", ("500.0", "508.0"), ("960.0", "968.0"))}


def wrong(tables=EIGHT_HIGH, code="TC-05", **more):
    return WrongInstrument(code, BAD, DAY, tables, **more)


def use(role, code, tables=None, pk=GOOD, **more):
    return CalibratedUse(role, code, pk, date(2026, 5, 14), tables or {}, **more)


USES = [use("thermocouple", "TC-05"), use("indicator", "IN-02", pk=OTHER), use("force gauge", "FG-02", pk=31),
        use("timer", "TM-01", pk=32)]  # fmt: skip


def example(name="tip_at_tolerance_750_counts", folder="glow_wire_end_product"):
    case = judge_case((WORKED / folder / f"{name}.json").read_text("utf-8"))
    return case.edition, case.records[0][1]


def read(*figures, correction=None):
    """Readings of the last minute, the last one just before contact."""
    moments = range(-65, 0, 64 // max(len(figures) - 1, 1))
    return tuple(TemperatureReading(D(t), D(c), correction) for t, c in zip(moments, figures, strict=False))


def tip(figure, correction=None):
    edition, record = example()
    return edition, replace(record, temperature_readings=read(*([figure] * 9), correction=correction))


def judged(edition, record, *, uses=USES, of=None, signed="pass", share="1", **more):
    return judged_with_error(edition, record, uses, of or wrong(), signed=signed, share=D(share), **more)


@pytest.mark.parametrize(
    ("read_c", "finding", "after"),
    [
        ("748.0", "unchanged", "pass"),  # in truth exactly 740, the lower limit
        ("747.9", "changed", "invalid"),  # in truth 739.9
        ("758.0", "unchanged", "pass"),
        ("760.0", "unchanged", "pass"),
    ],
)
def test_at_below_and_above_the_lower_limit(read_c, finding, after):
    found = judged(*tip(read_c))
    assert (found.finding, found.before, found.step, found.drift) == (finding, "pass", after, after)


def test_what_was_read_corrected_and_permitted_comes_with_the_change():
    found = judged(*tip("745.2"))
    first = found.figures[0]
    assert (first.title, first.read, first.step, first.permitted) == (
        "Tip temperature at contact", "745.2 °C", "737.20 °C", "750 ± 10 °C",
    )  # fmt: skip
    assert found.sentence.startswith(
        "Passed as signed; with the error of TC-05 put right: Invalid at 750 °C: the tip stood at 737.20 °C at contact,"
    )


def test_a_trial_that_was_invalid_may_have_been_valid():
    found = judged(*tip("763.0"), signed="invalid")
    assert (found.finding, found.before, found.step) == ("changed", "invalid", "pass")


def test_a_correction_already_applied_is_replaced_and_not_added_twice():
    """Read 759.2 with +0.8: judged at 760.0. Eight kelvin high means 751.2, and not 752.0."""
    edition, record = example()
    put = corrected_record(edition, record, USES, wrong(), D(1))
    assert {one.temperature_c for one in put.step.temperature_readings} == {D("751.20")}


def test_the_drift_goes_from_the_correction_in_force_to_the_one_as_found():
    edition, record = example()
    put = corrected_record(edition, record, USES, wrong(), D("0.5"))
    assert {one.temperature_c for one in put.drift.temperature_readings} == {D("755.60")}  # (+0.8 - 8)/2 = -3.6
    assert {one.temperature_c for one in put.step.temperature_readings} == {D("751.20")}


def test_step_and_drift_that_differ_are_undecidable():
    found = judged(*tip("745.0"), share="0.5")
    assert (found.finding, found.step, found.drift) == ("undecidable", "invalid", "pass")
    assert found.sentence.startswith("It depends on when the error began. As a step: Invalid at 750 °C")


def test_beyond_what_was_calibrated_is_undecidable():
    edition, record = tip("745.0")
    low = wrong({"°C": table("°C", ("100.0", "108.0"), ("700.0", "708.0"))})
    found = judged(edition, record, of=low)
    assert found.finding == "undecidable"
    assert found.sentence.startswith("TC-05: calibrated from 100.0 to 708.0 °C, and 745.0 °C is outside")


def test_without_as_found_points_or_in_another_unit_it_is_undecidable():
    edition, record = tip("745.0")
    assert judged(edition, record, of=wrong({})).sentence == ("How far TC-05 was off is not stated by any calibration.")
    other = judged(edition, record, of=wrong({"mV": table("mV", ("20", "21"), ("40", "41"))}))
    assert other.finding == "undecidable"
    assert other.sentence == "No as-found point of TC-05 is stated in °C (temperature)."


def test_the_correction_of_the_other_instrument_of_the_chain_stays():
    """The indicator's own +1.0 was applied; the thermocouple's error comes on top of it, at the value it corrects."""
    edition, record = tip("750.0")
    plus_one = table("°C", ("501.0", "500.0"), ("961.0", "960.0"))
    uses = [use("thermocouple", "TC-05"), use("indicator", "IN-02", {"°C": plus_one}, pk=OTHER)]
    signed = with_corrections(edition, record, uses)
    assert signed.temperature_readings[0].temperature_c == D("751.00")
    put = corrected_record(edition, signed, uses, wrong(), D(1))
    assert put.step.temperature_readings[0].temperature_c == D("743.00")


def test_a_calibration_that_was_not_applied_when_it_was_signed_is_not_applied_now():
    edition, record = tip("750.0")
    plus_one = table("°C", ("501.0", "500.0"), ("961.0", "960.0"))
    uses = [use("thermocouple", "TC-05"), use("indicator", "IN-02", {"°C": plus_one}, pk=OTHER)]
    put = corrected_record(edition, record, uses, wrong(), D(1))
    assert put.step.temperature_readings[0].temperature_c == D("742.00")


def test_a_chain_found_with_another_indicator_says_nothing_about_this_one():
    edition, record = tip("750.0")
    found = judged(edition, record, of=wrong(chain_with="IN-09"))
    assert (found.finding, found.sentence) == (
        "undecidable", "TC-05: calibrated together with IN-09, not with IN-02.",
    )  # fmt: skip


def test_a_set_up_value_is_put_right_by_the_role_it_was_measured_in():
    """Force 0.85 to 1.05 N: 0.96 read by a gauge 0.12 low was 1.08 in truth."""
    edition, record = example()
    low = wrong({"N": table("N", ("0.62", "0.50"), ("2.12", "2.00"))}, code="FG-02")
    found = judged(edition, record, of=low)
    assert (found.finding, found.step) == ("changed", "invalid")
    assert (found.figures[0].read, found.figures[0].step) == ("0.96 N", "1.080 N")
    assert found.figures[0].permitted == "0.95 ± 0.10 N"


def test_a_timer_moves_the_times_by_its_error_at_each_of_them():
    """A timer 0.4 s fast at 30 s: withdrawn at 31.2 s was 30.8 s, inside 30 ± 1 s."""
    edition, record = example()
    late = {"withdrawn": D("31.2"), "watch_ends": D("63.0")}
    rows = tuple(replace(row, t_s=late.get(row.kind, row.t_s)) for row in record.observations)
    slow = wrong({"s": table("s", ("29.6", "30.0"), ("59.6", "60.0"), ("99.6", "100.0"))}, code="TM-01")
    put = corrected_record(edition, replace(record, observations=rows), USES, slow, D(1))
    assert [row.t_s for row in put.step.observations] == [D(0), D("30.80"), D("62.60")]
    found = judged(edition, replace(record, observations=rows), of=slow, signed="invalid")
    assert (found.finding, found.step) == ("changed", "pass")


def test_a_moment_before_the_timers_first_point_is_undecidable():
    edition, record = example()
    rows = (*record.observations, Observation("9", "drip", D("6.0")))
    slow = wrong({"s": table("s", ("29.6", "30.0"), ("99.6", "100.0"))}, code="TM-01")
    assert judged(edition, replace(record, observations=rows), of=slow).sentence == (
        "TM-01: calibrated from 29.6 to 100.0 s, and 6.0 s is outside."
    )


def test_a_number_whose_instrument_the_method_does_not_name_decides_or_does_not():
    """The dent of the ball: 2.0 mm passes; read on a scale 0.2 mm low it was 2.2 mm. Limit: IEC 60695-10-2, 2 mm."""
    edition, record = example("dent_2_0_mm_passes", "ball_pressure")
    uses = [use(need.role, f"{need.role} 1", pk=40 + n) for n, need in enumerate(edition.instruments)]
    low = wrong({"mm": table("mm", ("0.2", "0.0"), ("100.2", "100.0"))}, code="length gauge 1")
    found = judged(edition, record, uses=uses, of=low)
    assert found.finding == "undecidable"
    assert found.sentence == (
        "The method does not say whether diameter of the dent is read on length gauge 1, and it would decide."
    )


def test_an_instrument_of_which_the_record_holds_no_figure_is_undecidable():
    edition, record = example()
    uses = [*USES, use("length gauge", "LG-01", pk=33)]
    setup = {key: value for key, value in record.setup.items()
             if edition.fields_by_key[key].instrument_role != "length gauge"}  # fmt: skip
    gauge = wrong({"mm": table("mm", ("0.0", "0.1"), ("300.0", "300.1"))}, code="LG-01")
    found = corrected_record(edition, replace(record, setup=setup), uses, gauge, D(1))
    assert found.lacks == ("the record holds no figure that was read on LG-01",)


def test_a_verdict_the_program_would_not_give_today_is_undecidable():
    found = judged(*tip("750.0"), signed="fail")
    assert found.finding == "undecidable"
    assert "Judged today without the error it is pass, and fail was signed" in found.sentence


def test_a_shift_below_a_third_of_the_uncertainty_is_called_negligible():
    """The screen |bias| < U/3 (common practice): 8 K beside 24.1 K is small, beside 24.0 K it is not."""
    edition, record = tip("752.0")
    assert judged(edition, record, expanded={"temperature": D("24.1")}).remark == (
        "Tip at contact moves by 8.00 °C, less than a third of U = 24.1 °C: negligible."
    )
    assert judged(edition, record, expanded={"temperature": D("24.0")}).remark == ""
    assert judged(edition, record).remark == ""


FROM, FOUND = datetime(2026, 5, 14, tzinfo=UTC), datetime(2026, 11, 18, tzinfo=UTC)


@pytest.mark.parametrize(
    ("at", "share"),
    [
        (FROM, "0.0000"),
        (FOUND, "1.0000"),
        (FROM + (FOUND - FROM) / 4, "0.2500"),
        (FROM - timedelta(days=1), "0.0000"),
        (FOUND + timedelta(days=1), "1.0000"),
    ],
)
def test_the_share_of_a_drift_grows_evenly(at, share):
    assert str(drift_share(at, FROM, FOUND)) == share


def test_without_time_between_the_whole_error_is_taken():
    assert drift_share(FROM, FROM, FROM) == 1


def test_a_meter_that_read_8_k_high_at_960():
    """Out-of-tolerance worked example: 960 ± 15 °C, U = 8 K, k = 2; probabilities by JCGM 106:2012, clause 7.

    Read 960, true 952: p_c falls from .99982 to .9599; simple acceptance still holds, a guard band w = U does not.
    """
    true = D(960) + EIGHT_HIGH["°C"].at(D(960)).correction
    assert true == 952
    low, high, u = D(945), D(975), D(8)
    conforms = [round(1 - nonconformance_probability(one, low, high, u / 2), 5) for one in (D(960), true)]
    assert conforms == [0.99982, pytest.approx(0.9599, abs=5e-5)]
    statements = {
        rule: [
            decide(one, low=low, high=high, rule=rule, expanded_u=u, coverage_factor=D(2)).statement
            for one in (D(960), true)
        ]
        for rule in ("simple acceptance", "guard band")
    }
    assert statements == {"simple acceptance": ["pass", "pass"], "guard band": ["pass", "conditional pass"]}

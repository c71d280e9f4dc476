"""Open circuits in a temperature trace are marked; a warming or cooling tip is not."""

import pytest

from calibration.domain.temperature_faults import Sample, far_from_last, suspicious_samples
from tests.calibration.thermocouple_cases import case_rows


def test_zeros_full_scale_ambient_and_flags_in_a_hot_trace_are_marked():
    # Constructed from how open and grounded inputs are known to read; rows counted from 1, the header left out.
    rows = case_rows("open_circuit_when_hot.csv")
    samples = [Sample(float(row["time_s"]), float(row["temp_C"]), row["fault_flag"] or "") for row in rows]
    found = suspicious_samples(samples, full_scale_c=1372)
    assert [one.row for one in found] == [4, 5, 7, 8, 9, 10, 11]
    assert [one.reason for one in found] == [
        "0 °C is colder than any room: an open circuit reads so",
        "0 °C is colder than any room: an open circuit reads so",
        "it is the end of the scale, 1372 °C: an open circuit reads so",
        "the logger marked it OPEN",
        "it is 826.9 K from 850.3 °C, 1.5 s before",
        "the logger marked it SHORT_GND",
        "the logger marked it SHORT_GND",
    ]


def test_a_tip_that_warms_and_cools_is_not_marked():
    warming = [Sample(float(t), 22.0 + 30.0 * t) for t in range(30)]
    cooling = [Sample(30.0 + t, 892.0 - 25.0 * t) for t in range(30)]
    assert suspicious_samples(warming + cooling, full_scale_c=1372) == ()


def test_a_real_step_is_marked_only_until_it_could_have_happened():
    samples = [Sample(0, 850.0), Sample(1, 550.0), Sample(2, 550.0), Sample(3, 550.0), Sample(4, 549.0)]
    assert [one.row for one in suspicious_samples(samples, full_scale_c=1372)] == [2, 3]


def test_no_number_without_a_flag_is_marked_and_said_so():
    found = suspicious_samples([Sample(0, float("nan")), Sample(1, 21.0)], full_scale_c=1372)
    assert [(one.row, one.reason) for one in found] == [(1, "it is no number")]


@pytest.mark.parametrize(("reading_c", "far"), [(950.0, False), (950.1, True), (750.0, False), (749.9, True)])
def test_the_fastest_change_itself_is_possible(reading_c, far):
    assert far_from_last(reading_c, 850.0, 1.0) is far


def test_a_clock_that_ran_backwards_allows_no_change():
    assert far_from_last(850.1, 850.0, -5.0)

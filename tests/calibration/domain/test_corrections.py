"""Corrections: between points, at the ends, beyond, with what is stated of the uncertainty. Figures made by hand."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibration.domain.corrections import Correction, OutsideRangeError, StatedPoint, correction_table
from calibration.domain.drift import Point

D = Decimal
CELSIUS = "°C"


def stated(reference: str, indication: str, u: str | None = "1.0", k: str | None = "2", *, left: bool = False):
    point = Point(left, D(reference), D(indication), CELSIUS, None if u is None else D(u))
    return StatedPoint(point, None if k is None else D(k))


HOT = [stated("500.0", "499.0"), stated("750.0", "749.5"), stated("1000.0", "1002.0", "1.4")]


def table(points=HOT, **asked):
    found = correction_table(points, CELSIUS, **asked)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("reading", "correction", "standard_uncertainty"),
    [
        ("499.0", "1.00", "0.5"),  # at a point: reference minus indication
        ("749.5", "0.50", "0.5"),
        ("624.25", "0.75", "0.5"),  # halfway between the two
        ("800.0", "0.00", "0.7"),  # 0.5 - 2.5 x 50.5/252.5, the larger uncertainty of the neighbours
        ("1002.0", "-2.00", "0.7"),
        ("500.0", "1.00", "0.5"),
    ],
)
def test_between_two_points_the_correction_is_linear(reading, correction, standard_uncertainty):
    found = table().at(D(reading))
    assert (str(found.correction), found.standard_uncertainty) == (correction, D(standard_uncertainty))


@pytest.mark.parametrize(
    ("reading", "inside"), [("498.9", False), ("499.0", True), ("1002.0", True), ("1002.1", False)]
)
def test_beyond_the_calibrated_range_there_is_no_correction(reading, inside):
    if inside:
        assert isinstance(table().at(D(reading)), Correction)
        return
    with pytest.raises(OutsideRangeError) as refused:
        table().at(D(reading))
    assert str(refused.value) == f"calibrated from 499.0 to 1002.0 °C, and {reading} °C is outside"


def test_between_the_last_indication_and_its_reference_the_last_correction_holds():
    low = table([stated("500.0", "501.0"), stated("960.0", "958.0")])
    assert [str(low.at(D(reading)).correction) for reading in ("500.0", "501.0", "958.0", "960.0")] == [
        "-1.00", "-1.00", "2.00", "2.00",
    ]  # fmt: skip


def test_one_decimal_more_than_the_certificate_states_half_even():
    found = table([stated("0.0", "0.0"), stated("3.0", "2.9")])
    assert str(found.at(D("1.0")).correction) == "0.03"  # 0.1 x 1/2.9 = 0.0345
    assert str(table([stated("0", "0"), stated("20", "19")]).at(D("4.75")).correction) == "0.2"  # 0.25 to even
    assert str(table([stated("0", "0"), stated("20", "19")]).at(D("14.25")).correction) == "0.8"  # 0.75 to even


@pytest.mark.parametrize(("u", "k"), [(None, "2"), ("1.0", None), (None, None), ("0.0", "2"), ("1.0", "0")])
def test_an_uncertainty_without_its_factor_is_unknown(u, k):
    found = table([stated("500.0", "499.0", u, k), stated("750.0", "749.5")])
    assert found.at(D("600")).standard_uncertainty is None
    assert found.at(D("749.5")).standard_uncertainty == D("0.5")


def test_the_drift_allowance_is_a_rectangle():
    """JCGM 100:2008, 4.3.7: a half-width a has the standard uncertainty a / sqrt 3."""
    found = table(drift_allowance=D("1.2")).at(D("499.0"))
    assert found.standard_uncertainty is not None
    assert abs(found.standard_uncertainty**2 - (D("0.25") + D("0.48"))) < D("1e-20")


def test_of_an_adjusted_instrument_the_as_left_points_hold_and_as_found_is_asked_for():
    both = [stated("850", "858"), stated("850", "850.2", left=True)]
    assert str(table(both).at(D("850.2")).correction) == "-0.20"
    assert str(table(both, as_found=True).at(D("858")).correction) == "-8.0"
    assert correction_table(both[1:], CELSIUS, as_found=True) is None


def test_a_run_up_and_a_run_down_are_one_station():
    twice = [stated("100.0", "100.4", "0.2"), stated("100.2", "100.4", "0.4"), stated("200.0", "200.0")]
    found = table(twice).at(D("100.4"))
    assert (str(found.correction), found.standard_uncertainty) == ("-0.30", D("0.2"))
    unstated = [stated("100.0", "100.4", None), *twice[1:]]
    assert table(unstated).at(D("100.4")).standard_uncertainty is None


def test_other_units_are_another_table():
    assert correction_table(HOT, "N") is None
    assert correction_table([], CELSIUS) is None


@given(
    st.lists(st.integers(0, 2000), min_size=2, max_size=6, unique=True),
    st.lists(st.integers(-20, 20), min_size=6, max_size=6),
    st.integers(0, 2000),
)
def test_a_correction_lies_between_those_of_its_neighbours(indications, errors, reading):
    points = [stated(str(one - error), str(one)) for one, error in zip(indications, errors, strict=False)]
    found = table(points)
    if found.low <= reading <= found.high:
        all_corrections = [-one.point.error for one in points]
        assert min(all_corrections) <= found.at(D(reading)).correction <= max(all_corrections)

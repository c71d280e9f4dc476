"""The straight line of least squares: the thermometer of the GUM, a drift, and what no line goes through."""

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibration.domain.straight_line import fitted

D = Decimal

# JCGM 100:2008 H.3, table H.6 (typed from memory; the results below are the printed ones): t in degC, correction in K.
THERMOMETER = [
    (D("21.521"), D("-0.171")), (D("22.012"), D("-0.169")), (D("22.512"), D("-0.166")), (D("23.003"), D("-0.159")),
    (D("23.507"), D("-0.164")), (D("23.999"), D("-0.165")), (D("24.513"), D("-0.156")), (D("25.002"), D("-0.157")),
    (D("25.503"), D("-0.159")), (D("26.010"), D("-0.161")), (D("26.511"), D("-0.160")),
]  # fmt: skip


def to(value: Decimal | None, place: str) -> str:
    assert value is not None
    return str(value.quantize(Decimal(place)))


def test_the_thermometer_of_the_gum() -> None:
    line = fitted(THERMOMETER, origin=D(20))
    assert (to(line.intercept, "0.0001"), to(line.intercept_uncertainty, "0.0001")) == ("-0.1712", "0.0029")
    assert (to(line.slope, "0.00001"), to(line.slope_uncertainty, "0.00001")) == ("0.00218", "0.00067")
    assert (to(line.correlation, "0.001"), to(line.scatter, "0.0001"), line.degrees) == ("-0.930", "0.0035", 9)
    assert (to(line.at(D(30)), "0.0001"), to(line.uncertainty_at(D(30)), "0.0001")) == ("-0.1494", "0.0041")


def test_a_drift_over_four_years() -> None:
    # Computed by hand for the method of regressing the error on time (ILAC-G24:2022, control chart).
    errors = [(D(0), D(".1")), (D(12), D(".5")), (D(24), D(".8")), (D(36), D("1.3")), (D(48), D("1.6"))]
    line = fitted(errors)
    assert (to(line.slope, "0.000001"), to(line.intercept, "0.001")) == ("0.031667", "0.100")
    assert to(line.scatter, "0.0001") == "0.0516"
    assert to((D("2.5") - line.intercept) / line.slope, "0.01") == "75.79"
    reached = [month for month in range(60, 80) if line.at(D(month)) + line.half_width(D(month), 0.95) > D("2.5")]
    assert reached[0] == 68


def test_two_points_have_a_line_and_no_scatter() -> None:
    line = fitted([(D(1), D(2)), (D(3), D(6))])
    assert (line.at(D(2)), line.scatter, line.uncertainty_at(D(2)), line.slope_uncertainty) == (D(4), None, None, None)
    with pytest.raises(ValueError, match=r"^3 points at least scatter about a line; there are 2.$"):
        line.half_width(D(2), 0.95)


@pytest.mark.parametrize(
    ("points", "sentence"),
    [
        ([], "A line needs at least two points; there are none."),
        ([(D(1), D(1))], "A line needs at least two points; there is 1."),
        ([(D(1), D(1)), (D("1.0"), D(2))], "All points stand at the same place; no line can be drawn through them."),
    ],
)
def test_what_no_line_goes_through(points: list[tuple[Decimal, Decimal]], sentence: str) -> None:
    with pytest.raises(ValueError, match=f"^{sentence}$"):
        fitted(points)


_HUNDREDTHS = st.integers(min_value=-(10**5), max_value=10**5).map(lambda one: D(one) / 100)


@given(st.lists(st.tuples(_HUNDREDTHS, _HUNDREDTHS), min_size=3, max_size=12, unique_by=lambda point: point[0]))
def test_agrees_with_a_reference_library(points: list[tuple[Decimal, Decimal]]) -> None:
    line = fitted(points)
    slope, intercept = np.polyfit([float(x) for x, _ in points], [float(y) for _, y in points], 1)
    widest = max(abs(float(x)) for x, _ in points) + 1
    assert float(line.slope) == pytest.approx(slope, rel=1e-6, abs=1e-6)
    assert float(line.at(D(0))) == pytest.approx(intercept, rel=1e-6, abs=1e-6 * widest * (1 + abs(slope)))

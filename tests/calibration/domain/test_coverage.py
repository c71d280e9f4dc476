"""Coverage factors by level, and of a rectangle or a trapezoid that governs."""

from decimal import Decimal

import numpy as np
import pytest

from calibration.domain.coverage import LEVELS, level_factor, rectangle_factor, trapezoid_factor

D = Decimal
USUAL, NINETY_FIVE = LEVELS["95.45 %"], LEVELS["95 %"]


def test_two_is_exact_at_the_usual_level_without_end() -> None:
    assert level_factor(USUAL, None) == D(2)


@pytest.mark.parametrize(("name", "factor"), [("95 %", "1.960"), ("99 %", "2.576"), ("95.45 %", "2.000")])
def test_factors_without_end(name: str, factor: str) -> None:
    # JCGM 100:2008 table G.1.
    assert str(level_factor(LEVELS[name], None).quantize(D("0.001"))) == factor


@pytest.mark.parametrize(("degrees", "factor"), [(5, "2.65"), (10, "2.28")])
def test_factors_by_degrees_of_freedom(degrees: int, factor: str) -> None:
    # JCGM 100:2008 table G.2.
    assert str(level_factor(USUAL, degrees).quantize(D("0.01"))) == factor


def test_a_rectangle_and_a_triangle() -> None:
    # EA-4/02 S9 (k = 1.65) and the two ends of the trapezoid, computed: 0.95 sqrt 3 and (1 - sqrt 0.05) sqrt 6.
    assert str(rectangle_factor(NINETY_FIVE).quantize(D("0.001"))) == "1.645"
    assert trapezoid_factor(NINETY_FIVE, D(1)) == rectangle_factor(NINETY_FIVE)
    assert str(trapezoid_factor(NINETY_FIVE, D(0)).quantize(D("0.001"))) == "1.902"


def test_the_trapezoids_of_the_published_examples() -> None:
    # EA-4/02 S10 prints 1.83 for b = 1/3; S11 prints 1.81 for b = 0.43, which reckons to 1.797.
    assert str(trapezoid_factor(NINETY_FIVE, D(1) / 3).quantize(D("0.001"))) == "1.834"
    assert str(trapezoid_factor(NINETY_FIVE, D("0.43")).quantize(D("0.001"))) == "1.796"


@pytest.mark.parametrize("edge", ["0", "0.2", "0.5", "0.8", "0.9", "0.904", "0.906", "0.95", "0.999", "1"])
@pytest.mark.parametrize("name", LEVELS)
def test_a_trapezoid_holds_the_share_its_factor_is_for(name: str, edge: str) -> None:
    # The sum of two rectangles with half-widths 1 + b and 1 - b, summed up numerically.
    b, share = float(edge), LEVELS[name].probability
    half = float(trapezoid_factor(LEVELS[name], D(edge))) * np.sqrt(((1 + b) ** 2 + (1 - b) ** 2) / 3)
    first = np.linspace(-1 - b, 1 + b, 200_001)
    narrow = max(1 - b, 1e-9)
    inside = np.clip(half - first, -narrow, narrow) - np.clip(-half - first, -narrow, narrow)
    assert float(np.mean(inside) / (2 * narrow)) == pytest.approx(share, abs=2e-5)


@pytest.mark.parametrize("edge", ["-0.1", "1.1"])
def test_an_edge_that_no_trapezoid_has(edge: str) -> None:
    with pytest.raises(ValueError, match=r"^the edge of a trapezoid lies between 0 and 1$"):
        trapezoid_factor(USUAL, D(edge))

"""How fast a million emfs and temperatures are computed, beside a bare numpy polynomial of the same degree."""

import time
from collections.abc import Callable

import numpy as np
import pytest
from numpy.polynomial import polynomial

from calibration.domain.its90_coefficients import FORWARD
from calibration.domain.thermocouples import KINDS, emf_mv, range_c, temperature_c

VALUES = 1_000_000
AIMED_AT = 12
"""The inverse takes at most so many times the polynomial; printed, not asserted: a shared machine proves nothing."""


def seconds(work: Callable[[], object]) -> float:
    """The quickest of five runs."""
    runs = []
    for _ in range(5):
        start = time.perf_counter()
        work()
        runs.append(time.perf_counter() - start)
    return min(runs)


@pytest.mark.parametrize("order", ["rising", "mixed"])
@pytest.mark.parametrize("kind", KINDS)
def test_a_million_values_both_ways(kind, order, capsys):
    t = np.linspace(-200.0, range_c(kind)[1], VALUES)
    if order == "mixed":
        t = np.random.default_rng(1).permutation(t)
    emf = emf_mv(kind, t)
    coefficients = np.array(max((one.coefficients for one in FORWARD[kind]), key=len))
    bare = seconds(lambda: polynomial.polyval(t, coefficients))
    there, back = seconds(lambda: emf_mv(kind, t)), seconds(lambda: temperature_c(kind, emf))
    with capsys.disabled():
        print(  # noqa: T201  (a benchmark speaks to the person at the terminal)
            f"\nType {kind}, {VALUES:,} values, {order}: polynomial of degree {len(coefficients) - 1} "
            f"{1000 * bare:.1f} ms; emf {1000 * there:.1f} ms, {there / bare:.2f} times; "
            f"temperature {1000 * back:.1f} ms, {back / bare:.2f} times (at most {AIMED_AT} are aimed at)."
        )
    assert np.abs(temperature_c(kind, emf) - t).max() < 1e-9

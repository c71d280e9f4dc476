"""The probability that a figure conforms: published examples, tables, few degrees of freedom."""

from decimal import Decimal
from typing import Any

import pytest

from calibration.domain.decisions import (
    conformance_probability,
    decide,
    nonconformance_probability,
)

D = Decimal


@pytest.mark.parametrize(
    ("value", "low", "high", "u", "conforming"),
    [
        # JCGM 106:2012 clause 7, inputs remembered, results agree with the printed 0.92, 0.99 and 0.66
        ("-5.47", None, "-5.40", "0.05", 0.9192),
        ("509.7", "490", None, "8.6", 0.9890),
        ("13.6", "12.5", "16.3", "1.8", 0.6626),
        # own arithmetic: one limit of 30, and 960 with 15 on each side
        ("29.4", None, "30", "0.3", 0.97725),
        ("960", "945", "975", "4", 0.99982),
        ("967", "945", "975", "4", 0.97725),
        ("970", "945", "975", "4", 0.89435),
        ("975", "945", "975", "4", 0.500),
        ("944", "945", "975", "4", 0.40129),
    ],
)
def test_probability_of_conformance_is_that_of_jcgm_106(
    value: str, low: str | None, high: str | None, u: str, conforming: float
) -> None:
    found = conformance_probability(D(value), None if low is None else D(low), None if high is None else D(high), D(u))
    assert found == pytest.approx(conforming, abs=5e-5)


@pytest.mark.parametrize(
    ("value", "conforming"),
    # own arithmetic on the normal distribution: a limit of 30 s at most, U = 0.6 s, k = 2
    [("28.0", 1.0), ("29.4", 0.9772), ("29.5", 0.9522), ("29.7", 0.8413), ("30.0", 0.5), ("30.3", 0.1587),
     ("30.6", 0.0228), ("31.0", 0.0004)],
)  # fmt: skip
def test_probability_of_conformance_falls_through_the_limit(value: str, conforming: float) -> None:
    assert conformance_probability(D(value), None, D(30), D("0.3")) == pytest.approx(conforming, abs=5e-5)


@pytest.mark.parametrize(
    ("share", "distance"),
    # quantiles of the normal distribution, any table of it
    [(0.95, "1.6449"), (0.975, "1.9600"), (0.99, "2.3263"), (0.999, "3.0902")],
)
def test_a_limit_so_many_standard_uncertainties_away_conforms_with_the_share_tables_give(
    share: float, distance: str
) -> None:
    assert conformance_probability(D(0), None, D(distance), D(1)) == pytest.approx(share, abs=1e-5)
    assert conformance_probability(D(0), -D(distance), None, D(1)) == pytest.approx(share, abs=1e-5)


def test_speed_so_high_that_999_in_1000_are_above_the_limit() -> None:
    # JCGM 106:2012, speed on a road, limit 100 km/h, u = 2 % of the speed, printed 107 km/h (from memory)
    speed = D("106.59")
    above = nonconformance_probability(speed, None, D(100), speed * D("0.02"))
    assert above == pytest.approx(0.999, abs=5e-5)


def test_share_of_resistors_made_outside_their_tolerance() -> None:
    # JCGM 106:2012 clause 9, resistors of 1500 ohm ± 0.2 ohm, process deviation 0.12 ohm (inputs from memory,
    # arithmetic own): 9.56 % of what is made is outside
    outside = nonconformance_probability(D(1500), D("1499.8"), D("1500.2"), D("0.12"))
    assert outside == pytest.approx(0.0956, abs=5e-5)


def test_few_degrees_of_freedom_take_students_t() -> None:
    # t distribution at 1.645 with 4 degrees of freedom: 0.912, the normal distribution gives 0.950 (any table)
    given = (D(0), None, D("1.645"), D(1))
    assert conformance_probability(*given, 4) == pytest.approx(0.912, abs=5e-4)
    assert conformance_probability(*given) == pytest.approx(0.950, abs=5e-4)
    assert conformance_probability(D(0), D("-1.645"), None, D(1), 4) == pytest.approx(0.912, abs=5e-4)
    beyond = conformance_probability(D(2), None, D("0.355"), D(1), 4)
    assert beyond == pytest.approx(1 - 0.912, abs=5e-4)
    rule: dict[str, Any] = {
        "high": D("1.645"),
        "rule": "simple acceptance",
        "expanded_u": D(2),
        "coverage_factor": D(2),
    }
    assert decide(D(0), **rule, degrees_of_freedom=4).risk == pytest.approx(0.088, abs=5e-4)


@pytest.mark.parametrize("value", ["29.9999999999999", "30", "30.0000000000001"])
def test_a_value_a_hair_from_its_limit_is_judged_with_few_degrees_too(value: str) -> None:
    made = decide(
        D(value), high=D(30), rule="simple acceptance", expanded_u=D(2), coverage_factor=D(2), degrees_of_freedom=4
    )
    assert made.holds is (D(value) <= D(30))
    assert made.risk == pytest.approx(0.5, abs=1e-9)

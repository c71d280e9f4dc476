"""Uncertainty budgets: the published examples, a reference library, and rows that cannot be."""

from decimal import Decimal
from typing import Any

import GTC  # type: ignore[import-untyped]  # it ships no types
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibration.domain.budgets import Budget, reckoned_budget
from calibration.domain.contributions import BudgetError, Contribution, contributions

D = Decimal


def to(text: str, place: str) -> str:
    return str(D(text).quantize(D(place)))


def test_the_difference_of_the_end_gauge_alone() -> None:
    # JCGM 100:2008 H.1.6 prints 25.6, from u(d) rounded to 9.7 nm; unrounded it is 25.45.
    rows = [("5.8", "24"), ("3.9", "5"), ("6.7", "8")]
    found = budget([row(half_width=u, degrees=nu) for u, nu in rows])
    assert (to(str(found.standard_uncertainty), "0.1"), found.degrees) == ("9.7", 25)
    assert to(str(D("9.7") ** 4 / found.standard_uncertainty**4 * (found.effective_degrees or 0)), "0.1") == "25.6"


def test_readings_come_to_their_mean_s_uncertainty() -> None:
    # JCGM 100:2008 4.4.3, twenty readings (typed from memory): s 1.489, u 0.333 with 19 degrees of freedom.
    readings = [
        "96.90", "98.18", "98.25", "98.61", "99.03", "99.49", "99.56", "99.74", "99.89", "100.07",
        "100.33", "100.42", "100.68", "100.95", "101.11", "101.20", "101.57", "101.84", "102.36", "102.72",
    ]  # fmt: skip
    found = budget([{"name": "thermometer", "distribution": "type A", "readings": readings}])
    assert (to(str(found.standard_uncertainty), "0.001"), found.degrees) == ("0.333", 19)


@pytest.mark.parametrize(
    ("distribution", "uncertainty"),
    [("rectangular", "0.577"), ("triangular", "0.408"), ("arcsine", "0.707"), ("resolution", "0.289")],
)
def test_divisors(distribution: str, uncertainty: str) -> None:
    # JCGM 100:2008 4.3.7, 4.3.9, F.2.2.1; 1/sqrt 2 for the arcsine distribution.
    found = budget([{"name": "a", "distribution": distribution, "half_width": "1"}])
    assert (to(str(found.standard_uncertainty), "0.001"), found.degrees) == (uncertainty, None)


def test_k_divides_an_expanded_uncertainty() -> None:
    assert budget([row(half_width="0.61", coverage_factor="2")]).standard_uncertainty == D("0.305")


@pytest.mark.parametrize(("first", "second", "degrees"), [("8", "", 8), ("1", "", 1), ("7.9", "", 7), ("", "", None)])
def test_one_row_keeps_its_degrees(first: str, second: str, degrees: int | None) -> None:
    assert budget([row(half_width="0.3", degrees=first), row(half_width="0", degrees=second)]).degrees == degrees


_ROWS = st.lists(
    st.tuples(
        st.integers(min_value=1, max_value=9999).map(lambda one: D(one) / 1000),
        st.integers(min_value=-500, max_value=500).filter(bool).map(lambda one: D(one) / 100),
        st.one_of(st.none(), st.integers(min_value=1, max_value=200).map(D)),
    ),
    min_size=1,
    max_size=6,
)


@given(_ROWS)
def test_agrees_with_a_reference_library(rows: list[tuple[Decimal, Decimal, Decimal | None]]) -> None:
    found = reckoned_budget(
        [Contribution("a", "normal", u, D(1), sensitivity=c, degrees=nu) for u, c, nu in rows], level="95 %"
    )
    inputs = [GTC.ureal(0, float(u), GTC.inf if nu is None else float(nu)) for u, _, nu in rows]
    whole = sum(float(c) * one for (_, c, _), one in zip(rows, inputs, strict=True))
    assert float(found.standard_uncertainty) == pytest.approx(whole.u, rel=1e-9)
    if found.effective_degrees is None:
        assert whole.df == GTC.inf
    else:
        assert float(found.effective_degrees) == pytest.approx(whole.df, rel=1e-6)
    assert sum((one.part for one in found.shares), D(0)) == pytest.approx(D(1))


def row(**members: Any) -> dict[str, Any]:
    return {"name": "a", "distribution": "normal", "coverage_factor": "1", **members}


def budget(rows: list[dict[str, Any]], **choices: str) -> Budget:
    return reckoned_budget(contributions(rows), **choices)


IMPOSSIBLE: list[tuple[dict[str, Any], str]] = [
    (row(half_width="-1"), "Row 1 (a): the expanded uncertainty is below zero."),
    (row(), "Row 1 (a): the expanded uncertainty is missing."),
    (row(half_width="NaN"), ("Row 1 (a): the expanded uncertainty: 'NaN' is not a number; digits with one decimal "
     "point at most are needed.")),
    (row(half_width="0,5"), ("Row 1 (a): the expanded uncertainty: '0,5' is not a number; digits with one decimal "
     "point at most are needed.")),
    (row(half_width="1.234567890123456"), ("Row 1 (a): the expanded uncertainty: more than 15 digits are nobody’s "
     "reading.")),
    (row(half_width="1", coverage_factor=""), "Row 1 (a): the coverage factor k is missing, and it is never assumed."),
    (row(half_width="1", coverage_factor="0"), "Row 1 (a): the coverage factor k is above zero."),
    (row(half_width="1", degrees="0.9"), ("Row 1 (a): there is at least one degree of freedom; leave it empty for "
     "without end.")),
    (row(half_width="1", readings=["1", "2"]), "Row 1 (a): a reading has no place in this row, only type A has them."),
    ({"name": "", "distribution": "normal"}, "Row 1: the name is missing."),
    ({"name": "a" * 121}, f"Row 1 ({'a' * 40}): 120 characters are kept of a name, this has 121."),
    ({"name": "a"}, ("Row 1 (a): the distribution is missing; there are normal, rectangular, triangular, arcsine, "
     "resolution, type A.")),
    ({"name": "a", "distribution": "gauss"}, ("Row 1 (a): there is no distribution 'gauss'; there are normal, "
     "rectangular, triangular, arcsine, resolution, type A.")),
    ({"name": "a", "distribution": "rectangular", "half_width": "1", "coverage_factor": "2"},
     "Row 1 (a): a coverage factor k has no place in this row, only a normal distribution has one."),
    ({"name": "a", "distribution": "resolution", "half_width": "-0.1"}, "Row 1 (a): the smallest step is below zero."),
    ({"name": "a", "distribution": "type A", "readings": ["1"]}, ("Row 1 (a): from 2 to 200 readings are needed, there "
     "are 1.")),
    ({"name": "a", "distribution": "type A", "readings": ["1", "x"]}, ("Row 1 (a): a reading: 'x' is not a number; "
     "digits with one decimal point at most are needed.")),
    ({"name": "a", "distribution": "type A", "readings": "1 2"}, ("Row 1 (a): the readings are to be a list of "
     "numbers.")),
    ({"name": "a", "distribution": "type A", "readings": ["1", "2"], "half_width": "1"},
     "Row 1 (a): a half-width has no place in this row, readings give it themselves."),
    ({"name": "a", "width": "1"}, ("Row 1 (a): 'width' is not known here; known are name, estimate, half_width, "
     "distribution, coverage_factor, sensitivity, degrees, readings.")),
    (row(half_width="0"), "All rows together come to nothing; a figure without any uncertainty is none."),
]  # fmt: skip


@pytest.mark.parametrize(("impossible", "sentence"), IMPOSSIBLE)
def test_refuses_an_impossible_row(impossible: dict[str, Any], sentence: str) -> None:
    with pytest.raises(BudgetError) as refusal:
        budget([impossible])
    assert str(refusal.value) == sentence


@pytest.mark.parametrize(
    ("rows", "choices", "sentence"),
    [
        ([], {}, "A budget needs at least one row."),
        ([row(half_width="1")], {"level": "90 %"}, "There is no coverage level '90 %'; there are 95.45 %, 95 %, 99 %."),
        ([row(half_width="1")], {"shape": "bell"}, "There is no shape 'bell'; there are t, rectangle, trapezoid."),
        ([row(half_width="1")], {"shape": "rectangle"},
         "A rectangle is what rectangular rows come to that govern; a is normal."),
        ([row(half_width="1")], {"shape": "trapezoid"},
         "A trapezoid comes of two rectangular rows; there is one row only."),
    ],
)  # fmt: skip
def test_refuses_an_impossible_budget(rows: list[dict[str, Any]], choices: dict[str, str], sentence: str) -> None:
    with pytest.raises(BudgetError) as refusal:
        budget(rows, **choices)
    assert str(refusal.value) == sentence

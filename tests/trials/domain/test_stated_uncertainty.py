"""The uncertainty of a budget: how it enters judging, and how it is printed beside a value."""

from dataclasses import replace
from decimal import Decimal

import pytest

from trials.domain.methods.registry import EDITIONS
from trials.domain.stated_uncertainty import (
    StatedUncertainty,
    budget_changes,
    numeric_quantities,
    printed_factor,
    printed_figure,
    reckoned_figure,
    uncertainty_of,
)
from trials.domain.statements import Parameter

D = Decimal
BALL = EDITIONS["ball-pressure@2014"]
DENT = next(kind for kind in BALL.quantities if kind.key == "dent")
BUDGET = StatedUncertainty("mm", D("0.0195789000"), D("0.0393671770"), D("2.01069400"), "95.45 %", 1)


def test_a_value_is_printed_with_its_uncertainty_rounded_by_one_rule() -> None:
    assert (BUDGET.printed_value(D("1.4")), BUDGET.printed_coverage) == ("(1.400 ± 0.039) mm", "k = 2.01, 95.45 %")
    wide = StatedUncertainty("s", D("0.4980"), D("0.9960"), D(2), "95.45 %", 1)  # 0.996 carries to 1.0
    assert (wide.printed_value(D("12.35")), wide.printed_expanded) == ("(12.4 ± 1.0) s", "1.0 s")


@pytest.mark.parametrize(
    ("value", "kept"),
    [
        ("0.039367177123", "0.0393671771"),
        ("2", "2.00000000"),
        ("59.304035", "59.3040350"),
        ("0.00000012", "0.000000120000000"),
    ],
)
def test_a_reckoned_figure_keeps_nine_digits(value: str, kept: str) -> None:
    assert format(reckoned_figure(D(value)), "f") == kept


def test_reckoned_figures_are_printed_rounded_and_typed_ones_as_typed() -> None:
    assert [str(printed_figure(D(one))) for one in ("0.0393671771", "0.060", "0.125")] == ["0.039", "0.060", "0.125"]
    assert [printed_factor(D(one)) for one in ("2.01069400", "2.00000000", "2", "2.00")] == [
        "2.01",
        "2.00",
        "2",
        "2.00",
    ]


def test_a_budget_gives_uncertainty_and_factor_where_neither_is_stated() -> None:
    assert budget_changes(BALL, {"dent": BUDGET}, []) == {
        "u_dent_mm": {"value": D("0.0393671770")},
        "coverage_factor": {"value": D("2.01069400")},
    }
    assert budget_changes(BALL, {"dent": BUDGET}, ["decision_rule", "coverage_factor"]) != {}


@pytest.mark.parametrize(
    ("budgets", "stated"),
    [
        ({"dent": BUDGET}, ["u_dent_mm"]),
        ({"spread": BUDGET}, []),
        ({}, []),
        ({"dent": StatedUncertainty("µm", D(20), D(40), D(2))}, []),
    ],
)
def test_a_budget_gives_nothing(budgets: dict[str, StatedUncertainty], stated: list[str]) -> None:
    assert budget_changes(BALL, budgets, stated) == {}


def test_an_edition_without_decided_limits_takes_nothing() -> None:
    assert budget_changes(EDITIONS["glow-wire-end-product@2021"], {"ignites": BUDGET}, []) == {}


def test_what_is_printed_is_what_was_judged_with() -> None:
    frozen = BALL.revised(
        *(_with(key, value) for key, value in (("u_dent_mm", "0.0393671770"), ("coverage_factor", "2.01069400")))
    )
    assert uncertainty_of(frozen, DENT, BUDGET) == BUDGET
    own = BALL.revised(_with("u_dent_mm", "0.06"))
    assert uncertainty_of(own, DENT, BUDGET) == StatedUncertainty("mm", D("0.03"), D("0.06"), D("2.00"))
    assert uncertainty_of(own, DENT, None) == StatedUncertainty("mm", D("0.03"), D("0.06"), D("2.00"))
    assert uncertainty_of(BALL, DENT, None) is None


def test_a_budget_in_another_unit_is_not_printed() -> None:
    assert uncertainty_of(BALL, DENT, StatedUncertainty("µm", D(20), D(40), D(2))) is None


@pytest.mark.parametrize("key", EDITIONS)
def test_the_quantity_of_every_decided_limit_has_the_unit_of_its_uncertainty(key: str) -> None:
    edition = EDITIONS[key]
    units = {kind.key: kind.unit for kind in numeric_quantities(edition)}
    assert [
        (limit.quantity, units.get(limit.quantity)) for limit in edition.decided_limits
    ] == [(limit.quantity, edition.parameter(limit.uncertainty).unit) for limit in edition.decided_limits]  # fmt: skip


def _with(key: str, value: str) -> Parameter:
    return replace(BALL.parameter(key), value=D(value))

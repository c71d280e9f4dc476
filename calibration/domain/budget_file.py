"""A budget as JSON: the file of the command, read strictly, and what it comes to as plain values."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, Final

from calibration.domain.budgets import FORMULAS, Budget, Share, reckoned_budget
from calibration.domain.contributions import BudgetError, contributions
from calibration.domain.coverage import USUAL
from calibration.domain.figures import digits, number_fault
from calibration.domain.rounding import rounded, rounded_to, rounded_uncertainty, shown_factor
from calibration.domain.strict_json import JsonError, Member, read_json

MEMBERS: Final = ("quantity", "unit", "level", "shape", "source", "rows")
MOST_ROWS: Final = 60
_FIGURES: Final = 8
"""So many significant digits are written of what was reckoned: more than anybody prints."""


def budget_answer(text: str) -> dict[str, Any]:
    """Return what the budget of a file comes to (fixtures/budgets/README.md); BudgetError, one sentence, otherwise."""
    try:
        file = Member("", read_json(text)).members(MEMBERS)
        quantity, unit = file["quantity"].text(), file["unit"].text()
        level, shape = file["level"].optional_text() or USUAL, file["shape"].optional_text() or "t"
        file["source"].optional_text()
        rows = [one.mapping() for one in file["rows"].items()]
    except JsonError as wrong:
        raise BudgetError(str(wrong)) from wrong
    if len(rows) > MOST_ROWS:
        raise BudgetError(f"A budget has at most {MOST_ROWS} rows; this has {len(rows)}.")
    budget = reckoned_budget(contributions(plain_rows(rows)), level=level, shape=shape)
    return {"quantity": quantity, **budget_json(budget, unit)}


def plain_rows(rows: list[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return the rows with every number as its text; BudgetError for a number with too many digits."""
    return [{name: _plain(one, at, name) for name, one in row.items()} for at, row in enumerate(rows)]


def budget_json(budget: Budget, unit: str) -> dict[str, Any]:
    """Return a budget as plain JSON values: numbers as texts, those reckoned with 8 digits, and what is printed."""
    effective = budget.effective_degrees
    expanded = rounded_uncertainty(budget.expanded_uncertainty)
    return {
        "unit": unit,
        "level": budget.level.name,
        "shape": budget.shape,
        "formula": FORMULAS[budget.shape],
        "rows": [_row(one) for one in budget.shares],
        "value": None if budget.value is None else digits(budget.value),
        "standard_uncertainty": _figure(budget.standard_uncertainty),
        "effective_degrees": None if effective is None else _figure(effective),
        "degrees": budget.degrees,
        "coverage_factor": _figure(budget.coverage_factor),
        "expanded_uncertainty": _figure(budget.expanded_uncertainty),
        "rest": None if budget.rest is None else _figure(budget.rest),
        "printed": {
            "value": None if budget.value is None else digits(rounded_to(budget.value, expanded)),
            "standard_uncertainty": digits(rounded_uncertainty(budget.standard_uncertainty)),
            "coverage_factor": shown_factor(budget.coverage_factor),
            "expanded_uncertainty": digits(expanded),
        },
    }


def _row(one: Share) -> dict[str, Any]:
    return {
        "name": one.row.name,
        "distribution": one.row.distribution,
        "standard_uncertainty": _figure(one.standard_uncertainty),
        "sensitivity": digits(one.row.sensitivity),
        "contribution": _figure(one.contribution),
        "degrees": None if one.row.degrees is None else digits(one.row.degrees),
        "share_percent": digits(rounded(one.part * 100, Decimal("0.01"))),
    }


def _figure(value: Decimal) -> str:
    """A reckoned number with 8 significant digits, half even."""
    if not value:
        return "0"
    return digits(rounded(value, Decimal(1).scaleb(value.adjusted() - _FIGURES + 1)))


def _plain(content: Any, at: int, name: str) -> Any:
    if isinstance(content, list):
        return [_plain(one, at, name) for one in content]
    if not isinstance(content, Decimal):
        return content
    if fault := number_fault(content):
        raise BudgetError(f"Row {at + 1}: {name}: {fault}.", row=at, member=name)
    return digits(content)

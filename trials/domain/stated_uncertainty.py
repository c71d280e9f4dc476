"""The uncertainty a laboratory's budget states for a figure: as it enters judging, and as it is printed."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from calibration.domain.figures import digits
from calibration.domain.rounding import rounded, rounded_to, rounded_uncertainty, shown_factor
from trials.domain.methods.base import MethodEdition
from trials.domain.parameter_changes import Change
from trials.domain.statements import QuantityKind

FIGURES: Final = 9
"""A reckoned figure enters judging with so many significant digits, which nobody types: by these it is known."""
_LAST_PLACE: Final = 15


@dataclass(frozen=True, slots=True)
class StatedUncertainty:
    """What one version of a budget came to, unrounded, in the unit of its quantity.

    `level` is empty and `version` 0 where no budget states it but the laboratory's own figures.
    """

    unit: str
    standard: Decimal
    expanded: Decimal
    coverage_factor: Decimal
    level: str = ""
    version: int = 0

    def printed_value(self, value: Decimal) -> str:
        """The value with its expanded uncertainty and the unit: "(1.42 ± 0.04) mm"; each rounded, for print only."""
        expanded = rounded_uncertainty(self.expanded)
        return f"({digits(rounded_to(value, expanded))} ± {digits(expanded)}) {self.unit}".rstrip()

    @property
    def printed_expanded(self) -> str:
        """The expanded uncertainty with its unit, rounded for print."""
        return f"{digits(rounded_uncertainty(self.expanded))} {self.unit}".rstrip()

    @property
    def printed_coverage(self) -> str:
        """Coverage factor and level: "k = 2.00, 95.45 %"."""
        return ", ".join(part for part in (f"k = {shown_factor(self.coverage_factor)}", self.level) if part)


def numeric_quantities(edition: MethodEdition) -> tuple[QuantityKind, ...]:
    """Return the figures of an edition that a budget can belong to: those with a unit."""
    return tuple(kind for kind in edition.quantities if kind.unit)


def reckoned_figure(value: Decimal) -> Decimal:
    """Return a reckoned figure as it is kept for judging: always 9 significant digits, as far as 15 places go."""
    return rounded(value, Decimal(1).scaleb(max(value.adjusted() - FIGURES + 1, -_LAST_PLACE)))


def printed_figure(value: Decimal) -> Decimal:
    """Return an uncertainty as printed: a reckoned one rounded by the one rule, one that was typed as it was typed."""
    return rounded_uncertainty(value) if _is_reckoned(value) else value


def printed_factor(value: Decimal) -> str:
    """Return a coverage factor as printed: a reckoned one to the second place, one that was typed as it was typed."""
    return shown_factor(value) if _is_reckoned(value) else digits(value)


def budget_changes(
    edition: MethodEdition, budgets: Mapping[str, StatedUncertainty], stated: Iterable[str]
) -> dict[str, Change]:
    """Return the uncertainties and the coverage factor that budgets, by quantity, give an edition.

    Nothing where the laboratory's sheet or the order states an uncertainty itself (`stated`: keys of parameters): its
    coverage factor belongs to it. Where several budgets enter, the largest of their factors expands all of them. A
    budget in another unit than the parameter's gives nothing.
    """
    keys = {limit.uncertainty: limit.quantity for limit in edition.decided_limits}
    if not keys or any(key in keys for key in stated):
        return {}
    found = {
        key: budgets[quantity]
        for key, quantity in keys.items()
        if quantity in budgets and budgets[quantity].unit == edition.parameter(key).unit
    }
    if not found or not edition.has_parameter("coverage_factor"):
        return {}
    factor = max(one.coverage_factor for one in found.values())
    changes: dict[str, Change] = {
        key: {"value": reckoned_figure(one.expanded if one.coverage_factor == factor else one.standard * factor)}
        for key, one in found.items()
    }
    return {**changes, "coverage_factor": {"value": reckoned_figure(factor)}}


def uncertainty_of(
    edition: MethodEdition, kind: QuantityKind, budget: StatedUncertainty | None
) -> StatedUncertainty | None:
    """Return what is printed beside a figure of a trial under `edition`: what its criterion was judged with, if any.

    Where the laboratory's own figures state an uncertainty for it, that one, without a level; else the budget's, if its
    unit is the figure's.
    """
    if budget is not None and budget.unit != kind.unit:
        budget = None
    limit = next((one for one in edition.decided_limits if one.quantity == kind.key), None)
    own = None if limit is None else edition.parameter(limit.uncertainty)
    if own is None or not isinstance(own.value, Decimal) or own.value <= 0 or own.unit != kind.unit:
        return budget
    if budget is not None and own.value == reckoned_figure(budget.expanded):
        return budget
    factor = edition.number("coverage_factor")
    return StatedUncertainty(kind.unit, own.value / factor, own.value, factor)


def _is_reckoned(value: Decimal) -> bool:
    return len(value.as_tuple().digits) >= FIGURES - 1

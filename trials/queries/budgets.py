"""Uncertainty budgets of the quantities of methods: those in force at a moment, and every version of one."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from calibration.domain.budgets import FORMULAS, Budget, reckoned_budget
from calibration.domain.contributions import contributions
from trials.domain.methods.base import MethodEdition
from trials.domain.stated_uncertainty import StatedUncertainty, numeric_quantities, uncertainty_of
from trials.domain.statements import QuantityKind
from trials.domain.verdicts import Verdict
from trials.models import Trial, UncertaintyBudget
from trials.queries.methods import known_edition, trial_edition

type Stated = Mapping[str, StatedUncertainty]
"""What budgets state, by quantity."""


def budgets_in_force(slugs: Iterable[str], at: datetime | None = None) -> dict[str, dict[str, UncertaintyBudget]]:
    """The newest version of each budget of some methods, now or at a moment, by method and quantity; one query."""
    found: dict[str, dict[str, UncertaintyBudget]] = {slug: {} for slug in slugs}
    rows = UncertaintyBudget.objects.filter(method_slug__in=found).select_related("made_by")
    if at is not None:
        rows = rows.filter(made_at__lte=at)
    for row in rows.order_by("version"):
        found[row.method_slug][row.quantity_key] = row
    return found


def stated(rows: Mapping[str, UncertaintyBudget]) -> dict[str, StatedUncertainty]:
    """What budgets in force state, by quantity."""
    return {
        key: StatedUncertainty(
            unit=row.unit,
            standard=row.standard_uncertainty,
            expanded=row.expanded_uncertainty,
            coverage_factor=row.coverage_factor,
            level=row.level,
            version=row.version,
        )
        for key, row in rows.items()
    }


def stated_at(slug: str, at: datetime | None) -> dict[str, StatedUncertainty]:
    """What the budgets of one method state at a moment; one query."""
    return stated(budgets_in_force([slug], at)[slug])


class BudgetVersions:
    """Every version of the budgets of some methods, asked for one moment after another; one query in all."""

    def __init__(self, slugs: Iterable[str]) -> None:
        rows = UncertaintyBudget.objects.filter(method_slug__in=set(slugs)).order_by("version")
        self._rows = list(rows)

    def at(self, slug: str, moment: datetime) -> dict[str, StatedUncertainty]:
        """What the method's budgets state at the moment."""
        held = [row for row in self._rows if row.method_slug == slug and row.made_at <= moment]
        return stated({row.quantity_key: row for row in held})


@dataclass(frozen=True, slots=True)
class UncertainFigure:
    """A figure of a trial with its uncertainty, for screen and paper.

    `recorded` has the digits as recorded, `value` is rounded to match the uncertainty that stands beside it; `version`
    is the budget's, 0 where the laboratory's own figures state the uncertainty.
    """

    key: str
    title: str
    recorded: str
    value: str
    coverage: str
    version: int


def uncertain_figures(trial: Trial, verdict: Verdict, budgets: Stated) -> tuple[UncertainFigure, ...]:
    """The numeric figures of a verdict whose uncertainty is stated; `budgets` are those in force at the opening.

    A figure that the decision rule judges carries the uncertainty it was judged with. No query.
    """
    if known_edition(trial.method_key) is None:
        return ()
    edition = trial_edition(trial)
    kinds = {kind.key: kind for kind in numeric_quantities(edition)}
    found = []
    for one in verdict.quantities:
        if one.value is None or one.key not in kinds:
            continue
        known = uncertainty_of(edition, kinds[one.key], budgets.get(one.key))
        if known is not None:
            found.append(
                UncertainFigure(
                    key=one.key,
                    title=one.title,
                    recorded=f"{one.text} {one.unit}",
                    value=known.printed_value(one.value),
                    coverage=known.printed_coverage,
                    version=known.version,
                )
            )
    return tuple(found)


def slug_of(trial: Trial) -> str:
    """The method of a trial, whatever its edition."""
    edition = known_edition(trial.method_key)
    return trial.method_key.partition("@")[0] if edition is None else edition.slug


@dataclass(frozen=True, slots=True)
class QuantityRow:
    """One figure of an edition on the method's page, with its budget in force where it has one.

    `judged` says that a decision rule sets it against a limit.
    """

    kind: QuantityKind
    row: UncertaintyBudget | None
    stated: StatedUncertainty | None
    judged: bool


@dataclass(frozen=True, slots=True)
class BudgetVersion:
    """One version of a budget, reckoned anew from its rows for the table."""

    row: UncertaintyBudget
    budget: Budget
    formula: str


@dataclass(frozen=True, slots=True)
class BudgetPage:
    """The budget of one figure: the version shown, which one holds, and all versions, newest first."""

    edition: MethodEdition
    kind: QuantityKind
    shown: BudgetVersion | None
    newest: int
    versions: tuple[UncertaintyBudget, ...]


def quantity_rows(edition: MethodEdition, at: datetime) -> tuple[QuantityRow, ...]:
    """The figures of an edition with their budgets at a moment; one query."""
    rows = budgets_in_force([edition.slug], at)[edition.slug]
    told = stated(rows)
    judged = {limit.quantity for limit in edition.decided_limits}
    kinds = {kind.key: kind for kind in numeric_quantities(edition)}  # a figure may head two tables
    return tuple(QuantityRow(kind, rows.get(key), told.get(key), key in judged) for key, kind in kinds.items())


def quantity_kind(edition: MethodEdition, key: str) -> QuantityKind | None:
    """A figure of the edition that a budget can belong to, or None."""
    return next((kind for kind in numeric_quantities(edition) if kind.key == key), None)


def budget_page(edition: MethodEdition, kind: QuantityKind, version: int | None, at: datetime) -> BudgetPage:
    """The budget of one figure, the version asked for or the one in force at `at`; none shown of one never made."""
    rows = UncertaintyBudget.objects.filter(method_slug=edition.slug, quantity_key=kind.key, made_at__lte=at)
    versions = tuple(rows.select_related("made_by").order_by("-version"))
    newest = versions[0].version if versions else 0
    asked = next((row for row in versions if row.version == (version or newest)), None)
    return BudgetPage(edition, kind, None if asked is None else _version(asked), newest, versions)


def newest_version(slug: str, quantity: str) -> UncertaintyBudget | None:
    """The newest version of a budget, or None."""
    rows = UncertaintyBudget.objects.filter(method_slug=slug, quantity_key=quantity)
    return rows.order_by("-version").first()


def _version(row: UncertaintyBudget) -> BudgetVersion:
    budget = reckoned_budget(contributions(row.rows), level=row.level, shape=row.shape)
    return BudgetVersion(row, budget, FORMULAS[budget.shape])

"""Making a version of the uncertainty budget of a quantity; earlier ones stay and hold for what they held for."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from django.db import IntegrityError, transaction

from calibration.domain.budget_file import MOST_ROWS
from calibration.domain.budgets import Budget, reckoned_budget
from calibration.domain.contributions import BudgetError, contributions
from calibration.domain.figures import digits
from calibration.domain.rounding import rounded_uncertainty
from labsite.ledger.actions import record_entry
from labsite.ledger.models import Role, User
from labsite.ledger.refusals import Refused
from trials.domain.stated_uncertainty import reckoned_figure
from trials.models import UncertaintyBudget
from trials.queries.budgets import newest_version, quantity_kind
from trials.queries.methods import edition_by_key

MAKERS = (Role.LEAD, Role.QUALITY)


@transaction.atomic
def make_budget(
    *,
    by: User,
    at: datetime,
    method_key: str,
    quantity: str,
    unit: str,
    version_seen: int,
    rows: Sequence[Mapping[str, Any]],
    level: str,
    shape: str,
    reason: str,
) -> UncertaintyBudget:
    """Make the next version of the budget of a method's quantity; it holds for trials opened from now on.

    `rows` are those of `contributions`, numbers as texts. Refused, and nothing written, for a unit that is not the
    quantity's, for rows that cannot be reckoned, without a reason, when nothing differs from the version in force, and
    when somebody else made one meanwhile (`version_seen` is not the newest).
    """
    edition = edition_by_key(method_key)
    kind = quantity_kind(edition, quantity)
    if kind is None:
        raise Refused(f"{edition.short_standard} has no figure {quantity[:40]!r} that a budget could belong to.")
    if not by.may(*MAKERS):
        raise Refused("Only a lead or the quality keeper makes an uncertainty budget.")
    if unit != kind.unit:
        raise Refused(
            f"{kind.title} is in {kind.unit}; a budget in {unit or 'no unit'} is not its uncertainty.", field="unit"
        )
    if not reason.strip():
        raise Refused("A new version needs its reason.", field="reason")
    if len(rows) > MOST_ROWS:
        raise Refused(f"A budget has at most {MOST_ROWS} rows; this has {len(rows)}.")
    budget = _reckoned(rows, level, shape)
    before = newest_version(edition.slug, quantity)
    newest = 0 if before is None else before.version
    if newest != version_seen:
        raise _made_meanwhile(newest)
    kept = [dict(row) for row in rows]
    if before is not None and (before.rows, before.level, before.shape) == (kept, level, shape):
        raise Refused(f"Nothing is changed: these are the rows of version {newest}.")
    try:
        with transaction.atomic():
            made = UncertaintyBudget.objects.create(
                method_slug=edition.slug,
                quantity_key=quantity,
                version=newest + 1,
                unit=unit,
                rows=kept,
                level=level,
                shape=shape,
                reason=reason.strip(),
                made_at=at,
                made_by=by,
                **_figures(budget),
            )
    except IntegrityError as taken:  # two people at the same moment: the database lets one through
        raise _made_meanwhile(newest + 1) from taken
    data = {
        "quantity": quantity,
        "before": None if before is None else _told(before),
        "after": _told(made),
        "reason": made.reason,
    }
    record_entry(book=f"method:{method_key}", act="made an uncertainty budget", by=by, at=at, data=data)
    return made


def _reckoned(rows: Sequence[Mapping[str, Any]], level: str, shape: str) -> Budget:
    try:
        return reckoned_budget(contributions(rows), level=level, shape=shape)
    except BudgetError as wrong:
        field = wrong.member if wrong.row is None else f"{wrong.row}-{wrong.member}"
        raise Refused(str(wrong), field=field) from wrong


def _figures(budget: Budget) -> dict[str, Any]:
    """What the rows came to, each with the digits it enters judging with."""
    effective = budget.effective_degrees
    return {
        "standard_uncertainty": reckoned_figure(budget.standard_uncertainty),
        "effective_degrees": None if effective is None else reckoned_figure(effective),
        "coverage_factor": reckoned_figure(budget.coverage_factor),
        "expanded_uncertainty": reckoned_figure(budget.expanded_uncertainty),
    }


def _told(row: UncertaintyBudget) -> dict[str, Any]:
    return {
        "version": row.version,
        "rows": row.rows,
        "level": row.level,
        "shape": row.shape,
        "coverage_factor": digits(row.coverage_factor),
        "expanded_uncertainty": f"{digits(rounded_uncertainty(row.expanded_uncertainty))} {row.unit}",
    }


def _made_meanwhile(version: int) -> Refused:
    return Refused(
        f"Somebody made version {version} since this page was opened. What you typed stands below; look at version "
        f"{version} first, then press again."
    )

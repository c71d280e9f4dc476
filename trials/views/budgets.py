"""Uncertainty budgets of a method's figures: the version that holds, every earlier one, and a new one."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from calibration.domain.budget_file import MOST_ROWS
from calibration.domain.rounding import rounded_uncertainty, shown_factor
from calibration.views.as_of import moment_asked
from labsite.ledger.attempts import attempt
from trials.actions.budgets import make_budget
from trials.domain.methods.base import MethodEdition
from trials.domain.statements import QuantityKind
from trials.forms.budgets import BudgetForm, BudgetRows, distribution_words, more_rows, shape_words, shown_rows
from trials.queries.budgets import BudgetVersion, budget_page, newest_version, quantity_kind
from trials.queries.method_page import may_revise
from trials.queries.methods import known_edition
from trials.rendering.shares import share_bars


def budget(request: HttpRequest, edition_key: str, quantity: str, version: int = 0) -> HttpResponse:
    """The budget of one figure, the version in force or the one asked for."""
    edition, kind = _figure(edition_key, quantity)
    page = budget_page(edition, kind, version or None, moment_asked(request))
    if version and page.shown is None:
        raise Http404
    context = {"page": page, "may_make": may_revise(request.user), **({} if page.shown is None else _shown(page.shown))}
    return render(request, "trials/budget.html", context)


def budget_new(request: HttpRequest, edition_key: str, quantity: str) -> HttpResponse:
    """A lead or the quality keeper makes the next version; its rows begin as those of the newest."""
    edition, kind = _figure(edition_key, quantity)
    newest = newest_version(edition.slug, kind.key)
    rows_before = [] if newest is None else newest.rows
    if request.method != "POST":
        begin = {"version_seen": 0, "unit": kind.unit}
        if newest is not None:
            begin |= {"version_seen": newest.version, "level": newest.level, "shape": newest.shape}
        return _form_page(request, edition, kind, BudgetForm(initial=begin), shown_rows(rows_before))
    if "more" in request.POST:
        return _form_page(request, edition, kind, BudgetForm(initial=request.POST.dict()), more_rows(request.POST))
    form = BudgetForm(request.POST)
    rows = BudgetRows(request.POST, prefix="rows", form_kwargs={"as_read": _figures(rows_before)})
    if form.is_valid() and rows.is_valid():
        made = attempt(
            form, make_budget, by=request.user, at=timezone.now(), method_key=edition_key, quantity=quantity,
            rows=rows.typed(), **form.cleaned_data,
        )  # fmt: skip
        if made is not None:
            messages.success(request, f"Version {made.version} holds for trials opened from now on.")
            return redirect("trials:budget", edition_key, quantity)
        if newest is not None and form.cleaned_data["version_seen"] != newest.version:
            form.data = {**request.POST.dict(), "version_seen": str(newest.version)}
    return _form_page(request, edition, kind, form, rows, status=422)


def _figure(edition_key: str, quantity: str) -> tuple[MethodEdition, QuantityKind]:
    edition = known_edition(edition_key)
    kind = None if edition is None else quantity_kind(edition, quantity)
    if edition is None or kind is None:
        raise Http404
    return edition, kind


def _shown(version: BudgetVersion) -> dict[str, Any]:
    """What the template says of one version, rounded for print."""
    row, budget = version.row, version.budget
    table = [
        {
            "share": one,
            "kind": distribution_words(one.row.distribution),
            "uncertainty": _two_digits(one.standard_uncertainty),
            "contribution": _two_digits(abs(one.contribution)),
        }
        for one in budget.shares
    ]
    return {
        "table": table,
        "bars": share_bars(budget.shares),
        "u": _two_digits(budget.standard_uncertainty),
        "k": shown_factor(row.coverage_factor),
        "expanded": f"{_two_digits(row.expanded_uncertainty)} {row.unit}",
        "rest": None if budget.rest is None else f"{budget.rest * 100:.0f} %",
    }


def _two_digits(value: Any) -> str:
    return format(rounded_uncertainty(value), "f") if value else "0"


def _figures(rows: list[dict[str, Any]]) -> frozenset[str]:
    """The numbers of a version: left as they are shown they are that number."""
    return frozenset(text for row in rows for text in row.values() if isinstance(text, str))


def _form_page(
    request: HttpRequest, edition: MethodEdition, kind: QuantityKind, form: BudgetForm, rows: Any, status: int = 200
) -> HttpResponse:
    context = {
        "edition": edition,
        "kind": kind,
        "form": form,
        "rows": rows,
        "wrong_cells": [
            (number, cell) for number, row in enumerate(rows, 1) if rows.is_bound for cell in row if cell.errors
        ],
        "more": rows.total_form_count() < MOST_ROWS,
        "shapes": shape_words(),
    }
    return render(request, "trials/budget_new.html", context, status=status)

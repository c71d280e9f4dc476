"""Entering a calibration, deciding on it, reading its certificate."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from calibration.actions.calibrations import decide_calibration, enter_calibration
from calibration.forms.calibrations import MOST_POINTS, ROWS_AT_ONCE, CalibrationForm, DecisionForm, PointRows
from calibration.queries import instruments as queries
from calibration.queries.interval_review import offered_interval
from calibration.rendering.points import point_groups
from labsite.ledger.attempts import attempt
from labsite.ledger.downloads import file_response
from labsite.ledger.wording import mid_sentence


def calibration_new(request: HttpRequest, number: str) -> HttpResponse:
    """Enter a calibration with its certificate and, where wanted, its points."""
    one = get_object_or_404(queries.all_instruments(), number=number)
    if request.method != "POST":
        form = CalibrationForm(initial=offered_interval(one, timezone.now()))
        return _form_page(request, one, form, PointRows(prefix="points"))
    if "more" in request.POST:
        return _with_more_rows(request, one)
    form, rows = CalibrationForm(request.POST, request.FILES), PointRows(request.POST, prefix="points")
    if form.is_valid() and rows.is_valid():
        made = attempt(
            form,
            enter_calibration,
            by=request.user,
            at=timezone.now(),
            instrument=one,
            points=rows.typed(),
            **form.cleaned_data,
        )
        if made is not None:
            messages.success(request, "The calibration is entered. Until somebody decides on it, the instrument waits.")
            return redirect("calibration:instrument", one.number)
    return _form_page(request, one, form, rows, status=422)


def decide(request: HttpRequest, pk: int) -> HttpResponse:
    """Accept or reject a calibration's figures."""
    calibration = get_object_or_404(queries.calibrations_with_instruments(), pk=pk)
    form = DecisionForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = attempt(
            form, decide_calibration, by=request.user, at=timezone.now(), calibration=calibration, **form.cleaned_data
        )
        if made is not None:
            word = mid_sentence(made.get_decision_display())
            messages.success(request, f"The calibration of {calibration.instrument.code} is decided: {word}.")
            return redirect("calibration:instrument", calibration.instrument.number)
    context = {
        "form": form,
        "calibration": calibration,
        "instrument": calibration.instrument,
        "groups": point_groups(calibration.points.all()),
    }
    return render(request, "calibration/decide.html", context, status=422 if form.errors else 200)


def certificate_file(request: HttpRequest, pk: int) -> HttpResponse:
    """The certificate as it was kept."""
    return file_response(get_object_or_404(queries.certificate_file(pk)))


def _form_page(request: HttpRequest, one: Any, form: CalibrationForm, rows: Any, status: int = 200) -> HttpResponse:
    upload = request.FILES.get("certificate")
    context = {
        "instrument": one,
        "form": form,
        "rows": rows,
        "wrong_cells": [
            (number, cell) for number, row in enumerate(rows, 1) if rows.is_bound for cell in row if cell.errors
        ],
        "file_again": upload.name if upload else "",
        "more": rows.total_form_count() < MOST_POINTS,
    }
    return render(request, "calibration/calibration_form.html", context, status=status)


def _with_more_rows(request: HttpRequest, one: Any) -> HttpResponse:
    """The same page with more rows; nothing typed is judged yet and nothing is lost."""
    typed = request.POST
    bound = PointRows(typed, prefix="points")
    initial = [{name: typed.get(row.add_prefix(name), "") for name in row.fields} for row in bound.forms]
    rows = PointRows(initial=initial, prefix="points")
    rows.extra = min(ROWS_AT_ONCE, MOST_POINTS - len(initial))
    return _form_page(request, one, CalibrationForm(initial=typed.dict()), rows)

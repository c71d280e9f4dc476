"""Entering a calibration, deciding on it, reading its certificate."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from calibration.actions.calibrations import decide_calibration, enter_calibration
from calibration.forms.calibrations import (
    MOST_POINTS,
    ROWS_AT_ONCE,
    CalibrationForm,
    DecisionForm,
    PointRows,
    typed_forms,
)
from calibration.forms.digital_certificates import DataFileForm, filled_forms
from calibration.queries import instruments as queries
from calibration.queries.acceptance import acceptance_of
from calibration.queries.correction_changes import changed_corrections
from calibration.queries.data_files import beside_data_file
from calibration.queries.interval_review import offered_interval
from labsite.ledger.attempts import attempt
from labsite.ledger.downloads import file_response
from labsite.ledger.wording import mid_sentence


def calibration_new(request: HttpRequest, number: str) -> HttpResponse:
    """Enter a calibration with its certificate and, where wanted, its points."""
    one = get_object_or_404(queries.all_instruments(), number=number)
    if request.method != "POST":
        form = CalibrationForm(initial=offered_interval(one, timezone.now()))
        return _form_page(request, one, form, PointRows(prefix="points", form_kwargs={"kind": one.kind}))
    data = DataFileForm(request.POST, request.FILES, instrument=one)
    if "more" in request.POST or "leave_out" in request.POST:
        return _as_typed(request, one, data)
    if not data.is_valid() or "read" in request.POST or data.unseen:
        return _with_figures(request, one, data)
    form = CalibrationForm(request.POST, request.FILES)
    rows = PointRows(request.POST, prefix="points", form_kwargs={"kind": one.kind, "as_read": data.figures})
    if form.is_valid() and rows.is_valid():
        made = attempt(
            form,
            enter_calibration,
            by=request.user,
            at=timezone.now(),
            instrument=one,
            points=rows.typed(),
            data_file=data.file,
            **form.cleaned_data,
        )
        if made is not None:
            messages.success(request, "The calibration is entered. Until somebody decides on it, the instrument waits.")
            return redirect("calibration:instrument", one.number)
    return _form_page(request, one, form, rows, status=422, data=data)


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
        "beside": beside_data_file(calibration),
        "checks": acceptance_of(calibration, timezone.now()) if calibration.awaits else None,
        "changes": changed_corrections(calibration, timezone.now()) if calibration.awaits else (),
    }
    return render(request, "calibration/decide.html", context, status=422 if form.errors else 200)


def certificate_file(request: HttpRequest, pk: int) -> HttpResponse:
    """The certificate as it was kept."""
    return file_response(get_object_or_404(queries.certificate_file(pk)))


def data_file(request: HttpRequest, pk: int) -> HttpResponse:
    """The digital certificate as it was kept."""
    return file_response(get_object_or_404(queries.data_file(pk)))


def _form_page(
    request: HttpRequest, one: Any, form: CalibrationForm, rows: Any, status: int = 200, **more: Any
) -> HttpResponse:
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
        "data": DataFileForm(instrument=one),
    } | more
    return render(request, "calibration/calibration_form.html", context, status=status)


def _with_figures(request: HttpRequest, one: Any, data: DataFileForm) -> HttpResponse:
    """The same page with a digital certificate's figures to look at; nothing is kept yet, nothing typed is lost."""
    if data.is_valid() and data.file is not None:
        form, rows, differences = filled_forms(request.POST.dict(), data.file, one.kind, before=data.before)
        return _form_page(request, one, form, rows, data=data, differences=differences)
    if data.is_valid():
        data.add_error("data_file", "Choose the digital certificate’s XML file first.")
    form, rows = typed_forms(request.POST.dict(), one.kind)
    return _form_page(request, one, form, rows, status=422, data=data)


def _as_typed(request: HttpRequest, one: Any, data: DataFileForm) -> HttpResponse:
    """The same page with more rows, or without its digital certificate; nothing typed is judged or lost."""
    more = "more" in request.POST
    form, rows = typed_forms(request.POST.dict(), one.kind, more_rows=ROWS_AT_ONCE if more else 0)
    return _form_page(request, one, form, rows, data=data if more and data.is_valid() else DataFileForm(instrument=one))

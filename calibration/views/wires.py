"""The wires of a rig: the one fitted, what was done to it, and those before it."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from calibration.actions import wires as actions
from calibration.forms.wires import CleanForm, FitWireForm, MeasureForm
from calibration.queries import wires as queries
from calibration.queries.known_facts import rig_then
from calibration.views.as_of import as_of
from labsite.ledger.attempts import attempt


def wires(request: HttpRequest, code: str) -> HttpResponse:
    """The wire on the rig, its care, and the wires before it."""
    return _page(request, code)


def fit(request: HttpRequest, code: str) -> HttpResponse:
    """Fit a wire in place of the present one."""
    rig = get_object_or_404(queries.glow_wire_rigs(), code=code)
    if request.method != "POST":
        return redirect("calibration:wires", code)
    present = queries.wire_on(rig.pk, timezone.now())
    form = FitWireForm(request.POST, present=present is not None)
    if form.is_valid():
        made = attempt(form, actions.fit_wire, by=request.user, at=timezone.now(), rig=rig, **form.cleaned_data)
        if made is not None:
            messages.success(request, f"Wire {made.code} is fitted to {rig.code}. Make the foil check before use.")
            return redirect("calibration:wires", code)
    return _page(request, code, fit=form)


def clean(request: HttpRequest, code: str) -> HttpResponse:
    """Record a cleaning."""
    return _care(request, code, "clean", CleanForm, actions.clean_wire, "The cleaning is recorded.")


def measure(request: HttpRequest, code: str) -> HttpResponse:
    """Record a measure of the tip."""
    return _care(request, code, "measure", MeasureForm, actions.measure_tip, "The measure is recorded.")


def _care(
    request: HttpRequest,
    code: str,
    name: str,
    form_class: type[forms.Form],
    action: Callable[..., Any],
    done: str,
) -> HttpResponse:
    """One thing done to the wire that is fitted now."""
    rig = get_object_or_404(queries.glow_wire_rigs(), code=code)
    if request.method != "POST":
        return redirect("calibration:wires", code)
    form, wire = form_class(request.POST), queries.wire_on(rig.pk, timezone.now())
    if wire is None:
        messages.error(request, f"No wire is fitted to {rig.code}; fit one first.")
        return redirect("calibration:wires", code)
    if form.is_valid():
        made = attempt(form, action, by=request.user, at=timezone.now(), wire=wire, **form.cleaned_data)
        if made is not None:
            messages.success(request, done)
            return redirect("calibration:wires", code)
    return _page(request, code, **{name: form})


def _page(request: HttpRequest, code: str, **came_back: forms.Form) -> HttpResponse:
    """The page with the form that came back beside fresh ones."""
    asked, rig = as_of(request), get_object_or_404(queries.glow_wire_rigs(), code=code)
    rig = rig_then(rig, asked.at) if asked.past else rig
    every = queries.wires_of(rig, asked.at)
    present = next((wire for wire in every if wire.removed_at is None), None)
    fresh = FitWireForm(present=present is not None, initial={"seen_wire": None if present is None else present.pk})
    context = {
        "as_of": asked,
        "rig": rig,
        "present": present,
        "care": [] if present is None else queries.care_of(present, asked.at)[::-1],
        "before": [wire for wire in every if wire.removed_at is not None],
        "fit_form": came_back.get("fit", fresh),
        "clean_form": came_back.get("clean", CleanForm()),
        "measure_form": came_back.get("measure", MeasureForm()),
        "form": next(iter(came_back.values()), None),
        "may_handle": queries.may_handle_wires(request.user) and not asked.past,
    }
    return render(request, "calibration/wires.html", context, status=422 if came_back else 200)

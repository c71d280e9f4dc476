"""Setting and ending what is permitted of an instrument."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from calibration.actions.limits import end_limit, set_limit
from calibration.domain.conformity import class_limit
from calibration.forms.limits import EndLimitForm, LimitForm, offered
from calibration.queries import instruments as queries
from calibration.queries.limits import error_limit, instrument_limits, limits_with_people
from labsite.ledger.attempts import attempt


def limit_new(request: HttpRequest, number: str) -> HttpResponse:
    """State the largest error permitted in one unit, beginning with what holds now or with a tolerance class."""
    one = get_object_or_404(queries.all_instruments(), number=number)
    form = LimitForm(request.POST or None, kind=one.kind, initial=_begun_with(request, one))
    if request.method == "POST" and form.is_valid():
        made = attempt(form, set_limit, by=request.user, at=timezone.now(), instrument=one, **form.stated())
        if made is not None:
            messages.success(request, f"{one.code} is judged by this limit in {made.unit} from now on.")
            return redirect("calibration:instrument", one.number)
    classes = [("1", "2", "3")[at] for at in range(3) if class_limit(one.thermocouple_type, str(at + 1))]
    context = {"form": form, "instrument": one, "classes": classes}
    return render(request, "calibration/limit_form.html", context, status=422 if form.errors else 200)


def limit_end(request: HttpRequest, pk: int) -> HttpResponse:
    """End a limit; what was stays in the history."""
    limit = get_object_or_404(limits_with_people(), pk=pk)
    one = limit.instrument
    form = EndLimitForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = attempt(form, end_limit, by=request.user, at=timezone.now(), limit=limit, **form.cleaned_data)
        if made is not None:
            messages.success(request, f"The limit of {one.code} in {limit.unit} is ended.")
            return redirect("calibration:instrument", one.number)
    words = "" if limit.ended else error_limit(limit).words
    context = {"form": form, "limit": limit, "words": words, "instrument": one}
    return render(request, "calibration/limit_end.html", context, status=422 if form.errors else 200)


def _begun_with(request: HttpRequest, one: Any) -> dict[str, str]:
    """The tolerance class asked for, else the limit that holds in the unit asked for, else nothing."""
    of_class = class_limit(one.thermocouple_type, request.GET.get("class", ""))
    if of_class is not None:
        return offered(of_class)
    held = instrument_limits(one, timezone.now()).in_force.get(request.GET.get("unit", ""))
    if held is None:
        return {}
    more = {"guard_factor": held.guard_factor, "drift_allowance": held.drift_allowance}
    texts = {name: format(value, "f") for name, value in more.items() if value is not None}
    return offered(error_limit(held), held.decision_rule) | texts

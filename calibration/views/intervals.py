"""The interval review of an instrument: the proposal, the drift, and the decision of a person."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.safestring import mark_safe

from calibration.actions.intervals import decide_interval
from calibration.domain.interval_policy import CERTAINTY, POLICY
from calibration.forms.intervals import IntervalForm
from calibration.queries import instruments as queries
from calibration.queries.interval_review import interval_review
from calibration.queries.usability import usability
from calibration.rendering.drift_forecast import forecast_plot
from labsite.ledger.attempts import attempt


def interval(request: HttpRequest, pk: int) -> HttpResponse:
    """Decide on the interval of a calibration, with its history in sight."""
    at = timezone.now()
    calibration = get_object_or_404(queries.calibrations_with_instruments(), pk=pk)
    one = calibration.instrument
    answer = usability(one, at)
    review = interval_review(one, queries.calibration_history(one, at), answer.calibration_id, at)
    if review is None or review.calibration.pk != pk:
        context = {"instrument": one, "calibration": calibration, "answer": answer}
        return render(request, "calibration/interval.html", context)
    found = review.proposal
    form = IntervalForm(request.POST or None, present=found.present, proposed=found.interval, unit=found.unit)
    if request.method == "POST" and form.is_valid():
        made = attempt(form, decide_interval, by=request.user, at=at, calibration=calibration, **form.decided())
        if made is not None:
            words = f"{made.interval} {made.interval_unit}"
            messages.success(request, f"The interval of {one.code} is {words} from now on.")
            return redirect("calibration:instrument", one.number)
    context = {
        "instrument": one,
        "calibration": review.calibration,
        "answer": answer,
        "review": review,
        "plots": forecast_plots(review.proposal.forecasts, one.code),
        "policy": POLICY,
        "certainty": CERTAINTY,
        "form": form,
    }
    return render(request, "calibration/interval.html", context, status=422 if form.errors else 200)


def forecast_plots(forecasts: Any, code: str) -> list[Any]:
    """Each forecast with its drawing."""
    return [
        (one, mark_safe(forecast_plot(one, code=code)))  # noqa: S308  (every text in it is escaped)
        for one in forecasts
    ]

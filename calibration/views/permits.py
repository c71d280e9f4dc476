"""Permits to use overdue instruments: giving one, and all of them for review."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from calibration.actions.permits import LONGEST_DAYS, permit_use
from calibration.domain.status import Status
from calibration.forms.permits import PermitForm
from calibration.queries import instruments as queries
from calibration.queries.permits import permits_known
from calibration.queries.usability import usability
from calibration.views.as_of import as_of
from labsite.ledger.attempts import attempt


def permit_new(request: HttpRequest, number: str) -> HttpResponse:
    """Let an overdue instrument be used to the end of a day."""
    one = get_object_or_404(queries.all_instruments(), number=number)
    form = PermitForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = attempt(form, permit_use, by=request.user, at=timezone.now(), instrument=one, **form.cleaned_data)
        if made is not None:
            messages.success(request, f"{one.code} may be used; every trial with it will say by whose permit.")
            return redirect("calibration:instrument", one.number)
    answer = usability(one, timezone.now())
    context = {
        "form": form,
        "instrument": one,
        "answer": answer,
        "overdue": answer.status in (Status.OVERDUE, Status.PERMITTED),
        "longest_days": LONGEST_DAYS,
    }
    return render(request, "calibration/permit.html", context, status=422 if form.errors else 200)


def permits(request: HttpRequest) -> HttpResponse:
    """Every permit, latest first, for the review."""
    moment = as_of(request)
    return render(request, "calibration/permits.html", {"permits": permits_known(moment.at), "as_of": moment})

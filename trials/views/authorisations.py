"""Who may do what by which method edition, now or on any day."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from labsite.ledger.attempts import attempt
from labsite.ledger.wording import mid_sentence
from trials.actions import authorisations as actions
from trials.forms.authorisations import DayOfViewForm, EndForm, GrantForm
from trials.queries import authorisations as queries


def authorisations(request: HttpRequest) -> HttpResponse:
    """The matrix as of a day, and the form to grant one."""
    return _page(request, GrantForm(initial={"from_on": queries.today(timezone.now())}))


@require_POST
def grant(request: HttpRequest) -> HttpResponse:
    """Grant one."""
    form = GrantForm(request.POST)
    if form.is_valid():
        row = attempt(form, actions.grant_authorisation, by=request.user, at=timezone.now(), **form.cleaned_data)
        if row is not None:
            messages.success(request, f"{row.person} is authorised: {mid_sentence(row.get_activity_display())}.")
            return redirect("trials:authorisations")
    return _page(request, form)


def end(request: HttpRequest, pk: int) -> HttpResponse:
    """End one before its last day."""
    row = get_object_or_404(queries.authorisations(), pk=pk)
    form = EndForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        ended = attempt(
            form, actions.end_authorisation, authorisation=row, by=request.user, at=timezone.now(), **form.cleaned_data
        )
        if ended is not None:
            messages.success(request, f"The authorisation of {row.person} is ended.")
            return redirect("trials:authorisations")
    shown = {"row": row, "words": queries.words_of(row), "form": form}
    return render(request, "trials/authorisation_end.html", shown, status=422 if form.errors else 200)


def _page(request: HttpRequest, form: GrantForm) -> HttpResponse:
    now = timezone.now()
    view = DayOfViewForm(request.GET if "on" in request.GET else {})
    on = view.cleaned_data["on"] if view.is_valid() else None
    at = queries.moment_of_view(on, now)
    context: dict[str, Any] = {
        "form": form,
        "view": view,
        "on": on if at != now else None,
        "parts": queries.authorisation_matrix(at),
        "counted": len(queries.standing_authorisations(at)) if at == now else None,
        "may_grant": queries.may_grant(request.user),
        "granters": queries.granters(),
    }
    return render(request, "trials/authorisations.html", context, status=422 if form.errors or view.errors else 200)

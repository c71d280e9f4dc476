"""The first page of a fresh installation."""

from django.contrib.auth import login
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from labsite import actions
from labsite.forms import FirstRunForm
from labsite.ledger.attempts import attempt
from labsite.ledger.queries import laboratory_or_none


def first_run(request: HttpRequest) -> HttpResponse:
    """Name the laboratory and its first administrator; gone once that is done."""
    if laboratory_or_none() is not None:
        raise Http404
    form = FirstRunForm(request.POST or None, initial={"zone": "Europe/Berlin", "language": "en"})
    if request.method == "POST" and form.is_valid():
        person = attempt(form, actions.found_laboratory, at=timezone.now(), **form.cleaned_data)
        if person is not None:
            login(request, person, backend="allauth.account.auth_backends.AuthenticationBackend")
            return redirect("laboratory")
    return render(request, "labsite/first_run.html", {"form": form}, status=422 if form.errors else 200)

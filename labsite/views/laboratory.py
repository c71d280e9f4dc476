"""The laboratory's own facts."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from labsite import actions, queries
from labsite.forms import LaboratoryForm
from labsite.ledger.attempts import attempt
from labsite.ledger.downloads import file_response
from labsite.ledger.queries import the_laboratory

FACTS = (
    "name", "address", "zone", "language", "accreditation_number", "accreditation_body", "e_n_one_is_action", "version",
)  # fmt: skip


def overview(request: HttpRequest) -> HttpResponse:
    """Facts, people with their roles, and places."""
    context = {"people": queries.people_with_roles(), "all_places": queries.all_places()}
    return render(request, "labsite/laboratory.html", context)


def edit_laboratory(request: HttpRequest) -> HttpResponse:
    """Change the facts."""
    laboratory = the_laboratory()
    initial = {key: getattr(laboratory, key) for key in FACTS}
    form = LaboratoryForm(request.POST or None, request.FILES or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        changed = attempt(form, actions.change_laboratory, by=request.user, at=timezone.now(), **form.cleaned_data)
        if changed is not None:
            messages.success(
                request, "The laboratory’s facts are changed. Certificates already issued stay as they are."
            )
            return redirect("laboratory")
    return render(request, "labsite/laboratory_edit.html", {"form": form}, status=422 if form.errors else 200)


def accreditation_mark(request: HttpRequest) -> HttpResponse:
    """The mark's picture."""
    mark = the_laboratory().accreditation_mark
    if mark is None:
        raise Http404
    return file_response(mark)

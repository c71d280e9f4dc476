"""People and their roles."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from labsite import actions, queries
from labsite.forms import PersonChangeForm, PersonForm
from labsite.ledger.attempts import attempt


def add_person(request: HttpRequest) -> HttpResponse:
    """Enter a person."""
    form = PersonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        facts = {key: value for key, value in form.cleaned_data.items() if key != "is_active"}
        person = attempt(form, actions.add_person, by=request.user, at=timezone.now(), **facts)
        if person is not None:
            messages.success(request, f"{person.full_name} may sign in as {person.username}.")
            return redirect("laboratory")
    return render(request, "labsite/person.html", {"form": form}, status=422 if form.errors else 200)


def edit_person(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a person's name, roles, or whether they sign in."""
    person = get_object_or_404(queries.people_with_roles(), pk=pk)
    initial = {
        "full_name": person.full_name,
        "email": person.email,
        "roles": sorted(person.roles),
        "is_active": person.is_active,
    }
    form = PersonChangeForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        changed = attempt(
            form, actions.change_person, by=request.user, at=timezone.now(), person=person, **form.cleaned_data
        )
        if changed is not None:
            messages.success(request, f"{changed.full_name} is changed.")
            return redirect("laboratory")
    return render(request, "labsite/person.html", {"form": form, "person": person}, status=422 if form.errors else 200)

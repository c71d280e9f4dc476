"""Places where things can be."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from labsite import actions, queries
from labsite.forms import PlaceChangeForm, PlaceForm
from labsite.ledger.attempts import attempt


def add_place(request: HttpRequest) -> HttpResponse:
    """Enter a place."""
    form = PlaceForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        place = attempt(form, actions.add_place, by=request.user, at=timezone.now(), **form.cleaned_data)
        if place is not None:
            messages.success(request, f"{place.code} is entered.")
            return redirect("laboratory")
    return render(request, "labsite/place.html", {"form": form}, status=422 if form.errors else 200)


def edit_place(request: HttpRequest, pk: int) -> HttpResponse:
    """Rename a place or take it out of use."""
    place = get_object_or_404(queries.all_places(), pk=pk)
    form = PlaceChangeForm(request.POST or None, initial={"name": place.name, "in_use": place.in_use})
    if request.method == "POST" and form.is_valid():
        changed = attempt(
            form, actions.change_place, by=request.user, at=timezone.now(), place=place, **form.cleaned_data
        )
        if changed is not None:
            messages.success(request, f"{changed.code} is changed.")
            return redirect("laboratory")
    return render(request, "labsite/place.html", {"form": form, "place": place}, status=422 if form.errors else 200)

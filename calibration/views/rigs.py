"""Rigs and what is mounted on them."""

from django.contrib import messages
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from calibration.actions import rigs as actions
from calibration.forms.instruments import MountForm, RigChangeForm, RigForm
from calibration.queries import rigs as queries
from calibration.views.as_of import as_of
from labsite.ledger.attempts import attempt


def rigs(request: HttpRequest) -> HttpResponse:
    """Every rig, and does it stand ready."""
    asked = as_of(request)
    every = queries.rigs_known_at(asked.at) if asked.past else list(queries.all_rigs())
    readiness = queries.rig_readiness(every, asked.at, past=asked.past)
    rows = [(rig, readiness[rig.pk]) for rig in every]
    ready = sum(one.ready for one in readiness.values())
    return render(request, "calibration/rigs.html", {"rows": rows, "ready": ready, "as_of": asked})


def rig(request: HttpRequest, code: str) -> HttpResponse:
    """One rig: what is mounted, and does it stand ready. Mounting is done here."""
    asked, one = as_of(request), get_object_or_404(queries.all_rigs(), code=code)
    if asked.past:
        one = next((rig for rig in queries.rigs_known_at(asked.at) if rig.pk == one.pk), one)
    context = {"page": queries.rig_page(one, asked.at, past=asked.past), "form": MountForm(), "as_of": asked}
    return render(request, "calibration/rig.html", context)


def mount(request: HttpRequest, code: str) -> HttpResponse:
    """Mount an instrument on the rig."""
    one = get_object_or_404(queries.all_rigs(), code=code)
    if request.method != "POST":
        return redirect("calibration:rig", code)
    form = MountForm(request.POST)
    if form.is_valid():
        made = attempt(form, actions.mount_instrument, by=request.user, at=timezone.now(), rig=one, **form.cleaned_data)
        if made is not None:
            messages.success(request, f"{made.instrument.code} is mounted on {one.code}.")
            return redirect("calibration:rig", code)
    context = {"page": queries.rig_page(one, timezone.now()), "form": form}
    return render(request, "calibration/rig.html", context, status=422)


@require_POST
def take_off(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """Take an instrument off the rig."""
    one = get_object_or_404(queries.all_rigs(), code=code)
    mounting = get_object_or_404(queries.mountings_on(one), pk=pk)
    form = Form(request.POST)
    attempt(form, actions.take_off, by=request.user, at=timezone.now(), mounting=mounting)
    for sentence in form.non_field_errors():
        messages.error(request, str(sentence))
    if form.is_valid():
        messages.success(request, f"{mounting.instrument.code} is taken off {one.code}.")
    return redirect("calibration:rig", code)


def rig_new(request: HttpRequest) -> HttpResponse:
    """Enter a rig."""
    form = RigForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = attempt(form, actions.register_rig, by=request.user, at=timezone.now(), **form.cleaned_data)
        if made is not None:
            messages.success(request, f"{made.code} is registered. Mount its instruments and work off its list.")
            return redirect("calibration:rig", made.code)
    return render(request, "calibration/rig_form.html", {"form": form}, status=422 if form.errors else 200)


def rig_edit(request: HttpRequest, code: str) -> HttpResponse:
    """Change a rig."""
    one = get_object_or_404(queries.all_rigs(), code=code)
    initial = {"name": one.name, "place": one.place, "in_use": one.in_use, "version": one.version}
    form = RigChangeForm(request.POST or None, initial=initial, present_place=one.place)
    if request.method == "POST" and form.is_valid():
        made = attempt(form, actions.change_rig, by=request.user, at=timezone.now(), rig=one, **form.cleaned_data)
        if made is not None:
            messages.success(request, f"{made.code} is changed.")
            return redirect("calibration:rig", made.code)
    context = {"form": form, "rig": one}
    return render(request, "calibration/rig_form.html", context, status=422 if form.errors else 200)

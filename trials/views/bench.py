"""The bench: jobs and specimens now, opening a trial, and its set-up and run page."""

from decimal import Decimal, InvalidOperation
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from calibration.queries.checks_due import rig_check_warnings
from labsite.ledger.attempts import attempt
from labsite.ledger.refusals import Refused
from trials.actions import bench as actions
from trials.forms.bench import OpenTrialForm
from trials.forms.setup import SetupForm
from trials.queries import bench as queries
from trials.queries.bench_list import bench_list
from trials.queries.bench_page import page_json, rows_of, trial_phase
from trials.queries.bench_setup import SetupState, setup_json, setup_state
from trials.queries.methods import trial_edition
from trials.queries.opening_page import opening_page
from trials.queries.wire_life import bench_wire_words


def bench(request: HttpRequest) -> HttpResponse:
    """What can be worked on now; a typed or scanned specimen leads to its trial or to opening one."""
    at, typed, refusal = timezone.now(), request.GET.get("number", "").strip(), ""
    if typed:
        try:
            specimen = queries.specimen_by_typing(typed)
            queries.job_of_specimen(specimen)
            standing = queries.open_trial_of(specimen)
            if standing is not None:
                return redirect("trials:bench_setup", standing.pk)
            return redirect("trials:bench_open", specimen.number)
        except Refused as no:
            refusal = no.sentence
    context = {
        "list": bench_list(queries.somebody(request.user), at),
        "typed": typed,
        "refusal": refusal,
        "may_perform": queries.may_perform(request.user),
    }
    return render(request, "trials/bench.html", context, status=422 if refusal else 200)


def bench_open(request: HttpRequest, number: str) -> HttpResponse:
    """Open a trial on one specimen, with the instruments it is done with."""
    at, specimen, refusal, picked = timezone.now(), None, "", None
    try:
        specimen = queries.specimen_by_typing(number)
        job = queries.job_of_specimen(specimen)
    except Refused as no:
        return render(
            request, "trials/bench_refused.html", {"sentence": no.sentence}, status=404 if specimen is None else 409
        )
    if request.GET.get("instrument"):
        try:
            picked = queries.instrument_by_typing(request.GET["instrument"]).pk
        except Refused as no:
            refusal = no.sentence
    page = opening_page(specimen, job, at)
    data = request.POST if request.method == "POST" else None
    form = OpenTrialForm(page.offers, picked, data, levels=page.levels, places=page.places)
    if request.method == "POST" and form.is_valid():
        trial = attempt(form, actions.open_trial, by=request.user, at=at, specimen=specimen, **form.opening())
        if trial is not None:
            return redirect("trials:bench_setup", trial.pk)
    context = {
        "page": page,
        "form": form,
        "refusal": refusal,
        "mine": job.technician_id == request.user.pk,
        "overdue": rig_check_warnings(job.rig, at),
    }
    return render(request, "trials/bench_open.html", context, status=422 if form.errors or refusal else 200)


def bench_setup(request: HttpRequest, pk: int) -> HttpResponse:
    """Set the rig up: each value against its limit, the tip against its steady minute."""
    trial = get_object_or_404(queries.bench_trials(), pk=pk)
    state = setup_state(trial, None)
    form = SetupForm(state.fields, request.POST if request.method == "POST" else None)
    if request.method == "POST":
        form.is_valid()
        over = "take_over" in request.POST
        action = actions.take_over_rig_values if over else actions.enter_setup_values
        values = {} if over else {"values": form.values, "seen": form.seen}
        entered = attempt(form, action, by=request.user, at=timezone.now(), trial_id=trial.pk, **values)
        if entered is not None:
            saved = "1 set-up value is saved." if len(entered) == 1 else f"{len(entered)} set-up values are saved."
            messages.success(request, saved if entered else "Nothing had changed.")
            ended = trial_phase(rows_of(trial)) == "ended"
            return redirect("trials:bench_sign" if ended else "trials:bench_setup", trial.pk)
    return _trial_page(request, trial, state, form)


def bench_run(request: HttpRequest, pk: int) -> HttpResponse:
    """The timed trial; the same page as the set-up, so that contact needs no network."""
    trial = get_object_or_404(queries.bench_trials(), pk=pk)
    state = setup_state(trial, None)
    return _trial_page(request, trial, state, SetupForm(state.fields))


@require_POST
def bench_value(request: HttpRequest, pk: int) -> HttpResponse:
    """Save one set-up value at once and say how the set-up stands with it."""
    trial = get_object_or_404(queries.bench_trials(), pk=pk)
    steady_s, by = steady_seconds(request.POST.get("steady_s", "")), queries.somebody(request.user)
    try:
        if request.POST.get("take_over"):
            actions.take_over_rig_values(by=by, at=timezone.now(), trial_id=trial.pk)
        else:
            values = {request.POST.get("key", ""): request.POST.get("value", "")}
            actions.enter_setup_values(by=by, at=timezone.now(), trial_id=trial.pk, values=values)
    except Refused as no:
        return JsonResponse({"sentence": no.sentence}, status=422)
    return JsonResponse({"state": setup_json(setup_state(trial, steady_s))})


def bench_state(request: HttpRequest, pk: int) -> HttpResponse:
    """How the set-up stands at a moment of the device's steady clock."""
    trial = get_object_or_404(queries.bench_trials(), pk=pk)
    return JsonResponse({"state": setup_json(setup_state(trial, steady_seconds(request.GET.get("steady_s", ""))))})


def _trial_page(request: HttpRequest, trial: Any, state: SetupState, form: SetupForm) -> HttpResponse:
    at, rows = timezone.now(), rows_of(trial)
    if queries.last_signed(trial) is not None:
        return redirect("trials:trial", trial.pk)
    phase = trial_phase(rows)
    context = {
        "trial": trial,
        "words": queries.trial_words(trial),
        "edition": trial_edition(trial),
        "instruments": queries.trial_instruments(trial),
        "wire": bench_wire_words(trial, at) if phase == "setup" else [],
        "overdue": rig_check_warnings(trial.rig, at) if phase == "setup" else (),
        "state": state,
        "phase": phase,
        "form": form,
        "mine": trial.opened_by_id == request.user.pk,
        "page": page_json(trial, queries.somebody(request.user), state, rows, at),
    }
    return render(request, "trials/bench_trial.html", context, status=422 if form.errors else 200)


def steady_seconds(text: str) -> Decimal | None:
    """Seconds on the device's clock as it sent them; anything else is as if it had sent none."""
    try:
        seconds = Decimal(text)
    except InvalidOperation:
        return None
    return seconds if seconds.is_finite() and abs(seconds) < 10**9 else None

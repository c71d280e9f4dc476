"""After the trial: what is left to say, the verdict as the rule gives it, and its signature."""

from typing import Any

from django.contrib import messages
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from labsite.ledger.attempts import attempt
from labsite.ledger.downloads import file_response
from labsite.ledger.refusals import Refused
from trials.actions import bench as bench_actions
from trials.actions import observations, signing
from trials.domain.verdicts import verdict_fingerprint
from trials.forms.bench import DoubtForm, FindingsForm, LateEntryForm, PhotoForm, SignForm
from trials.forms.setup import SetupForm
from trials.queries import bench as queries
from trials.queries.bench_page import kinds_of, page_json, rows_of, standing_rows, trial_phase
from trials.queries.bench_setup import setup_state
from trials.queries.methods import trial_edition


def bench_sign(request: HttpRequest, pk: int) -> HttpResponse:
    """The verdict with each criterion; its performer signs it."""
    trial = get_object_or_404(queries.bench_trials(), pk=pk)
    form = SignForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        signed = attempt(
            form, signing.sign_trial, by=request.user, at=timezone.now(), trial_id=trial.pk, **form.cleaned_data
        )
        if signed is not None:
            messages.success(request, f"Signed. {signed.sentence}")
            return redirect("trials:trial", trial.pk)
    return _page(request, trial, sign=form)


@require_POST
def bench_findings(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter what was looked at after the trial."""
    trial = get_object_or_404(queries.bench_trials(), pk=pk)
    form = FindingsForm(_open_findings(trial), request.POST, auto_id="finding_%s")
    if form.is_valid():
        given = {key: value for key, value in form.cleaned_data.items() if value}
        entered = attempt(
            form, observations.add_findings, by=request.user, at=timezone.now(), trial_id=trial.pk, findings=given
        )
        if entered is not None:
            return redirect("trials:bench_sign", trial.pk)
    return _page(request, trial, findings=form)


@require_POST
def bench_late(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter an event that was seen and not pressed."""
    trial = get_object_or_404(queries.bench_trials(), pk=pk)
    form = LateEntryForm(trial_edition(trial), request.POST, auto_id="late_%s")
    if form.is_valid():
        row = attempt(
            form,
            observations.add_late_observation,
            by=request.user,
            at=timezone.now(),
            trial_id=trial.pk,
            **form.cleaned_data,
        )
        if row is not None:
            return redirect("trials:bench_sign", trial.pk)
    return _page(request, trial, late=form)


@require_POST
def bench_photo(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep a photo of the trial."""
    trial = get_object_or_404(queries.bench_trials(), pk=pk)
    form = PhotoForm(request.POST, request.FILES, auto_id="photo_%s")
    if form.is_valid():
        kept = attempt(
            form,
            bench_actions.keep_trial_photo,
            by=request.user,
            at=timezone.now(),
            trial_id=trial.pk,
            **form.cleaned_data,
        )
        if kept is not None:
            return redirect("trials:bench_sign", trial.pk)
    return _page(request, trial, photo=form)


@require_POST
def bench_doubt(request: HttpRequest, pk: int) -> HttpResponse:
    """Record a doubt before the verdict is signed."""
    trial = get_object_or_404(queries.bench_trials(), pk=pk)
    form = DoubtForm(request.POST, auto_id="doubt_%s")
    if form.is_valid():
        doubt = attempt(
            form, signing.record_doubt, by=request.user, at=timezone.now(), trial_id=trial.pk, **form.cleaned_data
        )
        if doubt is not None:
            messages.success(request, "The doubt is recorded. Two further specimens decide if the trial stands.")
            return redirect("trials:bench_sign", trial.pk)
    return _page(request, trial, doubt=form)


def trial_photo(request: HttpRequest, pk: int) -> HttpResponse:
    """The shown copy of a trial's photo."""
    return file_response(get_object_or_404(queries.photos_with_files(), pk=pk).shown)


def _page(request: HttpRequest, trial: Any, **forms: Form) -> HttpResponse:
    if queries.last_signed(trial) is not None:
        return redirect("trials:trial", trial.pk)
    edition, rows, at = trial_edition(trial), rows_of(trial), timezone.now()
    kinds = kinds_of(edition)
    verdict, unjudged = None, ""
    try:
        _, verdict = signing.judged(trial)
    except Refused as no:
        unjudged = no.sentence
    state = setup_state(trial, None)
    setup = verdict.setup_criteria if verdict else ()
    context = {
        "trial": trial,
        "words": queries.trial_words(trial),
        "edition": edition,
        "rows": [(row, kinds.get(row.kind)) for row in standing_rows(rows) if row.kind in kinds],
        "verdict": verdict,
        "open_setup": [one for one in setup if one.enforced and one.holds is not True],
        "held_setup": [one for one in setup if not one.enforced or one.holds is True],
        "unjudged": unjudged,
        "phase": trial_phase(rows),
        "mine": trial.opened_by_id == request.user.pk,
        "photos": queries.trial_photos(trial),
        "sign": forms.get("sign") or SignForm(),
        "looked_at": verdict_fingerprint(verdict) if verdict else "",
        "findings": forms.get("findings") or FindingsForm(_open_findings(trial), auto_id="finding_%s"),
        "late": forms.get("late") or LateEntryForm(edition, auto_id="late_%s"),
        "photo": forms.get("photo") or PhotoForm(auto_id="photo_%s"),
        "doubt_form": forms.get("doubt") or DoubtForm(auto_id="doubt_%s"),
        "doubt": getattr(trial, "doubt", None),
        "setup": SetupForm([one for one in state.fields if one.value == ""], auto_id="setup_%s"),
        "page": page_json(trial, queries.somebody(request.user), state, rows, at),
    }
    return render(
        request, "trials/sign.html", context, status=422 if any(form.is_bound for form in forms.values()) else 200
    )


def _open_findings(trial: Any) -> list[Any]:
    """Kinds without a moment that may still be entered: remarks always, findings once."""
    standing = {row.kind for row in standing_rows(rows_of(trial))}
    kinds = trial_edition(trial).observation_kinds
    return [kind for kind in kinds if not kind.timed and (kind.repeats or kind.key not in standing)]

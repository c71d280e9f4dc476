"""Observations as they arrive from a bench device, and their corrections."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from labsite.ledger.attempts import attempt
from labsite.ledger.refusals import Refused
from trials.actions import observations as actions
from trials.forms.bench import CorrectionForm, events_from_json
from trials.queries import bench as queries
from trials.queries.bench_page import kinds_of
from trials.queries.bench_setup import setup_json, setup_state
from trials.queries.methods import trial_edition
from trials.views.bench import steady_seconds


@require_POST
def bench_events(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a device's queue of entries, in order; each is answered, and one that is refused stops the rest."""
    trial = get_object_or_404(queries.bench_trials(), pk=pk)
    at, by = timezone.now(), queries.somebody(request.user)
    try:
        if request.content_type in ("multipart/form-data", "application/x-www-form-urlencoded"):  # read already
            raise Refused("Entries come as JSON from the run page. Reload it.")
        person, sent_at, events = events_from_json(request.body)
        if person != by.pk:
            raise Refused(
                f"These entries were pressed by somebody else than {by}. They stay on this tablet until that "
                "person signs in here again."
            )
        answers = actions.record_events(by=by, at=at, trial_id=trial.pk, events=events, sent_at=sent_at)
    except Refused as no:
        return JsonResponse({"sentence": no.sentence}, status=409)
    steady_s = steady_seconds(request.GET.get("steady_s", ""))
    answer = {
        "answers": [{"key": str(one.key), "status": one.status, "sentence": one.sentence} for one in answers],
        "server_ms": int(at.timestamp() * 1000),
        "state": setup_json(setup_state(trial, steady_s)),
    }
    return JsonResponse(answer)


def correct_observation(request: HttpRequest, pk: int) -> HttpResponse:
    """Correct one observation by a new row with a reason; a signed trial is judged and signed anew."""
    row = get_object_or_404(queries.trial_rows(), pk=pk)
    kind = kinds_of(trial_edition(row.trial)).get(row.kind)
    form = CorrectionForm(row, kind, request.POST if request.method == "POST" else None)
    signed = queries.last_signed(row.trial)
    if request.method == "POST" and form.is_valid():
        corrected = attempt(
            form,
            actions.correct_observation,
            by=request.user,
            at=timezone.now(),
            observation=row,
            **form.corrections(),
        )
        if corrected is not None:
            now = queries.last_signed(row.trial)
            messages.success(
                request, f"Corrected. {now.sentence}" if now else "Corrected; the earlier row stays beside it."
            )
            return redirect("trials:trial", row.trial_id) if now else redirect("trials:bench_sign", row.trial_id)
    context = {
        "form": form,
        "row": row,
        "kind": kind,
        "signed": signed,
        "mine": row.trial.opened_by_id == request.user.pk,
    }
    return render(request, "trials/correct.html", context, status=422 if form.errors else 200)

"""One order line as a job: what it needs, who has it, and handing it out."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from labsite.ledger.attempts import attempt
from trials.actions import jobs as actions
from trials.forms.jobs import HandOutForm, TakeForm
from trials.queries import job_page as page
from trials.queries import jobs as queries
from trials.queries.jobs import WorkLine, work_line
from trials.queries.other_reading import reading_beside
from trials.queries.search import search_of
from trials.rendering.ladder import ladder_svg


def job(request: HttpRequest, pk: int) -> HttpResponse:
    """What the line needs and who has it."""
    return _page(request, _work(pk))


@require_POST
def hand_out(request: HttpRequest, pk: int) -> HttpResponse:
    """A lead hands the line to a technician and a rig."""
    work = _work(pk)
    form = HandOutForm(work, request.POST)
    if form.is_valid():
        done = attempt(form, actions.hand_out, line=work.line, by=request.user, at=timezone.now(), **form.cleaned_data)
        if done is not None:
            messages.success(request, f"Handed to {done.technician} on {done.rig.code}.")
            return redirect("trials:job", pk)
    return _page(request, work, hand=form)


@require_POST
def take_job(request: HttpRequest, pk: int) -> HttpResponse:
    """A technician takes the line."""
    work = _work(pk)
    form = TakeForm(work, request.POST)
    if form.is_valid():
        taken = attempt(form, actions.take_job, line=work.line, by=request.user, at=timezone.now(), **form.cleaned_data)
        if taken is not None:
            messages.success(request, f"The job is yours on {taken.rig.code}.")
            return redirect("trials:job", pk)
    return _page(request, work, take=form)


def _work(pk: int) -> WorkLine:
    return work_line(get_object_or_404(queries.line_in_work(pk), pk=pk), timezone.now())


def _page(
    request: HttpRequest, work: WorkLine, hand: HandOutForm | None = None, take: TakeForm | None = None
) -> HttpResponse:
    # After a refusal the page stands as it was when it was opened: what was typed, and the hand-out that was seen.
    form: Any = hand if hand is not None else take
    refused = form is not None
    search = search_of(work.standing)
    return render(
        request,
        "trials/job.html",
        {
            "work": work,
            "form": form,
            "hand": hand or HandOutForm(work),
            "take": take or TakeForm(work),
            "steps": page.steps_of(work, request.user),
            "rights": page.rights_of(request.user, work),
            "specimens": page.job_specimens(work),
            "hand_outs": page.hand_outs_of(work.line),
            "search": search,
            "beside": reading_beside(work.standing),
            "ladder": ladder_svg(search.ladder) if search is not None and search.ladder is not None else "",
        },
        status=422 if refused else 200,
    )

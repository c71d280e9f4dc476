"""Checking: a second person looks at the trials of an order line."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from labsite.ledger.attempts import attempt
from trials.actions import checks as actions
from trials.forms.checks import CheckForm
from trials.queries import checks as queries
from trials.queries.jobs import line_in_work
from trials.queries.results import line_standing
from trials.queries.search import search_of
from trials.rendering.ladder import ladder_svg


def checks(request: HttpRequest) -> HttpResponse:
    """The lines that wait for a check."""
    return render(request, "trials/checks.html", {"rows": queries.waiting_checks(request.user, timezone.now())})


def check(request: HttpRequest, pk: int) -> HttpResponse:
    """One line as the checker looks at it."""
    return _page(request, pk, None)


@require_POST
def check_sign(request: HttpRequest, pk: int) -> HttpResponse:
    """Record what the checker found."""
    line = get_object_or_404(line_in_work(pk), pk=pk)
    form = CheckForm(request.POST)
    if form.is_valid():
        done = attempt(form, actions.check_line, line=line, by=request.user, at=timezone.now(), **form.cleaned_data)
        if done is not None:
            messages.success(request, queries.done_words(done))
            return redirect("trials:checks")
    return _page(request, pk, form)


def _page(request: HttpRequest, pk: int, form: CheckForm | None) -> HttpResponse:
    line = get_object_or_404(line_in_work(pk), pk=pk)
    standing = line_standing(line)
    search = search_of(standing)
    seen = ",".join(str(one) for one in standing.verdict_ids)
    context: dict[str, Any] = {
        "page": queries.check_page(standing),
        "form": form or CheckForm(initial={"seen_verdicts": seen}),
        "search": search,
        "ladder": ladder_svg(search.ladder) if search is not None and search.ladder is not None else "",
        "refusal": actions.refusal_of_check(standing, request.user, timezone.now()),
    }
    return render(request, "trials/check.html", context, status=422 if form is not None else 200)

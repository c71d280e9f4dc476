"""Reverse traces: looked at for any window, opened as a case, worked off line by line, exported."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from calibration.queries.instruments import all_instruments
from calibration.queries.known_facts import instrument_then, instruments_as_known
from calibration.views.as_of import as_of
from labsite.ledger.attempts import attempt
from labsite.ledger.refusals import Refused
from reports.actions import traces as actions
from reports.domain.trace_rows import tally_sentence
from reports.forms.traces import CloseForm, DecideForm, OpenForm, UnchangedForm, WindowForm
from reports.queries import trace_cases as queries
from reports.queries.trace import trace_of
from reports.queries.trace_judging import judged_rows


@require_GET
def trace(request: HttpRequest, number: str) -> HttpResponse:
    """Everything measured with an instrument in its window, or in one that is asked for; nothing is kept."""
    return _preview(request, number, WindowForm(request.GET), None)


@require_GET
def trace_part(request: HttpRequest, number: str) -> HttpResponse:
    """The same as a part of the instrument's page."""
    one, asked = get_object_or_404(all_instruments(), number=number), as_of(request)
    context: dict[str, Any] = {"instrument": one, "as_of": asked, "case": queries.open_case_of(one, asked.at)}
    context["closed"] = queries.closed_cases_of(one, asked.at)
    if context["case"] is not None:
        kept = context["case"]
        context |= {"shown": queries.shown_case(kept, asked.at), "window": kept.window_sentence, "since": kept.from_at}
    else:
        found = trace_of(one, asked.at)
        context |= {"shown": queries.shown_now(found, judged_rows(found)), "window": found.doubt.window.sentence}
        context |= {"bad": found.doubt.calibration, "since": found.doubt.window.from_at}
    context["says"] = tally_sentence(context["shown"].tally)
    return render(request, "reports/trace_part.html", context)


@require_POST
def open_case(request: HttpRequest, number: str) -> HttpResponse:
    """Open the case that was looked at."""
    one, form = get_object_or_404(all_instruments(), number=number), OpenForm(request.POST)
    if form.is_valid():
        arguments = {
            "instrument": one,
            "reason": form.cleaned_data["reason"],
            "calibration": queries.calibration_of(one, form.cleaned_data["calibration"]),
            "asked": form.asked,
        }
        made = attempt(form, actions.open_case, by=request.user, at=timezone.now(), **arguments)
        if made is not None:
            messages.success(request, f"Case {made.number} is open; its lines are worked off one by one.")
            return redirect("reports:trace_case", made.number)
    return _preview(request, number, WindowForm(request.POST), form)


def _preview(request: HttpRequest, number: str, window: WindowForm, tried: OpenForm | None) -> HttpResponse:
    one, asked = get_object_or_404(all_instruments(), number=number), as_of(request)
    window.is_valid()
    context: dict[str, Any] = {
        "instrument": instrument_then(one, asked.at) if asked.past else one,
        "as_of": asked,
        "window_form": window,
        "form": tried or OpenForm(initial={name: window.data.get(name) for name in window.fields}),
        "case": queries.open_case_of(one, asked.at),
        "closed": queries.closed_cases_of(one, asked.at),
    }
    try:
        calibration = queries.calibration_of(one, window.cleaned_data.get("calibration"))
        found = trace_of(one, asked.at, calibration=calibration, asked=window.asked)
    except Refused as refusal:
        window.add_error("until_on", refusal.sentence)
        found = trace_of(one, asked.at)
    context |= {"trace": found, "window": found.doubt.window, "bad": found.doubt.calibration}
    context["shown"] = queries.shown_now(found, judged_rows(found))
    context["says"] = tally_sentence(context["shown"].tally)
    return render(request, "reports/trace.html", context, status=422 if tried is not None or window.errors else 200)


@require_GET
def cases(request: HttpRequest) -> HttpResponse:
    """The list of cases."""
    asked = as_of(request)
    rows = list(queries.all_cases(asked.at))
    opened = [row for row in rows if row.closed_at is None or row.closed_at > asked.at]
    if asked.past:
        known = instruments_as_known({row.instrument for row in rows}, asked.at)
        for row in rows:
            row.instrument = known[row.instrument_id].thing
    context = {"as_of": asked, "opened": opened, "closed": [row for row in rows if row not in opened]}
    return render(request, "reports/traces.html", context)


@require_GET
def case(request: HttpRequest, number: int) -> HttpResponse:
    """One case with its lines and what was decided."""
    return _case_page(request, number)


def decide(request: HttpRequest, number: int, position: int) -> HttpResponse:
    """Decide about one line."""
    found = get_object_or_404(queries.all_cases(timezone.now()), number=number)
    line = queries.case_line(found, position)
    if line is None:
        raise Http404
    form = DecideForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = attempt(form, actions.decide_line, by=request.user, at=timezone.now(), line=line, **form.cleaned_data)
        if made is not None:
            messages.success(request, f"Line {position} is decided: {made.get_act_display()}.")
            return redirect("reports:trace_case", found.number)
    context = {"case": found, "line": line, "row": queries.kept_row(line), "form": form}
    return render(request, "reports/trace_decide.html", context, status=422 if form.errors else 200)


@require_POST
def decide_unchanged(request: HttpRequest, number: int) -> HttpResponse:
    """Decide many unchanged lines at once."""
    found = get_object_or_404(queries.all_cases(timezone.now()), number=number)
    shown = queries.shown_case(found, timezone.now())
    form = UnchangedForm([row.position or 0 for row in shown.unchanged], request.POST)
    if form.is_valid():
        made = attempt(
            form, actions.decide_unchanged, by=request.user, at=timezone.now(), case=found, **form.cleaned_data
        )
        if made is not None:
            many = "One line is" if len(made) == 1 else f"{len(made)} lines are"
            messages.success(request, f"{many} decided: nothing is done.")
            return redirect("reports:trace_case", found.number)
    return _case_page(request, number, unchanged_form=form)


def close(request: HttpRequest, number: int) -> HttpResponse:
    """Close a case once everything that changed or is open is decided."""
    found = get_object_or_404(queries.all_cases(timezone.now()), number=number)
    form = CloseForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = attempt(form, actions.close_case, by=request.user, at=timezone.now(), case=found, **form.cleaned_data)
        if made is not None:
            messages.success(request, f"Case {made.number} is closed.")
            return redirect("reports:trace_case", found.number)
    context = {"case": found, "shown": queries.shown_case(found, timezone.now()), "form": form}
    return render(request, "reports/trace_close.html", context, status=422 if form.errors else 200)


def _case_page(request: HttpRequest, number: int, unchanged_form: UnchangedForm | None = None) -> HttpResponse:
    asked = as_of(request)
    found = get_object_or_404(queries.all_cases(asked.at), number=number)
    if asked.past:
        found.instrument = instrument_then(found.instrument, asked.at)
    shown = queries.shown_case(found, asked.at)
    open_rows = [row for row in shown.unchanged if not row.decisions]
    context = {
        "as_of": asked,
        "case": found,
        "closed": found.closed_at is not None and found.closed_at <= asked.at,
        "shown": shown,
        "says": tally_sentence(shown.tally),
        "undecided_unchanged": open_rows,
        "unchanged_form": unchanged_form or UnchangedForm([row.position or 0 for row in shown.unchanged]),
    }
    return render(request, "reports/trace_case.html", context, status=422 if unchanged_form is not None else 200)

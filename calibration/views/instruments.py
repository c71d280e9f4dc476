"""The register of instruments and the page of one."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.safestring import mark_safe

from calibration.actions import instruments as actions
from calibration.domain.units import difference_unit
from calibration.forms.instruments import InstrumentChangeForm, InstrumentForm, ServiceForm
from calibration.queries import instruments as queries
from calibration.queries import limits as limits_queries
from calibration.queries.check_page import check_summary
from calibration.queries.check_subjects import Subject
from calibration.queries.checks_due import checks_to_make
from calibration.queries.completeness import completeness_of
from calibration.queries.drift import drift_of
from calibration.queries.entries import ledger_lines
from calibration.queries.events import events_of
from calibration.queries.interval_review import interval_review
from calibration.queries.known_facts import Known, instruments_as_known
from calibration.queries.permits import permits_of
from calibration.queries.register import instruments_by_due, with_record
from calibration.queries.usability import usability
from calibration.rendering.drift import drift_plot
from calibration.rendering.instrument_label import instrument_label
from calibration.rendering.points import point_groups
from calibration.views.as_of import as_of
from labsite.ledger.attempts import attempt


def register(request: HttpRequest) -> HttpResponse:
    """Every instrument by what it needs."""
    asked = as_of(request)
    groups = instruments_by_due(asked.at, past=asked.past)
    counts = {group.key: len(group.rows) for group in groups}
    lacking = sum(not row.record.complete for group in groups for row in group.rows)
    wanted = {"complete": True, "lacking": False}.get(request.GET.get("record", ""))
    context = {
        "as_of": asked,
        "groups": groups if wanted is None else with_record(groups, complete=wanted),
        "counts": counts,
        "total": sum(counts.values()),
        "lacking": lacking,
        "checks_due": checks_to_make(asked.at),
        "wanted": wanted,
    }
    return render(request, "calibration/instruments.html", context)


def instrument(request: HttpRequest, number: str) -> HttpResponse:
    """May it be used, and why."""
    asked, one = as_of(request), get_object_or_404(queries.all_instruments(), number=number)
    if asked.past and one.registered_at > asked.at:
        return render(request, "calibration/instrument_not_yet.html", {"as_of": asked, "instrument": one})
    known = instruments_as_known([one], asked.at)[one.pk] if asked.past else Known(one)
    one, at = known.thing, asked.at
    history = queries.calibration_history(one, at)
    answer = usability(one, at)
    found = drift_of(history)
    limits = limits_queries.instrument_limits(one, at)
    context: dict[str, Any] = {
        "as_of": asked,
        "instrument": one,
        "known": known.sure,
        "answer": answer,
        "status": answer.status.value,
        "history": [
            (row, point_groups(row.points.all()), limits_queries.conformity_of(row, limits.error_limits).summaries)
            for row in history
        ],
        "limits": limits,
        "came_back": limits_queries.came_back(history, limits.error_limits),
        "in_force": next((row for row in history if row.pk == answer.calibration_id), None),
        "awaiting": queries.awaiting_decision(history),
        "drift": found,
        "services": queries.service_history(one, at),
        "events": events_of(one, at),
        "checks": check_summary(Subject(one), at),
        "record": completeness_of([one], {one.pk: answer}, at)[one.pk],
        "mountings": queries.mountings_of(one, at),
        "permits": permits_of(one, at),
        "entries": ledger_lines(one.book, at),
        "review": interval_review(one, history, answer.calibration_id, at),
    }
    if found is not None:
        context["drift_unit"] = difference_unit(found.unit)
        permitted = limits.permitted(found.unit, found.reference)
        plot = drift_plot(found, code=one.code, permitted=permitted)
        context["plot"] = mark_safe(plot)  # noqa: S308  (every text in it is escaped)
    return render(request, "calibration/instrument.html", context)


def instrument_new(request: HttpRequest) -> HttpResponse:
    """Enter an instrument."""
    form = InstrumentForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = attempt(form, actions.register_instrument, by=request.user, at=timezone.now(), **form.cleaned_data)
        if made is not None:
            messages.success(request, f"{made.code} is registered. Enter its calibration next.")
            return redirect("calibration:instrument", made.number)
    context = {"form": form}
    return render(request, "calibration/instrument_form.html", context, status=422 if form.errors else 200)


_CHANGEABLE = (
    "code", "kind", "description", "maker", "model_name", "serial_number", "software_version",
    "firmware_version", "thermocouple_type", "tolerance_class", "owner", "maintenance_plan", "range_text",
    "resolution_text", "place", "version",
)  # fmt: skip


def instrument_edit(request: HttpRequest, number: str) -> HttpResponse:
    """Change what is known of an instrument."""
    one = get_object_or_404(queries.all_instruments(), number=number)
    initial = {name: getattr(one, name) for name in _CHANGEABLE}
    form = InstrumentChangeForm(request.POST or None, initial=initial, present_place=one.place)
    if request.method == "POST" and form.is_valid():
        made = attempt(
            form, actions.change_instrument, by=request.user, at=timezone.now(), instrument=one, **form.cleaned_data
        )
        if made is not None:
            messages.success(request, f"{made.code} is changed.")
            return redirect("calibration:instrument", made.number)
    context = {"form": form, "instrument": one}
    return render(request, "calibration/instrument_form.html", context, status=422 if form.errors else 200)


def service_change(request: HttpRequest, number: str) -> HttpResponse:
    """Take an instrument out of service at once, or put it back."""
    one = get_object_or_404(queries.all_instruments(), number=number)
    last = queries.service_history(one, timezone.now()).first()
    out = last is not None and last.state == actions.OUT_OF_SERVICE
    form = ServiceForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        state = request.POST.get("state", "")
        wanted = actions.IN_SERVICE if state == "in service" else actions.OUT_OF_SERVICE
        made = attempt(
            form,
            actions.change_service,
            by=request.user,
            at=timezone.now(),
            instrument=one,
            state=wanted,
            **form.cleaned_data,
        )
        if made is not None:
            messages.success(request, f"{one.code} is {made.state} from now on.")
            return redirect("calibration:instrument", one.number)
    context = {"form": form, "instrument": one, "out": out, "last": last}
    return render(request, "calibration/service.html", context, status=422 if form.errors else 200)


def label(request: HttpRequest, number: str) -> HttpResponse:
    """The label as a PDF whose page is the label."""
    one = get_object_or_404(queries.all_instruments(), number=number)
    at = timezone.now()
    answer = usability(one, at)
    in_force = next((row for row in queries.calibration_history(one, at) if row.pk == answer.calibration_id), None)
    pdf = instrument_label(
        number=one.number,
        code=one.code,
        usable=answer.usable,
        clause=answer.clause,
        calibrated_on=in_force.calibrated_on if in_force else None,
        due_on=answer.due_on,
        restriction=in_force.remarks if in_force else "",
    )
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="label-{one.number}.pdf"'
    response["Cache-Control"] = "private, no-store"
    return response

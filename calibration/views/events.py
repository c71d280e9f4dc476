"""What happens to an instrument: told at the bench in two presses, or written at the desk."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme

from calibration.actions.events import record_event
from calibration.forms.events import AT_ONCE, EventForm, OutAtOnceForm
from calibration.queries import events as queries
from calibration.queries import instruments as instrument_queries
from calibration.queries.usability import usabilities
from labsite.ledger.attempts import attempt
from labsite.ledger.downloads import file_response


def out_at_once(request: HttpRequest) -> HttpResponse:
    """Take an instrument out of service: the page is the first press, the reason's key the second."""
    at, back = timezone.now(), _own_address(request.GET.get("back", ""))
    asked = instrument_queries.instruments_called(request.GET.getlist("instrument"), request.GET.get("rig", ""), at)
    if not asked:
        raise Http404("No instrument is named.")
    pressed = request.POST.get("instrument", "")
    forms = {one.number: OutAtOnceForm(_typed(request, pressed, one.number), prefix=one.number) for one in asked}
    if pressed in forms:
        one, form = next(one for one in asked if one.number == pressed), forms[pressed]
        if form.is_valid() and _taken_out(request, one, form):
            return redirect(back or reverse("calibration:instrument", args=[one.number]))
    answers = usabilities(asked, at)
    context = {
        "rows": [(one, answers[one.pk], forms[one.number]) for one in asked],
        "reasons": AT_ONCE,
        "back": back,
        "dark": back.startswith(reverse("trials:bench")),
        "pressed": pressed,
    }
    wrong = any(form.errors for form in forms.values())
    return render(request, "calibration/out_at_once.html", context, status=422 if wrong else 200)


def event_new(request: HttpRequest, number: str) -> HttpResponse:
    """Record what happened to an instrument, also on an earlier day."""
    one = get_object_or_404(instrument_queries.all_instruments(), number=number)
    keeper = "quality" in request.user.roles  # type: ignore[union-attr]  # the route lets nobody else in
    initial = {"happened_on": timezone.localdate()}
    form = EventForm(request.POST or None, request.FILES or None, keeper=keeper, initial=initial)
    if request.method == "POST" and form.is_valid():
        made = attempt(
            form, record_event, by=request.user, at=timezone.now(), instrument=one, **form.cleaned_data
        )  # fmt: skip
        if made is not None:
            messages.success(request, f"It is recorded that {one.code} {queries.HAPPENED[queries.Kind(made.kind)]}.")
            return redirect("calibration:instrument", one.number)
    context = {"form": form, "instrument": one}
    return render(request, "calibration/event_form.html", context, status=422 if form.errors else 200)


def event_file(request: HttpRequest, pk: int) -> HttpResponse:
    """The paper kept with an event."""
    return file_response(get_object_or_404(queries.event_file(pk)))


def _taken_out(request: HttpRequest, one: Any, form: OutAtOnceForm) -> bool:
    kind = request.POST.get("kind", "")
    if kind not in AT_ONCE:
        form.add_error(None, "Press one of the reasons.")
        return False
    facts = {"kind": kind, "take_out": True, **form.cleaned_data}
    made = attempt(form, record_event, by=request.user, at=timezone.now(), instrument=one, **facts)
    if made is not None:
        messages.success(request, f"{one.code} is out of service from now on.")
    return made is not None


def _typed(request: HttpRequest, pressed: str, number: str) -> Any:
    return request.POST if request.method == "POST" and pressed == number else None


def _own_address(text: str) -> str:
    """An address of this site to go back to; empty for any other."""
    return text if text.startswith("/") and url_has_allowed_host_and_scheme(text, allowed_hosts=None) else ""

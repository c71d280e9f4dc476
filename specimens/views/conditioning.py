"""Conditioning: the chambers, putting specimens in, taking them out, explaining what did not count."""

from datetime import datetime, time, timedelta
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme

from labsite.ledger.attempts import attempt
from labsite.ledger.queries import laboratory_zone
from specimens.actions import climate as climate_actions
from specimens.actions import conditioning as actions
from specimens.domain.conditioning_words import RULE_WORDS, STAY_WORDS, set_is_text, set_text
from specimens.forms.conditioning import ClimateFileForm, ExplanationForm, StayForm, TakeOutForm, WindowForm
from specimens.forms.fields import FIRST_YEAR, LAST_YEAR
from specimens.queries import chamber_list, chambers
from specimens.queries import conditioning as queries
from specimens.queries.orders import lines_in_work
from specimens.queries.stay_offers import NextStage, next_stage, recorder_of, stay_offer
from specimens.rendering.chamber_words import chamber_answer, chamber_drawings, list_answer

_USUAL_WINDOW = timedelta(days=4)
_LONGEST_WINDOW = timedelta(days=400)


def overview(request: HttpRequest) -> HttpResponse:
    """All chambers: in band or not, who is inside, what may come out, what waits to go in."""
    at = timezone.now()
    found = chamber_list.chamber_list(at)
    context = {"list": found, "answer": list_answer(found)}
    return render(request, "specimens/conditioning.html", context)


def chamber(request: HttpRequest, code: str) -> HttpResponse:
    """One chamber over a window of days."""
    place, at = get_object_or_404(chambers.chambers(), code=code), timezone.now()
    form = WindowForm(request.GET)
    from_at, until_at, why = _window(form, at)
    page = chambers.chamber_page(
        place, at=at, from_at=from_at, until_at=until_at, atmosphere_key=request.GET.get("atmosphere", "")
    )
    if page.recorder is not None:
        file_form = ClimateFileForm(at=at, initial={"recorder": page.recorder.pk})
    else:
        file_form = ClimateFileForm(at=at)
    context = {
        "page": page,
        "window": form,
        "window_why": why,
        "earlier": _window_query(from_at - (until_at - from_at), from_at),
        "file_form": file_form,
        "rules": (RULE_WORDS, STAY_WORDS),
        **chamber_answer(page),
        **chamber_drawings(page),
    }
    return render(request, "specimens/chamber.html", context, status=422 if why else 200)


def _window(form: WindowForm, at: datetime) -> tuple[datetime, datetime, str]:
    """The window asked for, whole days at the laboratory; the usual one with a sentence when it cannot be."""
    usual = (at - _USUAL_WINDOW, at)
    if not form.is_valid():
        return *usual, "Write days as 2026-11-25; the last four days are shown."
    zone, since, until = laboratory_zone(), form.cleaned_data["since"], form.cleaned_data["until"]
    end = at if until is None else datetime.combine(until + timedelta(days=1), time.min, tzinfo=zone)
    end = min(end, at)
    begin = end - _USUAL_WINDOW if since is None else datetime.combine(since, time.min, tzinfo=zone)
    if begin >= end:
        return *usual, "These days end before they begin, or are still to come; the last four days are shown."
    if end - begin > _LONGEST_WINDOW:
        return *usual, "At most 400 days are shown at once; the last four days are shown."
    return begin, end, ""


def _window_query(from_at: datetime, until_at: datetime) -> str:
    zone = laboratory_zone()
    last = until_at.astimezone(zone) - timedelta(microseconds=1)
    return urlencode({"since": from_at.astimezone(zone).date().isoformat(), "until": last.date().isoformat()})


def new_stay(request: HttpRequest) -> HttpResponse:
    """Put a set in: first which line, then which specimens, where and since when."""
    at, found = timezone.now(), request.GET.get("line", "")
    if not found.isdecimal():
        return _choose_line(request)
    line = get_object_or_404(lines_in_work(), pk=int(found))
    offered = stay_offer(line, at)
    place = chambers.chambers().filter(code=request.GET.get("chamber", "")).first()
    initial = {
        "specimens": [specimen.pk for specimen in offered.specimens],
        "atmosphere_key": offered.proposed.atmosphere.key if offered.proposed.atmosphere else None,
        "in_at": timezone.localtime(at).replace(second=0, microsecond=0),
        "chamber": place,
        "recorder": recorder_of(place, at),
    }
    typed = request.POST if request.method == "POST" else None
    form = StayForm(typed, line=line, needs=offered.needs, at=at, initial=initial)
    if request.method == "POST" and form.is_valid():
        stay = attempt(form, actions.start_conditioning, by=request.user, at=at, order_line=line, **form.cleaned_data)
        if stay is not None:
            numbers = set_is_text([specimen.number for specimen in form.cleaned_data["specimens"]])
            messages.success(request, f"{numbers} in {stay.chamber.code}.")
            return redirect("specimens:chamber", stay.chamber.code)
    context = {"form": form, "line": line, "offered": offered, "offer": queries.offer_of(line)}
    return render(request, "specimens/stay_new.html", context, status=422 if form.errors else 200)


def _choose_line(request: HttpRequest) -> HttpResponse:
    typed = request.GET.get("number", "")[:60]
    lines, why = queries.lines_of_number(typed) if typed.strip() else ([], "")
    context = {
        "waiting": chamber_list.waiting_sets(),
        "typed": typed,
        "lines": lines,
        "why": why,
        "chamber": request.GET.get("chamber", ""),
    }
    return render(request, "specimens/stay_line.html", context)


def end_stay(request: HttpRequest, pk: int) -> HttpResponse:
    """Take some or all specimens of a stay out."""
    stay, at = get_object_or_404(queries.stays_with_line(), pk=pk), timezone.now()
    inside = list(queries.inside_specimens(stay))
    state = queries.specimen_conditioning([specimen.pk for specimen in inside], at)
    stage = next_stage(stay.order_line, state.values(), at)
    asked = [specimen for specimen in inside if specimen.number in request.GET.getlist("specimen")]
    goes_on = stage is not None and stage.complete
    initial = {
        "specimens": [specimen.pk for specimen in asked or inside],
        "out_at": timezone.localtime(at).replace(second=0, microsecond=0),
        "place": stage.chamber if stage is not None and goes_on else None,
        "recorder": stage.recorder if stage is not None and goes_on else None,
    }
    typed = request.POST if request.method == "POST" else None
    form = TakeOutForm(typed, stay=stay, at=at, stage_follows=stage is not None, initial=initial)
    back = _own_address(request.GET.get("back", ""))
    if request.method == "POST" and form.is_valid():
        into = _taken_out(request, form, stay, stage, at)
        if into is not None:
            return redirect(back) if back else redirect("specimens:chamber", into)
    context = {
        "form": form,
        "stay": stay,
        "words": set_text([specimen.number for specimen in inside]),
        "states": queries.grouped_sentences(inside, state),
        "waits": any(each.stage_ready_at is None for each in state.values()),
        "lost": not any(each.stay_counts for each in state.values()),
        "stage": stage,
        "back": back or reverse("specimens:chamber", args=[stay.chamber.code]),
    }
    return render(request, "specimens/stay_out.html", context, status=422 if form.errors else 200)


def _taken_out(request: HttpRequest, form: TakeOutForm, stay: Any, stage: NextStage | None, at: datetime) -> str | None:
    """Take out what was chosen, or move it on; the code of the chamber to look at next, None when it is refused."""
    chosen, code = form.cleaned_data, str(stay.chamber.code)
    numbers = set_is_text([specimen.number for specimen in chosen["specimens"]])
    facts = {"by": request.user, "at": at, "stay": stay, "specimens": chosen["specimens"]}
    if stage is None or stage.need.atmosphere is None or not form.into_chamber:
        if attempt(form, actions.take_out, **facts, place=chosen["place"], out_at=chosen["out_at"]) is None:
            return None
        messages.success(request, f"{numbers} out of {code}.")
        return code
    facts |= {"atmosphere_key": stage.need.atmosphere.key, "recorder": chosen["recorder"]}
    moved = attempt(form, actions.move_on, **facts, chamber=chosen["place"], moved_at=chosen["out_at"])
    if moved is None:
        return None
    messages.success(request, f"{numbers} out of {code} and in {moved.chamber.code}.")
    return moved.chamber.code


def _own_address(text: str) -> str:
    """An address of this site to go back to; empty for any other."""
    return text if text.startswith("/") and url_has_allowed_host_and_scheme(text, allowed_hosts=None) else ""


def explain_stretch(request: HttpRequest, code: str) -> HttpResponse:
    """Write why a stretch of a chamber's record did not count."""
    place, at = get_object_or_404(chambers.chambers(), code=code), timezone.now()
    from_at, until_at = _moment(request.GET.get("from")), _moment(request.GET.get("until"))
    form = ExplanationForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        facts: dict[str, Any] = {"chamber": place, "from_at": from_at, "until_at": until_at, **form.cleaned_data}
        row = attempt(form, climate_actions.explain_stretch, by=request.user, at=at, **facts)
        if row is not None:
            messages.success(request, "The explanation is written.")
            return redirect(f"{reverse('specimens:chamber', args=[code])}?{_window_around(from_at, until_at, at)}")
    context = {"form": form, "chamber": place, "from_at": from_at, "until_at": until_at}
    return render(request, "specimens/stretch_explain.html", context, status=422 if form.errors else 200)


def _window_around(from_at: datetime, until_at: datetime, at: datetime) -> str:
    """No window where the usual one shows the stretch; else the days around it."""
    if from_at >= at - _USUAL_WINDOW:
        return ""
    return _window_query(from_at - timedelta(days=1), until_at + timedelta(days=2))


def _moment(text: str | None) -> datetime:
    try:
        found = datetime.fromisoformat(text or "")
    except ValueError:
        raise Http404 from None
    if found.tzinfo is None or not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise Http404
    return found

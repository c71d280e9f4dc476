"""The checks of an instrument or a rig: what was found, what is planned; recording, planning, striking out."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.safestring import mark_safe

from calibration.actions.check_plans import end_plan, plan_check
from calibration.actions.checks import record_check, strike_check
from calibration.domain.checks import FOIL_REFERENCES
from calibration.forms.checks import CHECK_FORMS, CheckPlanForm, ReasonForm
from calibration.queries import check_page as pages
from calibration.queries import check_subjects as queries
from calibration.queries.instruments import all_instruments
from calibration.queries.rigs import all_rigs
from calibration.rendering.check_chart import check_plot
from calibration.views.as_of import as_of
from labsite.ledger.attempts import attempt

Subject = queries.Subject


def subject_called(what: str, key: str) -> Subject:
    """The instrument of a number, or the rig of a code; not found without one."""
    if what == "instrument":
        return Subject(get_object_or_404(all_instruments(), number=key))
    return Subject(get_object_or_404(all_rigs(), code=key))


def checks(request: HttpRequest, what: str, key: str) -> HttpResponse:
    """Did its checks pass, when is the next one, and how did they run."""
    asked, subject = as_of(request), subject_called(what, key)
    if asked.past:
        subject = queries.subject_then(subject, asked.at)
    page = pages.check_page(subject, asked.at)
    drawn = []
    for one in page.charts:
        title = f"{one.kind.label}, {subject.code}"
        plot = mark_safe(check_plot(one.chart, title=title))  # noqa: S308  (every text in it is escaped)
        drawn.append((one, plot))
    context = {"as_of": asked, "subject": subject, "page": page, "drawn": drawn}
    return render(request, "calibration/checks.html", context)


def kinds(request: HttpRequest, what: str, key: str) -> HttpResponse:
    """Which kind of check: the first of two steps."""
    subject = subject_called(what, key)
    plans = {plan.kind: plan for plan in queries.plans_of(subject, timezone.now())}
    rows = [(kind, plans.get(kind)) for kind in subject.kinds]
    return render(request, "calibration/check_kinds.html", {"subject": subject, "rows": rows})


def check_new(request: HttpRequest, what: str, key: str, kind: str) -> HttpResponse:
    """Record a check of one kind: the second step."""
    subject, at = subject_called(what, key), timezone.now()
    made = _kind(subject, kind)
    plan = queries.plan_in_force(subject, made, at)
    form = CHECK_FORMS[made](request.POST or None, subject=subject, initial=_from_plan(plan))
    if request.method == "POST" and form.is_valid():
        check = attempt(form, record_check, by=request.user, at=at, subject=subject, kind=made, **form.acted())
        if check is not None:
            _say(request, subject, check)
            return redirect(subject.checks_address, subject.key)
    context = {"subject": subject, "kind": made, "plan": plan, "form": form}
    return render(request, "calibration/check_form.html", context, status=422 if form.errors else 200)


def check_plan(request: HttpRequest, what: str, key: str, kind: str) -> HttpResponse:
    """Plan a check of one kind, or end its plan."""
    subject, at = subject_called(what, key), timezone.now()
    made = _kind(subject, kind)
    plan, offered = queries.plan_in_force(subject, made, at), pages.offered_figures(subject, made)
    ending = "end" in request.POST
    figures = request.GET.get("figures", "")
    chosen = offered[int(figures)] if figures.isdecimal() and len(figures) < 4 and int(figures) < len(offered) else None
    initial = _from_plan(plan) | (_from_figures(chosen) if chosen is not None else {})
    form = CheckPlanForm(None if ending else request.POST or None, subject=subject, kind=made, initial=initial)
    end = ReasonForm(request.POST if ending else None, prefix="end")
    done = None
    if ending and end.is_valid():
        done = attempt(end, end_plan, by=request.user, at=at, subject=subject, kind=made, **end.cleaned_data)
    elif not ending and request.method == "POST" and form.is_valid():
        done = attempt(form, plan_check, by=request.user, at=at, subject=subject, kind=made, **form.cleaned_data)
    if done is not None:
        word = "no longer planned" if done.ended else "planned"
        messages.success(request, f"{made.label}: {word} for {subject.code} from now on.")
        return redirect(subject.checks_address, subject.key)
    context = {"subject": subject, "kind": made, "plan": plan, "form": form, "end": end, "offered": offered}
    wrong = form.errors or end.errors
    return render(request, "calibration/check_plan.html", context, status=422 if wrong else 200)


def strike(request: HttpRequest, pk: int) -> HttpResponse:
    """Strike out a check that was recorded by mistake."""
    check = get_object_or_404(queries.checks_with_subjects(), pk=pk)
    subject, form = queries.subject_of(check), ReasonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        done = attempt(form, strike_check, by=request.user, at=timezone.now(), check=check, **form.cleaned_data)
        if done is not None:
            stays = "" if done.passed else f" {subject.code} stays as it is until somebody puts it back."
            messages.success(request, f"The check is struck out.{stays}")
            return redirect(subject.checks_address, subject.key)
    context = {"subject": subject, "check": check, "form": form}
    return render(request, "calibration/check_strike.html", context, status=422 if form.errors else 200)


def _kind(subject: Subject, kind: str) -> Any:
    found = next((one for one in subject.kinds if one.value == kind), None)
    if found is None:
        raise Http404(f"No check of this kind is made of {subject.code}.")
    return found


def _from_plan(plan: Any) -> dict[str, Any]:
    if plan is None:
        return {}
    names = ("every_days", "unit", "reference", "error_low", "error_high", "procedure", "source")
    values = {name: getattr(plan, name) for name in names}
    foil = next((key for key, (value, _) in FOIL_REFERENCES.items() if value == plan.reference), "")
    return values | {"foil_reference": foil}


def _from_figures(figures: Any) -> dict[str, Any]:
    names = ("unit", "reference", "error_low", "error_high", "source")
    return {name: getattr(figures, name) for name in names}


def _say(request: HttpRequest, subject: Subject, check: Any) -> None:
    if check.passed:
        messages.success(request, f"{check.get_kind_display()}: passed, and recorded.")
    else:
        out = "out of service" if subject.instrument is not None else "out of use"
        messages.success(request, f"The check is recorded. It failed, so {subject.code} is {out} from now on.")

"""The list before a rig goes into service: the sheet that is worked off, lines added, the release."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from calibration.actions import commissioning as actions
from calibration.domain.commissioning import CAUTIONS
from calibration.forms.commissioning import LineForm, OpenForm, ReleaseForm, SheetForm
from calibration.queries import commissioning as queries
from calibration.queries.known_facts import rig_then
from calibration.queries.rigs import all_rigs
from calibration.views.as_of import as_of
from labsite.ledger.attempts import attempt
from labsite.ledger.downloads import file_response


def commissioning_new(request: HttpRequest, code: str) -> HttpResponse:
    """Open the list of a rig after a repair or a move."""
    rig = get_object_or_404(all_rigs(), code=code)
    form = OpenForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = attempt(
            form, actions.open_commissioning, by=request.user, at=timezone.now(), rig=rig, **form.cleaned_data
        )
        if made is not None:
            messages.success(request, f"The list of {rig.code} is open. It is not used until it is released.")
            return redirect("calibration:commissioning", made.pk)
    context = {"form": form, "rig": rig}
    return render(request, "calibration/commissioning_new.html", context, status=422 if form.errors else 200)


def commissioning(request: HttpRequest, pk: int) -> HttpResponse:
    """The sheet: what is looked at, what was found, and may the rig be released."""
    return _sheet_page(request, pk)


def findings(request: HttpRequest, pk: int) -> HttpResponse:
    """Record what was found for all lines that were filled in."""
    if request.method != "POST":
        return redirect("calibration:commissioning", pk)
    row, at = get_object_or_404(queries.commissionings(), pk=pk), timezone.now()
    form = SheetForm(queries.sheet(row, at), request.POST, request.FILES)
    if form.is_valid():
        made = attempt(
            form, actions.record_findings, by=request.user, at=at, commissioning=row, findings=form.findings()
        )
        if made is not None:
            many = "1 finding is recorded." if len(made) == 1 else f"{len(made)} findings are recorded."
            messages.success(request, many if made else "Nothing had changed.")
            return redirect("calibration:commissioning", pk)
    return _sheet_page(request, pk, sheet_form=form)


def line_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a line the list lacks."""
    if request.method != "POST":
        return redirect("calibration:commissioning", pk)
    row, form = get_object_or_404(queries.commissionings(), pk=pk), LineForm(request.POST)
    if form.is_valid():
        made = attempt(
            form, actions.add_line, by=request.user, at=timezone.now(), commissioning=row, **form.cleaned_data
        )
        if made is not None:
            messages.success(request, f"“{made.title}” is on the list.")
            return redirect("calibration:commissioning", pk)
    return _sheet_page(request, pk, line_form=form)


def release(request: HttpRequest, pk: int) -> HttpResponse:
    """Put the rig into service."""
    if request.method != "POST":
        return redirect("calibration:commissioning", pk)
    row, form = get_object_or_404(queries.commissionings(), pk=pk), ReleaseForm(request.POST)
    if form.is_valid():
        made = attempt(
            form, actions.release_rig, by=request.user, at=timezone.now(), commissioning=row, **form.cleaned_data
        )
        if made is not None:
            messages.success(request, f"{made.rig.code} is in service.")
            return redirect("calibration:rig", made.rig.code)
    return _sheet_page(request, pk, release_form=form)


def finding_file(request: HttpRequest, pk: int) -> HttpResponse:
    """The paper kept with a finding."""
    return file_response(get_object_or_404(queries.finding_file(pk)))


def _sheet_page(
    request: HttpRequest,
    pk: int,
    *,
    sheet_form: SheetForm | None = None,
    line_form: LineForm | None = None,
    release_form: ReleaseForm | None = None,
) -> HttpResponse:
    """The sheet with the form that came back beside two fresh ones."""
    asked = as_of(request)
    row = get_object_or_404(queries.commissionings().filter(opened_at__lte=asked.at), pk=pk)
    sheet = queries.sheet(row, asked.at)
    came_back = next((form for form in (sheet_form, line_form, release_form) if form is not None), None)
    shown = sheet_form or SheetForm(sheet)
    context = {
        "as_of": asked,
        "sheet": sheet,
        "rig": rig_then(row.rig, asked.at) if asked.past else row.rig,
        "rows": list(shown.rows()),
        "form": came_back,
        "line_form": line_form or LineForm(),
        "release_form": release_form or ReleaseForm(),
        "cautions": CAUTIONS,
        "may_work": queries.may_work(request.user),
        "may_release": queries.may_release(request.user),
        "open": row.released_at is None and not asked.past,
        "files_again": shown.files_again() if shown.errors else [],
    }
    return render(request, "calibration/commissioning.html", context, status=200 if came_back is None else 422)

"""Issuing and amending: what will print, what is missing, and the act."""

from functools import partial
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from labsite.ledger.attempts import attempt
from reports.actions import issuing as actions
from reports.forms.certificates import AmendForm, IssueForm
from reports.queries import pages
from reports.queries.certificates import certificates_with_order, newest_of
from reports.queries.kept_pictures import certificate_pictures
from reports.queries.ready import lines_to_certify
from reports.rendering.pdf import certificate_pdf
from reports.rendering.tables import instruments_of, result_table, setup_rows
from reports.tasks import render_certificate
from specimens.queries.orders import orders_with_client


@require_GET
def issue(request: HttpRequest, number: str) -> HttpResponse:
    """One order before a signatory: what would print, and what is missing."""
    return _issue_page(request, number, _positions(request), None)


@require_POST
def issue_sign(request: HttpRequest, number: str) -> HttpResponse:
    """Issue the certificate that was read."""
    order = get_object_or_404(orders_with_client(), number=number)
    form = IssueForm(request.POST)
    positions: list[int] = form.cleaned_data["positions"] if form.is_valid() else []
    if form.is_valid():
        lines = [one.line for one in lines_to_certify(order) if one.line.position in positions]
        arguments = {"order": order, "lines": lines, "seen": form.cleaned_data["seen"]}
        issued = attempt(form, actions.issue_certificate, by=request.user, at=timezone.now(), **arguments)
        if issued is not None:
            transaction.on_commit(partial(render_certificate.enqueue, issued.pk))
            messages.success(request, f"Certificate {issued.number} is issued.")
            return redirect("reports:certificate", issued.number)
    return _issue_page(request, number, positions, form)


@require_GET
def issue_draft(request: HttpRequest, number: str) -> HttpResponse:
    """The certificate as it would print, marked as a draft; nothing is kept."""
    order = get_object_or_404(orders_with_client(), number=number)
    page = pages.issue_page(order, _positions(request), request.user, timezone.now())
    if page.content is None:
        raise Http404
    drawn = certificate_pdf(page.content, certificate_pictures(page.content), draft=True)
    return HttpResponse(drawn, content_type="application/pdf", headers={"Cache-Control": "private, no-store"})


def amend(request: HttpRequest, number: str) -> HttpResponse:
    """What an amendment of a certificate would change, and the act."""
    found = get_object_or_404(certificates_with_order(), number=number)
    newest = newest_of(found)
    if newest.pk != found.pk:
        return render(request, "reports/amend_replaced.html", {"certificate": found, "newest": newest}, status=409)
    form = AmendForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        arguments = {"certificate": found, **form.cleaned_data}
        amended = attempt(form, actions.amend_certificate, by=request.user, at=timezone.now(), **arguments)
        if amended is not None:
            transaction.on_commit(partial(render_certificate.enqueue, amended.pk))
            messages.success(request, f"Certificate {amended.number} is issued and replaces {found.number}.")
            return redirect("reports:certificate", amended.number)
    page = pages.amend_page(found, request.user, timezone.now())
    context = {"page": page, "form": form, "seen": actions.seen_fingerprint(page.content)}
    return render(request, "reports/amend.html", context, status=422 if form.errors else 200)


def _issue_page(request: HttpRequest, number: str, positions: list[int], tried: IssueForm | None) -> HttpResponse:
    order = get_object_or_404(orders_with_client(), number=number)
    page = pages.issue_page(order, positions, request.user, timezone.now())
    seen = "" if page.content is None else actions.seen_fingerprint(page.content)
    fresh = IssueForm(initial={"positions": page.positions, "seen": seen})
    context = {"page": page, "form": tried or IssueForm(), "fresh": fresh, **_tables(page.content)}
    return render(request, "reports/issue.html", context, status=422 if tried is not None else 200)


def _positions(request: HttpRequest) -> list[int]:
    """The lines ticked in the address; none means all."""
    return [int(one) for one in request.GET.getlist("line") if one.isascii() and one.isdigit() and len(one) < 5]


def _tables(content: Any) -> dict[str, Any]:
    if content is None:
        return {}
    return {
        "content": content,
        "results": [result_table(line) for line in content.lines],
        "setups": [(line, setup_rows(line)) for line in content.lines],
        "instruments": instruments_of(content),
    }

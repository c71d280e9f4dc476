"""The certificates: the list, one of them, and its file."""

from datetime import timedelta

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from labsite.ledger.downloads import file_response
from reports.forms.certificates import CertificateSearchForm
from reports.queries import certificates as queries
from reports.queries.pages import deciding_trial
from reports.queries.ready import ready_orders
from reports.rendering.stages import trial_stages
from reports.rendering.tables import instruments_of, result_table, setup_rows
from reports.tasks import render_certificate
from trials.rendering.thread import thread_svg

WRITING_TAKES = timedelta(minutes=1)
"""Beyond this, whoever opens the page starts the writing again."""


def certificates(request: HttpRequest) -> HttpResponse:
    """What waits for a signatory, then everything that was issued."""
    form = CertificateSearchForm(request.GET)
    asked = form.cleaned_data if form.is_valid() else {}
    context = {
        "form": form,
        "typed": asked.get("q", ""),
        "page": queries.certificate_page(asked.get("q", ""), asked.get("after")),
        "ready": ready_orders(),
        "outdated": list(queries.outdated_certificates()),
    }
    return render(request, "reports/certificates.html", context)


def certificate(request: HttpRequest, number: str) -> HttpResponse:
    """One certificate as it was issued; a file whose writing was cut short is written again."""
    found = get_object_or_404(queries.certificates_with_order(), number=number)
    if found.pdf_id is None and timezone.now() - found.issued_at > WRITING_TAKES:
        render_certificate.enqueue(found.pk)
        found = queries.certificates_with_order().get(pk=found.pk)
    content = queries.content_of(found)
    stages = trial_stages(content, *deciding_trial(content))
    context = {
        "certificate": found,
        "newest": queries.newest_of(found),
        "chain": queries.chain_of(found),
        "content": content,
        "results": [result_table(line) for line in content.lines],
        "setups": [(line, setup_rows(line)) for line in content.lines],
        "instruments": instruments_of(content),
        "stages": stages,
        "thread": thread_svg(stages, label=f"Life of the specimen up to certificate {found.number}"),
    }
    return render(request, "reports/certificate.html", context)


def certificate_pdf(request: HttpRequest, number: str) -> HttpResponse:
    """The file of a certificate, byte for byte as it was written."""
    found = get_object_or_404(queries.certificate_files(), number=number)
    if found.pdf is None:
        raise Http404
    return file_response(found.pdf, download="download" in request.GET)

"""The lines of a reverse trace as files for a spreadsheet."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_GET

from calibration.views.as_of import moment_asked
from labsite.ledger.queries import laboratory_zone
from labsite.ledger.workbooks import CSV_TYPE, XLSX_TYPE, csv_bytes, file_name, workbook_bytes
from reports.exports.traces import trace_table
from reports.queries import trace_cases as queries


@require_GET
def case_csv(request: HttpRequest, number: int) -> HttpResponse:
    """A case as CSV."""
    at = moment_asked(request)
    case = get_object_or_404(queries.all_cases(at), number=number)
    table = trace_table(f"Trace {case.number}", queries.shown_case(case, at), laboratory_zone())
    return _file(csv_bytes(table), CSV_TYPE, f"trace-{case.number}", case.instrument.code, "csv")


@require_GET
def case_xlsx(request: HttpRequest, number: int) -> HttpResponse:
    """A case as a workbook."""
    at = moment_asked(request)
    case = get_object_or_404(queries.all_cases(at), number=number)
    table = trace_table(f"Trace {case.number}", queries.shown_case(case, at), laboratory_zone())
    content = workbook_bytes([table], title=f"Trace {case.number}, {case.instrument.code}", made_at=timezone.now())
    return _file(content, XLSX_TYPE, f"trace-{case.number}", case.instrument.code, "xlsx")


def _file(content: bytes, media_type: str, name: str, code: str, ending: str) -> HttpResponse:
    response = HttpResponse(content, content_type=media_type)
    header = content_disposition_header(as_attachment=True, filename=file_name(name, code, ending=ending))
    if header:
        response["Content-Disposition"] = header
    response["Cache-Control"] = "private, no-store"
    return response

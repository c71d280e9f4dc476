"""What is measured with which instrument, by test clause, for an audit."""

from django.http import HttpRequest, HttpResponse

from calibration.views.exports import asked_of, tables_response
from reports.exports.by_clause import clause_table
from reports.queries.measured import measured_rows


def clause_export(request: HttpRequest, ending: str) -> HttpResponse:
    """Every method edition with its quantities, limits and instruments, as XLSX or CSV, as of any day."""
    asked = asked_of(request, ending)
    table = clause_table(measured_rows(asked.at, past=asked.past))
    return tables_response(asked, ending, "by-test-clause", [table], chosen=table)

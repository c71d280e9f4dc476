"""Instruments and their records for an audit, as XLSX and CSV, as of any day."""

from collections.abc import Sequence

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from calibration.exports.record import record_tables
from calibration.exports.register import register_tables
from calibration.queries.exported import exported_instruments, instrument_record
from calibration.queries.instruments import all_instruments
from calibration.views.as_of import AsOf, as_of
from labsite.ledger.downloads import bytes_response
from labsite.ledger.workbooks import CSV_TYPE, XLSX_TYPE, Table, csv_bytes, file_name, workbook_bytes

ENDINGS = ("xlsx", "csv")


def register_export(request: HttpRequest, ending: str) -> HttpResponse:
    """Every instrument: one workbook with its points, or the list alone as CSV."""
    asked = asked_of(request, ending)
    tables = register_tables(exported_instruments(asked.at, past=asked.past))
    return tables_response(asked, ending, "instruments", tables, chosen=tables[0])


def record_export(request: HttpRequest, number: str, ending: str) -> HttpResponse:
    """One instrument's whole record: one workbook, or one of its tables as CSV."""
    asked, one = asked_of(request, ending), get_object_or_404(all_instruments(), number=number)
    if one.registered_at > asked.at:
        raise Http404("It was not registered then.")
    tables = record_tables(instrument_record(one, asked.at, past=asked.past))
    word = request.GET.get("table", "calibrations")
    if word not in tables:
        raise Http404("There is no such table.")
    name = f"{one.code}-{word if ending == 'csv' else 'record'}"
    return tables_response(asked, ending, name, tuple(tables.values()), chosen=tables[word])


def asked_of(request: HttpRequest, ending: str) -> AsOf:
    """The moment asked for; a file is not made for a day that is none, nor in another form."""
    asked = as_of(request)
    if ending not in ENDINGS or asked.refusal:
        raise Http404(asked.refusal or "It is made as XLSX or CSV.")
    return asked


def tables_response(asked: AsOf, ending: str, name: str, tables: Sequence[Table], *, chosen: Table) -> HttpResponse:
    """All tables as a workbook behind a sheet that says what they answer for, or the chosen one as CSV."""
    day = f"{asked.local:%Y-%m-%d}"
    named = file_name(name, "as-of" if asked.past else "", day, ending=ending)
    if ending == "csv":
        return bytes_response(csv_bytes(chosen), name=named, media_type=CSV_TYPE)
    rows = (
        ("As known at", asked.words if asked.past else asked.local),
        *((one.title, len(one.rows)) for one in tables),
    )
    about = Table("About", ("What", "Said"), rows)
    content = workbook_bytes([about, *tables], title=name, made_at=asked.at)
    return bytes_response(content, name=named, media_type=XLSX_TYPE)

"""A workbook's first sheet with readings, turned into the text of a table; dates by the workbook's own date system."""

import csv
import io
import zipfile
from datetime import date, datetime, time, timedelta

from specimens.domain.climate_answers import ClimateRefused

_LARGEST_UNPACKED = 300_000_000


def is_workbook(data: bytes) -> bool:
    """Whether the bytes are an Office Open XML workbook, whatever the file is called."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return "xl/workbook.xml" in archive.namelist()
    except zipfile.BadZipFile:
        return False


def workbook_text(data: bytes, *, name: str) -> tuple[bytes, str]:
    """(comma-separated UTF-8 text, name of the sheet). Raises ClimateRefused when the workbook cannot be read.

    openpyxl turns date cells into dates by the workbook's own system (1900 or 1904); cells that are only formatted as
    numbers stay serial numbers and are asked about like any other.
    """
    import openpyxl

    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        if sum(part.file_size for part in archive.infolist()) > _LARGEST_UNPACKED:
            raise ClimateRefused(f"{name} unpacks to more than 300 MB; export the sheet as CSV instead.")
    try:
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
    except Exception as fault:  # openpyxl lets many kinds of error through on a damaged archive
        raise ClimateRefused(
            f"{name} is a workbook that cannot be opened ({type(fault).__name__}); export the sheet as CSV."
        ) from fault
    try:
        for sheet in book.worksheets:
            text = io.StringIO(newline="")
            writer = csv.writer(text, lineterminator="\n")
            filled = 0
            for row in sheet.iter_rows(values_only=True):
                cells = [_cell_text(value) for value in row]
                filled += sum(1 for cell in cells if cell) > 1
                writer.writerow(cells)
            if filled > 1:
                return text.getvalue().encode("utf-8"), str(sheet.title)
    finally:
        book.close()
    raise ClimateRefused(f"{name} is a workbook without a table of readings in any sheet.")


def _cell_text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        # serial numbers hold a moment to a few microseconds only; a second is what the recorder wrote
        rounded = (value + timedelta(milliseconds=500)).replace(microsecond=0)
        return rounded.isoformat(sep=" ")
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value)

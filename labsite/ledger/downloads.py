"""Handing out kept files without letting a browser run anything in them."""

from django.http import HttpResponse
from django.utils.http import content_disposition_header

from labsite.ledger.models import StoredFile

SHOWN_INLINE = frozenset({"image/jpeg", "image/png", "application/pdf"})


def file_response(file: StoredFile, *, download: bool = False) -> HttpResponse:
    """The bytes as kept; pictures and PDF may open in the browser, anything else is only downloaded."""
    inline = file.media_type in SHOWN_INLINE and not download
    response = HttpResponse(
        bytes(file.content),
        content_type=file.media_type if file.media_type in SHOWN_INLINE else "application/octet-stream",
    )
    header = content_disposition_header(not inline, file.name)
    if header:
        response["Content-Disposition"] = header
    response["Cache-Control"] = "private, no-store"
    return response


def bytes_response(content: bytes, *, name: str, media_type: str) -> HttpResponse:
    """Bytes made for this request, to be kept by whoever asked for them."""
    response = HttpResponse(content, content_type=media_type)
    header = content_disposition_header(as_attachment=True, filename=name)
    if header:
        response["Content-Disposition"] = header
    response["Cache-Control"] = "private, no-store"
    return response

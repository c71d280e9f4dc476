"""Certificate files as they are uploaded: known by their first bytes, whatever their name says."""

from typing import TYPE_CHECKING

from django.core.files.uploadedfile import UploadedFile

from labsite.ledger.refusals import Refused

if TYPE_CHECKING:
    Upload = UploadedFile[bytes]
else:
    Upload = UploadedFile  # takes no type argument at run time

LARGEST_BYTES = 20 * 1024 * 1024
_KINDS = (
    (b"%PDF-", "application/pdf", (".pdf",)),
    (b"\xff\xd8\xff", "image/jpeg", (".jpg", ".jpeg")),
    (b"\x89PNG\r\n\x1a\n", "image/png", (".png",)),
)


def read_certificate(upload: Upload) -> tuple[str, str, bytes]:
    """Name, media type and bytes of an uploaded PDF, JPEG or PNG; the name gets the ending its content asks for.

    Refused with a sentence: empty, more than 20 MB, anything else.
    """
    name = upload.name or "certificate"
    if upload.size is not None and upload.size > LARGEST_BYTES:
        size = f"{upload.size / 1024**2:.1f}"
        raise Refused(f"“{name}” has {size} MB; up to {LARGEST_BYTES // 1024**2} MB are kept.", field="certificate")
    content = upload.read()
    if not content:
        raise Refused(f"“{name}” is empty. Choose the certificate's file again.", field="certificate")
    for first_bytes, media_type, endings in _KINDS:
        if content.startswith(first_bytes):
            fits = name.lower().endswith(endings)
            return name if fits else f"{name}{endings[0]}", media_type, content
    raise Refused(
        f"“{name}” is not a PDF, JPEG or PNG file, whatever its name says. Choose another file.",
        field="certificate",
    )

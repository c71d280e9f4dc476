"""Certificate files as they are uploaded: known by their first bytes, whatever their name says."""

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.core.files.uploadedfile import UploadedFile

from calibration.domain.certificate_xml import LARGEST_BYTES as LARGEST_DATA_BYTES
from calibration.domain.certificate_xml import CertificateError, too_large
from calibration.domain.digital_certificate import DigitalCertificate, read_digital_certificate, serial_difference
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

DATA_MEDIA_TYPE = "application/xml"


@dataclass(frozen=True, slots=True)
class DataFile:
    """A digital certificate as it came, and what it says."""

    name: str
    content: bytes
    certificate: DigitalCertificate

    @property
    def sha256(self) -> str:
        """The fingerprint of its bytes."""
        return hashlib.sha256(self.content).hexdigest()


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


def uploaded_data(upload: Upload) -> bytes:
    """The bytes of an uploaded digital certificate; one that is too large is refused before it is read."""
    if upload.size is not None and upload.size > LARGEST_DATA_BYTES:
        raise Refused(f"“{upload.name}”: {too_large(upload.size)}", field="data_file")
    content: bytes = upload.read()
    return content


def read_data_file(name: str, content: bytes, *, serial_number: str) -> DataFile:
    """A digital certificate taken apart; nothing is kept by this.

    Refused with a sentence: whatever is no such certificate, is hostile or contradicts itself, and one that is for
    another serial number.
    """
    try:
        certificate = read_digital_certificate(content)
    except CertificateError as wrong:
        raise Refused(f"“{name}”: {wrong}", field="data_file") from None
    difference = serial_difference(certificate, serial_number)
    if difference:
        raise Refused(f"“{name}”: {difference}", field="data_file")
    return DataFile(name, content, certificate)

"""Writing a certificate's file: rendered outside any transaction from the frozen content, stored once."""

import hashlib
from datetime import datetime

from django.db import transaction

from labsite.ledger.actions import keep_file, record_entry
from reports.domain.content_json import content_bytes
from reports.models import Certificate
from reports.queries.certificates import content_of
from reports.queries.kept_pictures import certificate_pictures
from reports.rendering.pdf import certificate_pdf


class ChangedContentError(RuntimeError):
    """A certificate's content is not what was issued; the message names the certificate."""


def write_certificate(*, certificate_id: int, at: datetime) -> bool:
    """Write the file of an issued certificate unless it is there; True when this call stored it.

    May be called any number of times, by any number of processes: the first one to finish stores its bytes, and
    those are never replaced. Raises ChangedContentError when the stored content is not the one that was issued.
    """
    certificate = Certificate.objects.select_related("order").get(pk=certificate_id)
    if certificate.pdf_id is not None:
        return False
    if hashlib.sha256(content_bytes(certificate.content)).hexdigest() != certificate.content_sha256:
        raise ChangedContentError(f"The content of {certificate.number} is not what was issued.")
    content = content_of(certificate)
    rendered = certificate_pdf(content, certificate_pictures(content))
    return _store(certificate, rendered, at=at)


@transaction.atomic
def _store(certificate: Certificate, rendered: bytes, *, at: datetime) -> bool:
    row = (
        Certificate.objects.select_for_update(of=("self",)).select_related("order", "issued_by").get(pk=certificate.pk)
    )
    if row.pdf_id is not None:
        return False
    row.pdf = keep_file(
        name=f"{row.number}.pdf", media_type="application/pdf", content=rendered, by=row.issued_by, at=at
    )
    row.save(update_fields=["pdf"])
    after = {"certificate": row.number, "content sha256": row.content_sha256, "file sha256": row.pdf.sha256}
    record_entry(book=row.order.book, act="wrote a certificate’s file", by=row.issued_by, at=at, data={"after": after})
    return True

"""The bytes of a certificate's photos, found by the fingerprints that its content froze."""

import hashlib

from labsite.ledger.models import StoredFile
from reports.domain.content import CertificateContent

type Pictures = dict[str, tuple[str, bytes]]
"""Media type and bytes by fingerprint."""


class LostPictureError(LookupError):
    """A photo of a certificate that is no longer kept as it was; the message names it."""


def certificate_pictures(content: CertificateContent) -> Pictures:
    """Every photo of a certificate; LostPictureError when one is gone or its bytes are others than at issue."""
    photos = [
        *(p for item in content.items for p in item.photos),
        *(p for trial in content.trials for p in trial.photos),
    ]
    wanted = {photo.sha256 for photo in photos}
    found: Pictures = {}
    for file in StoredFile.objects.filter(sha256__in=wanted).order_by("pk"):
        found.setdefault(file.sha256, (file.media_type, bytes(file.content)))
    for sha256 in sorted(wanted):
        if sha256 not in found or hashlib.sha256(found[sha256][1]).hexdigest() != sha256:
            raise LostPictureError(f"The photo {sha256} of certificate {content.number} is not kept as it was.")
    return found

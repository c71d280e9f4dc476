"""Work that goes on after an act: writing the files of issued certificates."""

from django.tasks import task
from django.utils import timezone

from reports.actions.writing import write_certificate


@task
def render_certificate(certificate_id: int) -> bool:
    """Write a certificate's file; harmless when it is written already or somebody else is at it."""
    return write_certificate(certificate_id=certificate_id, at=timezone.now())

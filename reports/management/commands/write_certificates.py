"""Write the files of certificates whose writing was cut short."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from reports.actions.writing import write_certificate
from reports.queries.certificates import unwritten_certificates


class Command(BaseCommand):
    """manage.py write_certificates"""

    help = "Write the file of every issued certificate that has none yet; safe to run at any time, any number of times."

    def handle(self, *args: Any, **options: Any) -> None:
        """Write one after the other; one that cannot be written does not keep the others from it."""
        failed = []
        for certificate in unwritten_certificates():
            try:
                if write_certificate(certificate_id=certificate.pk, at=timezone.now()):
                    self.stdout.write(f"{certificate.number} written")
            except Exception as fault:  # whatever it is: the others still want their files
                failed.append(certificate.number)
                self.stderr.write(f"{certificate.number} not written: {fault}")
        if failed:
            raise SystemExit(1)

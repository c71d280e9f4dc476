"""Read a digital calibration certificate and print what it says as JSON; nothing is stored."""

from argparse import ArgumentParser
from dataclasses import asdict
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from calibration.domain.certificate_xml import LARGEST_BYTES, CertificateError, too_large
from calibration.domain.digital_certificate import read_digital_certificate, serial_difference
from calibration.management.answers import Refused, as_json
from calibration.queries.certificate_schemas import SchemaMissingError, check_against_schema


class Command(BaseCommand):
    """`manage.py read_certificate FILE.xml`; needs no database."""

    help = "Read a digital calibration certificate (XML, versions 2.4 and 3.1 to 3.3) and print what it says as JSON."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the file, where its schemas lie, and the serial number it ought to be for."""
        parser.add_argument("file", type=Path, help="the certificate, XML")
        parser.add_argument(
            "--schema-dir", type=Path, help="folder with the published schemas, dcc/v3.3.0/dcc.xsd and so on"
        )
        parser.add_argument("--serial", default="", help="the instrument's serial number, compared with the file's")

    def handle(self, *args: object, **options: Any) -> None:
        """Read and print, or refuse with the file's name before the sentence."""
        file: Path = options["file"]
        try:
            content = _content(file)
            certificate = read_digital_certificate(content)
            if options["schema_dir"] is not None:
                check_against_schema(content, options["schema_dir"])
        except (CertificateError, SchemaMissingError) as refusal:
            raise Refused(f"{file}: {refusal}") from refusal
        except OSError as error:
            raise Refused(f"{file}: the file cannot be read ({error.strerror}).") from error
        difference = serial_difference(certificate, options["serial"])
        if difference:
            raise Refused(f"{file}: {difference}")
        schema = "not checked" if options["schema_dir"] is None else "followed"
        signature = "not verified" if certificate.signed else "none"
        answer = asdict(certificate) | {"schema": schema, "signature": signature}
        self.stdout.write(as_json(_plain(answer)))


def _content(file: Path) -> bytes:
    """The file's bytes; a file that is too large is not opened, and one that grows is read no further."""
    size = file.stat().st_size
    if size > LARGEST_BYTES:
        raise CertificateError(too_large(size))
    with file.open("rb") as opened:
        return opened.read(LARGEST_BYTES + 1)


def _plain(value: Any) -> Any:
    """Numbers as text with their digits, days as year-month-day."""
    if isinstance(value, dict):
        return {name: _plain(one) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    if isinstance(value, Decimal):
        return format(value, "f")
    return value.isoformat() if isinstance(value, date) else value

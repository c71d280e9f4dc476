"""Judge a calibration against its limits from the command line and print it as JSON."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from calibration.domain.conformity_file import ConformityFileError, conformity_answer
from calibration.management.answers import answer_of


class Command(BaseCommand):
    """`manage.py conformity FILE.json`; needs no database."""

    help = "Judge the points of a calibration against limits (fixtures/conformity/README.md) and print each as JSON."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the one file."""
        parser.add_argument("file", type=Path, help="points and limits, JSON in UTF-8")

    def handle(self, *args: object, **options: Any) -> None:
        """Read, judge and print, or refuse with the file's name before the sentence."""
        self.stdout.write(answer_of(options["file"], conformity_answer, ConformityFileError))

"""Judge one worked example from the command line and print the verdicts and the line's result as JSON."""

import json
from argparse import ArgumentParser
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from trials.domain.criteria import digits
from trials.domain.judge_file import case_result, judge_case
from trials.management.judge_files import answer_of


class Command(BaseCommand):
    """`manage.py judge FILE.json`; needs no database."""

    help = "Judge one worked example (fixtures/worked/README.md) and print verdicts, reasons and line result as JSON."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the one file to judge."""
        parser.add_argument("file", type=Path, help="the worked example, JSON in UTF-8")

    def handle(self, *args: object, **options: Any) -> None:
        """Read, judge and print, or refuse with the file's name before the sentence."""
        result = answer_of(options["file"], lambda text: case_result(judge_case(text)))
        self.stdout.write(json.dumps(result, sort_keys=True, indent=2, ensure_ascii=False, default=_plain))


def _plain(value: object) -> str:
    """Write a number of the file's own expectations as text, its digits kept."""
    if isinstance(value, Decimal):
        return digits(value)
    raise TypeError(f"{type(value).__name__} has no place in a verdict")

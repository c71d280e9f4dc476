"""Say what an order line tests next, or what it came to, from a judge file on the command line."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from trials.domain.next_step_file import next_step_result
from trials.management.judge_files import answer_of


class Command(BaseCommand):
    """`manage.py next_step FILE.json`; needs no database."""

    help = "Print the next level or set of specimens, or the final result, with reasons (fixtures/worked/README.md)."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the one file."""
        parser.add_argument("file", type=Path, help="a file as for judge; specimens may state their outcome")

    def handle(self, *args: object, **options: Any) -> None:
        """Read, judge and print, or refuse with the file's name before the sentence."""
        answer = answer_of(options["file"], next_step_result)
        self.stdout.write(json.dumps(answer, sort_keys=True, indent=2, ensure_ascii=False))

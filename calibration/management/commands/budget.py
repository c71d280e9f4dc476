"""Reckon an uncertainty budget from the command line and print it as JSON."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from calibration.domain.budget_file import budget_answer
from calibration.domain.contributions import BudgetError
from calibration.management.answers import Refused, as_json

LARGEST_FILE = 1_000_000


class Command(BaseCommand):
    """`manage.py budget FILE.json`; needs no database."""

    help = "Reckon an uncertainty budget (fixtures/budgets/README.md) and print its rows, k and U as JSON."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the one file."""
        parser.add_argument("file", type=Path, help="the budget, JSON in UTF-8")

    def handle(self, *args: object, **options: Any) -> None:
        """Read, reckon and print, or refuse with the file's name before the sentence."""
        file: Path = options["file"]
        try:
            if file.stat().st_size > LARGEST_FILE:
                raise Refused(f"{file}: the file is larger than {LARGEST_FILE} bytes; no budget is.")
            answer = budget_answer(file.read_text(encoding="utf-8-sig"))
        except OSError as error:
            raise Refused(f"{file}: the file cannot be read ({error.strerror}).") from error
        except UnicodeDecodeError as error:
            raise Refused(f"{file}: the file is not UTF-8 text (byte {error.start}).") from error
        except BudgetError as refusal:
            raise Refused(f"{file}: {refusal}") from refusal
        self.stdout.write(as_json(answer))

"""Reckon an uncertainty budget from the command line and print it as JSON."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from calibration.domain.budget_file import budget_answer
from calibration.domain.contributions import BudgetError
from calibration.management.answers import answer_of


class Command(BaseCommand):
    """`manage.py budget FILE.json`; needs no database."""

    help = "Reckon an uncertainty budget (fixtures/budgets/README.md) and print its rows, k and U as JSON."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the one file."""
        parser.add_argument("file", type=Path, help="the budget, JSON in UTF-8")

    def handle(self, *args: object, **options: Any) -> None:
        """Read, reckon and print, or refuse with the file's name before the sentence."""
        self.stdout.write(answer_of(options["file"], budget_answer, BudgetError))

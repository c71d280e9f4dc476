"""Judge one worked example from the command line and print the verdicts and the line's result as JSON."""

import json
from argparse import ArgumentParser
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from trials.domain.criteria import digits
from trials.domain.judge_file import JudgeFileError, case_result, judge_case


class Refused(CommandError):
    """A file that cannot be judged, said in one sentence; the command ends with status 2."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence, returncode=2)


class Command(BaseCommand):
    """`manage.py judge FILE.json`; needs no database."""

    help = "Judge one worked example (fixtures/worked/README.md) and print verdicts, reasons and line result as JSON."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the one file to judge."""
        parser.add_argument("file", type=Path, help="the worked example, JSON in UTF-8")

    def handle(self, *args: object, **options: Any) -> None:
        """Read, judge and print, or refuse with the file's name before the sentence."""
        file: Path = options["file"]
        try:
            result = case_result(judge_case(file.read_text(encoding="utf-8-sig")))
        except OSError as error:
            raise Refused(f"{file}: the file cannot be read ({error.strerror}).") from error
        except UnicodeDecodeError as error:
            raise Refused(f"{file}: the file is not UTF-8 text (byte {error.start}).") from error
        except JudgeFileError as refusal:
            raise Refused(f"{file}: {refusal}") from refusal
        self.stdout.write(json.dumps(result, sort_keys=True, indent=2, ensure_ascii=False, default=_plain))


def _plain(value: object) -> str:
    """Write a number of the file's own expectations as text, its digits kept."""
    if isinstance(value, Decimal):
        return digits(value)
    raise TypeError(f"{type(value).__name__} has no place in a verdict")

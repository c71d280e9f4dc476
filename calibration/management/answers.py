"""How the commands of this app answer: JSON on standard output, or one sentence on standard error with status 2."""

import json
from typing import Any

from django.core.management.base import CommandError


class Refused(CommandError):
    """What cannot be answered, said in one sentence; the command ends with status 2."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence, returncode=2)


def as_json(answer: dict[str, Any]) -> str:
    """Return the answer as text."""
    return json.dumps(answer, ensure_ascii=False, indent=2)

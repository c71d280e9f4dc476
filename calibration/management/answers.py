"""How the commands of this app answer: JSON on standard output, or one sentence on standard error with status 2."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError

LARGEST_FILE = 1_000_000


class Refused(CommandError):
    """What cannot be answered, said in one sentence; the command ends with status 2."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence, returncode=2)


def answer_of(file: Path, answer: Callable[[str], dict[str, Any]], refusal: type[ValueError]) -> str:
    """Return what `answer` says of the file's text; Refused when it cannot be read or `refusal` is raised."""
    try:
        if file.stat().st_size > LARGEST_FILE:
            raise Refused(f"{file}: the file is larger than {LARGEST_FILE} bytes.")
        return as_json(answer(file.read_text(encoding="utf-8-sig")))
    except OSError as error:
        raise Refused(f"{file}: the file cannot be read ({error.strerror}).") from error
    except UnicodeDecodeError as error:
        raise Refused(f"{file}: the file is not UTF-8 text (byte {error.start}).") from error
    except refusal as wrong:
        raise Refused(f"{file}: {wrong}") from wrong


def as_json(answer: dict[str, Any]) -> str:
    """Return the answer as text."""
    return json.dumps(answer, ensure_ascii=False, indent=2)

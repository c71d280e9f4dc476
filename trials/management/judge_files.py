"""Reading a judge file for a command: the answer, or one sentence with the file's name and status 2."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError

from trials.domain.judge_file import JudgeFileError


class Refused(CommandError):
    """A file that cannot be judged, said in one sentence; the command ends with status 2."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence, returncode=2)


def answer_of(file: Path, judge: Callable[[str], dict[str, Any]]) -> dict[str, Any]:
    """Return what `judge` says of the file's text; Refused when it cannot be read or judged."""
    try:
        return judge(file.read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise Refused(f"{file}: the file cannot be read ({error.strerror}).") from error
    except UnicodeDecodeError as error:
        raise Refused(f"{file}: the file is not UTF-8 text (byte {error.start}).") from error
    except JudgeFileError as refusal:
        raise Refused(f"{file}: {refusal}") from refusal

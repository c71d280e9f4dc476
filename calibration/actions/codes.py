"""Codes people call instruments and rigs by: what they may look like, and that no two are alike."""

import re
from collections.abc import Iterable

from labsite.ledger.refusals import Refused

_CODE = re.compile(r"[A-Za-z][A-Za-z0-9._-]{0,19}")


def check_code(code: str, others: Iterable[str]) -> None:
    """Refuse a code that cannot stand in an address, or that reads like one that is there already.

    “TC-05”, “tc-05” and “TC05” are one code to somebody who types it into the Find box.
    """
    if not _CODE.fullmatch(code) or code.casefold() == "new":
        raise Refused(
            f"“{code}” cannot be a code: up to 20 letters, digits, points and hyphens, a letter first, like TC-05.",
            field="code",
        )
    same = next((other for other in others if _squeezed(other) == _squeezed(code)), None)
    if same is not None:
        raise Refused(f"“{code}” reads like {same}, which is already here. Choose another code.", field="code")


def _squeezed(code: str) -> str:
    return "".join(character for character in code.casefold() if character.isalnum())

"""Numbers as recorders write them: decimal marks, groups of three, units in the cell, texts for "no value"."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

TokenKind = Literal["value", "fault", "doubtful", "blank"]

# Texts that recorders and spreadsheets put where a sensor gave nothing (gathered from public bug reports; common
# practice, editable per recorder through Answers.fault_tokens and genuine_tokens).
FAULT_WORDS = frozenset(
    [
        "nan",
        "nil",
        "none",
        "null",
        "n/a",
        "na",
        "#n/a",
        "#na",
        "#null!",
        "#num!",
        "#value!",
        "#ref!",
        "#div/0!",
        "#name?",
        "err",
        "error",
        "err.",
        "fault",
        "fail",
        "failed",
        "ol",
        "o.l.",
        "0l",
        "open",
        "short",
        "shorted",
        "over",
        "under",
        "overrange",
        "underrange",
        "overflow",
        "underflow",
        "oor",
        "lo",
        "hi",
        "low",
        "high",
        "inf",
        "-inf",
        "+inf",
        "infinity",
        "-infinity",
        "-nan",
        "invalid",
        "bad",
        "missing",
        "disconnected",
        "lost",
        "offline",
        "void",
        "nodata",
        "no_data",
        "ovr",
        "ovl",
        "ovrng",
        "no data",
        "out of range",
        "no sensor",
        "sensor error",
        "open circuit",
        "short circuit",
        "not connected",
    ]
)
_FAULT_SHAPES = re.compile(r"[-+]?\d+\.#\w+|[-.*_?x/—–=~#:]+", re.IGNORECASE)

# Numbers that are codes, not readings: runs of nines and eights, ends of the range of 8- and 16-bit registers, with
# and without a scale of 10 or 100.
_CODE_SHAPES = re.compile(r"-?(9{3,}|8{3,})(\.(0+|9+|8+))?|-99\.9+|-88\.8+")
_CODE_NUMBERS = frozenset(
    (-127.0, -128.0, 3276.7, 3276.8, -3276.7, -3276.8, 32767.0, 32768.0, -32767.0, -32768.0, 327.67, -327.67)
) | {-327.68, 65535.0, 65534.0, 6553.5, 6553.4, 655.35, 6999.0, -6999.0, 7999.0, -7999.0}

ODD_SPACES = (
    "\u00a0\u1680\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u202f\u205f\u3000\u2060\ufeff\t"
)
_SPACE_TABLE = str.maketrans(dict.fromkeys(ODD_SPACES, " "))
_MINUS_TABLE = str.maketrans({"\u2212": "-", "\u2013": "-", "\u00b4": "'", "\u2019": "'"})

_NUMBER = re.compile(r"([+-]?)(\d[\d.,' ]*|[.,]\d+)([eE][+-]?\d+)?")
_CELL_UNIT = re.compile(r"\s*(°\s?[CFK]|[CFK](?![\w])|%\s?(?:r\.?h\.?|r\.?f\.?)?)$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class NumberToken:
    """One cell read: its kind, its value where it has one, and a unit written in the cell itself."""

    kind: TokenKind
    value: float | None = None
    unit: str | None = None


def plain_text(text: str) -> str:
    """The cell with every kind of space as a plain one, stripped, and minus signs and apostrophes made uniform."""
    if text.isascii():  # most cells of a long file: translating each of them would take most of the time
        return text.replace("\t", " ").strip()
    return text.translate(_SPACE_TABLE).translate(_MINUS_TABLE).strip()


def is_number_like(text: str) -> bool:
    """Whether a cell holds a number in some notation, decimal mark left open."""
    body = _without_unit(plain_text(text))[0]
    return bool(_NUMBER.fullmatch(body)) and not re.search(r"[.,] ?\d+[.,' ]+\d+[.,]\d", body)


def is_fault_word(text: str) -> bool:
    """Whether a cell holds one of the known texts for "no value"."""
    body = plain_text(text).casefold()
    return body in FAULT_WORDS or bool(_FAULT_SHAPES.fullmatch(body))


def _without_unit(body: str) -> tuple[str, str | None]:
    match = _CELL_UNIT.search(body)
    if match is None or match.start() == 0 or (not body[0].isdigit() and body[0] not in "+-.,"):
        return body, None
    letters = match.group(1).replace(" ", "").upper()
    return body[: match.start()].rstrip(), "%" if letters.startswith("%") else letters.lstrip("°")


def cell_unit(text: str) -> str | None:
    """The unit written in a cell behind its number ("C", "F", "K" or "%"); None when there is none."""
    return _without_unit(plain_text(text))[1]


def read_number(text: str, *, decimal_mark: str, doubtful: str | None = None) -> NumberToken:
    """Read one cell in a file whose decimal mark is known.

    Spaces of any kind and apostrophes are accepted between groups of three. A mark that could be either ("1.200" in a
    comma file, "23,4" in a point file) makes the cell doubtful: it has no value unless `doubtful` says how such cells
    are meant ("decimal", "thousands", or "missing").
    """
    body = plain_text(text)
    if not body:
        return NumberToken("blank")
    body, unit = _without_unit(body)
    if not _NUMBER.fullmatch(body):
        return NumberToken("fault")
    other = "," if decimal_mark == "." else "."
    mark, wrong = re.escape(decimal_mark), re.escape(other)
    if re.fullmatch(rf"[+-]?(\d+({mark}\d+)?|{mark}\d+)([eE][+-]?\d+)?", body):
        return NumberToken("value", float(body.replace(decimal_mark, ".")), unit)
    for group in (" ", "'"):
        if re.fullmatch(rf"[+-]?\d{{1,3}}({group}\d{{3}})+({mark}\d+)?", body):
            return NumberToken("value", float(body.replace(group, "").replace(decimal_mark, ".")), unit)
    if re.fullmatch(rf"[+-]?\d{{1,3}}({wrong}\d{{3}})+{mark}\d+|[+-]?\d{{1,3}}({wrong}\d{{3}}){{2,}}", body):
        return NumberToken("value", float(body.replace(other, "").replace(decimal_mark, ".")), unit)
    if doubtful == "decimal" and re.fullmatch(rf"[+-]?\d*{wrong}\d+", body):
        return NumberToken("value", float(body.replace(other, ".")), unit)
    if doubtful == "thousands" and re.fullmatch(rf"[+-]?\d{{1,3}}{wrong}\d{{3}}", body):
        return NumberToken("value", float(body.replace(other, "")), unit)
    return NumberToken("doubtful", None, unit)


def is_code_number(text: str, value: float) -> bool:
    """Whether a number is one of the codes that recorders write for a fault (999, -9999, 3276.7, 65535 ...)."""
    body = _without_unit(plain_text(text))[0].replace(",", ".")
    return value in _CODE_NUMBERS or bool(_CODE_SHAPES.fullmatch(body))


def decimal_mark_evidence(counted_texts: Iterable[tuple[str, int]]) -> dict[str, int]:
    """How many cells prove each decimal mark, and how many ("open") could be read either way.

    "23.1" proves the point, "1 200,5" the comma; "23.100" proves nothing, as it could be a group of three.
    """
    found = {".": 0, ",": 0, "open": 0}
    for text, count in counted_texts:
        body = _without_unit(plain_text(text))[0]
        if not _NUMBER.fullmatch(body) or not re.search(r"[.,]", body):
            continue
        last = max(body.rfind("."), body.rfind(","))
        mark, other = body[last], "," if body[last] == "." else "."
        grouped = re.fullmatch(rf"[+-]?[1-9]\d{{0,2}}({re.escape(mark)}\d{{3}})+", body)
        if body.count(mark) > 1:
            found[other] += count if grouped else 0
        elif grouped:
            found["open"] += count
        else:
            found[mark] += count
    return found

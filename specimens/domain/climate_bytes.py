"""From the bytes of a file to clean UTF-8 text: what kind of file it is, its encoding, and where it is damaged."""

import re
from dataclasses import dataclass

from specimens.domain.climate_answers import Answers, ClimateRefused, Option, Question
from specimens.domain.climate_columns import readable_headings
from specimens.domain.climate_workbook import is_workbook, workbook_text

_HOLES = re.compile(rb"\x00+|\xff{4,}")
_BOMS = ((b"\xff\xfe\x00\x00", "utf-32"), (b"\x00\x00\xfe\xff", "utf-32"), (b"\xef\xbb\xbf", "utf-8-sig"))
_WIDE_BOMS = ((b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
_LEGACY = ("cp1252", "gb18030", "cp932", "cp1251", "cp1250", "cp1253", "cp437", "mac_roman", "big5", "euc_kr")
_SIGNATURES = (
    (b"PK\x03\x04", "a zip archive"),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet workbook (.xls)"),
    (b"%PDF", "a PDF document"),
    (b"\x1f\x8b", "a gzip archive"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"SQLite format 3", "a database"),
    (b"{\\rtf", "a word-processor document"),
)


@dataclass(frozen=True, slots=True)
class Damage:
    """A place where the file holds no text: the line it begins in, how many bytes, and what is there."""

    line: int
    size: int
    what: str


@dataclass(frozen=True, slots=True)
class Opened:
    """Clean text as UTF-8 with plain line ends, and what was found on the way.

    `cut_ends` and `cut_starts` are lines of `body` that stop or begin where the file is damaged; `breaks` are lines
    of `body` that begin at a line end we put in, so that later lines have a lower number in the file itself.
    """

    body: bytes
    encoding: str
    damage: tuple[Damage, ...] = ()
    cut_ends: frozenset[int] = frozenset()
    cut_starts: frozenset[int] = frozenset()
    breaks: tuple[int, ...] = ()
    notices: tuple[str, ...] = ()


def opened(data: bytes, *, name: str, answers: Answers) -> Opened:
    """Recognise the file by its first bytes and bring it to clean text. Raises ClimateRefused otherwise."""
    if data.startswith(b"PK\x03\x04") and is_workbook(data):
        return _opened_workbook(data, name)
    start = data[:2048].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if re.match(rb"<(!doctype html|html|table|head|body|meta|\?xml|!--)", start):
        raise ClimateRefused(
            f"{name} is a web page or XML document, not a table of readings: export the record as CSV instead."
        )
    for signature, kind in _SIGNATURES:
        if data.startswith(signature):
            raise ClimateRefused(
                f"{name} is {kind}, not a table of readings: export the record as CSV and bring that in."
            )
    if len(re.findall(rb"[\x01-\x08\x0e-\x19\x1c-\x1f\x7f]", data[:4096])) * 20 > len(data[:4096]):
        raise ClimateRefused(f"{name} is not a text file: export the record as CSV and bring that in.")
    body, encoding, notices = _decoded(data, name, answers)
    if b"\r" in body and body.count(b"\r") != body.count(b"\r\n"):
        body = body.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    return _without_holes(body, encoding, notices, name)


def _opened_workbook(data: bytes, name: str) -> Opened:
    if not name.casefold().endswith((".xlsx", ".xlsm")):
        raise ClimateRefused(
            f"{name} is a spreadsheet workbook under another name: give it the ending .xlsx, or open it and export "
            "the sheet as CSV."
        )
    body, sheet = workbook_text(data, name=name)
    return Opened(body, "workbook", notices=(f"Read from sheet “{sheet}” of a workbook.",))


def _decoded(data: bytes, name: str, answers: Answers) -> tuple[bytes, str, list[str]]:
    if not data.strip(b"\xef\xbb\xbf \t\r\n\x1a"):
        raise ClimateRefused(f"{name}: the file is empty.")
    if answers.encoding:
        try:
            return data.decode(answers.encoding).lstrip("\ufeff").encode("utf-8"), answers.encoding, []
        except (LookupError, UnicodeError) as fault:
            raise ClimateRefused(f"{name} cannot be read as {answers.encoding}.") from fault
    for mark, encoding in _BOMS + _WIDE_BOMS:
        if data.startswith(mark):
            if encoding == "utf-8-sig":
                data = data.removeprefix(mark)
                break
            text = data.decode(encoding, "replace").lstrip("\ufeff")
            return _nonempty(text, name).encode("utf-8"), encoding, []
    else:
        for encoding, zeros in (("utf-16-le", data[1:2048:2]), ("utf-16-be", data[0:2048:2])):
            if len(zeros) > 4 and zeros.count(0) > 0.7 * len(zeros) and data[:2048].count(0) < 0.6 * len(data[:2048]):
                text = _nonempty(data.decode(encoding, "replace"), name)
                return text.encode("utf-8"), encoding, []
    return _eight_bit(data, name)


def _nonempty(text: str, name: str) -> str:
    if not text.strip():
        raise ClimateRefused(f"{name}: the file is empty.")
    return text


def _eight_bit(data: bytes, name: str) -> tuple[bytes, str, list[str]]:
    """UTF-8 when the text is valid UTF-8 (holes aside), otherwise the code page that makes the headings readable."""
    text = data if data.isascii() else _HOLES.sub(lambda hole: b"\x00" * len(hole[0]), data)
    try:
        if not text.isascii():
            text.decode("utf-8")
    except UnicodeDecodeError:
        pass
    else:
        return text, "utf-8", []
    head = text[:16384]
    scores = {encoding: _score(head.decode(encoding, "replace")) for encoding in _LEGACY}
    chosen = max(_LEGACY, key=lambda encoding: (scores[encoding], -_LEGACY.index(encoding)))
    if scores[chosen] == 0:
        options = tuple(Option(encoding, encoding) for encoding in _LEGACY)
        question = Question("encoding", f"Which code page was {name} written in?", options)
        raise ClimateRefused(
            f"{name} is not UTF-8 and no known code page makes its headings readable.", questions=(question,)
        )
    notice = f"The file is not UTF-8; read as {chosen}, under which its headings are readable."
    return text.decode(chosen, "replace").encode("utf-8"), chosen, [notice]


def _score(text: str) -> int:
    return max((readable_headings(line) for line in text.splitlines()[:80]), default=0)


def _without_holes(body: bytes, encoding: str, notices: list[str], name: str) -> Opened:
    """Take out runs of zero bytes (a power cut leaves them) so that no neighbouring line is glued to another."""
    body = body.rstrip(b"\x1a")
    if b"\x00" not in body:
        return Opened(body, encoding, notices=tuple(notices))
    parts: list[bytes] = []
    damage: list[Damage] = []
    cut_ends, cut_starts, breaks = set(), set(), []
    done, line, shift = 0, 1, 0
    for hole in _HOLES.finditer(body):
        piece = body[done : hole.start()]
        parts.append(piece)
        line += piece.count(b"\n")
        damage.append(Damage(line - shift, hole.end() - hole.start(), "zero bytes where text should be"))
        fresh = not piece.endswith(b"\n") if piece or parts[:-1] else False
        follows = body[hole.end() : hole.end() + 1] not in (b"", b"\n", b"\r")
        if fresh:
            cut_ends.add(line)
            if follows:
                parts.append(b"\n")
                line, shift = line + 1, shift + 1
                breaks.append(line)
        if follows:
            cut_starts.add(line)
        done = hole.end()
    parts.append(body[done:])
    cleaned = b"".join(parts)
    if not cleaned.strip():
        raise ClimateRefused(f"{name} holds nothing but zero bytes: it was damaged, take it from the recorder again.")
    return Opened(
        cleaned, encoding, tuple(damage), frozenset(cut_ends), frozenset(cut_starts), tuple(breaks), tuple(notices)
    )

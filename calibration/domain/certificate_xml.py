"""Digital calibration certificates as XML from outside: taken apart without trust, nothing fetched, nothing expanded.

The format is the open Digital Calibration Certificate of the Physikalisch-Technische Bundesanstalt; namespaces
https://ptb.de/dcc and https://ptb.de/si.
"""

import re
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import Final

from lxml import etree

DCC: Final = "https://ptb.de/dcc"
SI: Final = "https://ptb.de/si"
SIGNATURE: Final = "{http://www.w3.org/2000/09/xmldsig#}Signature"
LARGEST_BYTES = 20 * 1024 * 1024
MOST_ELEMENTS = 200_000
DEEPEST = 100
PIECE_BYTES = 64 * 1024
LONGEST_TEXT = 300
MOST_WORDS = 2000
"""Values in one list; a longer one is refused before it is taken apart."""
_VERSION = re.compile(r"(2\.4|3\.[123])\.\d{1,2}", re.ASCII)
_NUMBER = re.compile(r"[-+]?(\d{1,30}(\.\d{0,30})?|\.\d{1,30})([eE][-+]?\d{1,2})?", re.ASCII)
_DAY = re.compile(r"(\d{4}-\d{2}-\d{2})(Z|[-+]\d{2}:\d{2})?", re.ASCII)
_NAMES = {"dcc": DCC, "si": SI}


class CertificateError(ValueError):
    """The file is not read; the message is one sentence naming the place and the reason."""


def root_of(content: bytes) -> etree._Element:
    """Return the root element of a certificate's bytes, its version looked at.

    A first pass in pieces, which keeps nothing, refuses what is too large, declares a document type (which is where
    entities come from), nests too deeply, has too many elements or is no certificate; only then is the tree made.
    Raises CertificateError.
    """
    if len(content) > LARGEST_BYTES:
        raise CertificateError(too_large(len(content)))
    if not content.strip():
        raise CertificateError("The file is empty.")
    _screen(content)
    try:
        return etree.fromstring(content, _parser())
    except etree.XMLSyntaxError as error:
        raise CertificateError(f"The file is not well-formed XML: {_first_sentence(error)}.") from None


def too_large(size: int) -> str:
    """Return the sentence for a file of so many bytes."""
    return f"The file has {size / 1024**2:.1f} MB; up to {LARGEST_BYTES // 1024**2} MB are read."


def children(element: etree._Element, path: str) -> list[etree._Element]:
    """Return the elements at a path of direct children, such as `dcc:item/dcc:name`."""
    return element.findall(path, _NAMES)


def child(element: etree._Element, path: str) -> etree._Element | None:
    """Return the first element at a path of direct children, or None."""
    return element.find(path, _NAMES)


def text_at(element: etree._Element | None, path: str) -> str:
    """Return the text at a path, blanks collapsed and cut to what a form takes; empty where there is none."""
    found = None if element is None else child(element, path)
    return "" if found is None else _plain(found.text)


def wording_at(element: etree._Element | None, path: str) -> str:
    """Return a text given in several languages: in English, else without a language, else the first."""
    found = None if element is None else child(element, path)
    if found is None:
        return ""
    texts = [(one.get("lang", ""), _plain(one.text)) for one in children(found, "dcc:content")]
    texts.sort(key=lambda one: {"en": 0, "": 1}.get(one[0], 2))
    return next((text for _, text in texts if text), "")


def kinds_of(element: etree._Element) -> tuple[str, ...]:
    """Return what an element says it is (`refType`), word by word."""
    return tuple(element.get("refType", "").split())


def day_at(element: etree._Element | None, path: str, place: str) -> date | None:
    """Return the day at a path, None where there is none; refused when it is no day."""
    text = text_at(element, path)
    if not text:
        return None
    found = _DAY.fullmatch(text)
    try:
        if found is None:
            raise ValueError(text)
        return date.fromisoformat(found[1])
    except ValueError:
        raise CertificateError(f"{place}: “{text[:40]}” is not a day.") from None


def number(text: str, place: str) -> Decimal:
    """Return a number with its digits; refused when it is none, with a comma, or beyond what anybody measures."""
    if not _NUMBER.fullmatch(text):
        raise CertificateError(f"{place}: “{text[:40]}” is not a number.")
    return Decimal(text)


def numbers(text: str, place: str) -> tuple[Decimal, ...]:
    """Return numbers separated by blanks."""
    return tuple(number(word, place) for word in words(text, place))


def words_at(element: etree._Element, path: str, place: str) -> list[str]:
    """Return the words of a list at a path; none where there is none."""
    found = child(element, path)
    return [] if found is None else words(found.text or "", place)


def words(text: str, place: str) -> list[str]:
    """Return the words of a list; refused when there are more than anybody measures."""
    found = text.split(maxsplit=MOST_WORDS)
    if len(found) > MOST_WORDS:
        raise CertificateError(f"{place}: more than {MOST_WORDS} values in one list.")
    return found


def _plain(text: str | None) -> str:
    """A text with its blanks collapsed, cut to what a form takes; the rest of a long one is not looked at."""
    return " ".join((text or "")[: 10 * LONGEST_TEXT].split())[:LONGEST_TEXT]


def _parser() -> etree.XMLParser:
    return etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        huge_tree=False,
        remove_comments=True,
        remove_pis=True,
    )


def _screen(content: bytes) -> None:
    parser = etree.XMLParser(target=_Screen(), resolve_entities=False, no_network=True, load_dtd=False, huge_tree=False)
    try:
        for piece in _pieces(content):
            parser.feed(piece)
        parser.close()
    except etree.XMLSyntaxError as error:
        raise CertificateError(f"The file is not well-formed XML: {_first_sentence(error)}.") from None


def _pieces(content: bytes) -> Iterator[bytes]:
    return (content[start : start + PIECE_BYTES] for start in range(0, len(content), PIECE_BYTES))


class _Screen:
    """What the first pass hears: it counts, and stops at what a certificate does not have."""

    def __init__(self) -> None:
        self.count = 0
        self.depth = 0

    def doctype(self, name: str, public_id: str | None, system_url: str | None) -> None:
        """Stop: entities, external or nested, come with a document type."""
        raise CertificateError("The file declares a document type; a certificate has none, and none is read.")

    def start(self, tag: str | bytes, attrib: dict[str | bytes, str | bytes]) -> None:
        """Count an element; the first one says whether this is a certificate, and of which version."""
        self.count += 1
        self.depth += 1
        if self.count == 1:
            _check_root(str(tag), str(attrib.get("schemaVersion", "")))
        if self.count > MOST_ELEMENTS:
            raise CertificateError(f"The file has more than {MOST_ELEMENTS} elements; no certificate needs so many.")
        if self.depth > DEEPEST:
            raise CertificateError(f"The file nests its elements more than {DEEPEST} deep; no certificate does.")

    def end(self, tag: str | bytes) -> None:
        """Leave an element."""
        self.depth -= 1

    def data(self, data: str | bytes) -> None:
        """Keep no text."""

    def comment(self, text: str | bytes) -> None:
        """Keep no comment."""

    def close(self) -> None:
        """Keep nothing."""


def _check_root(tag: str, version: str) -> None:
    if tag != f"{{{DCC}}}digitalCalibrationCertificate":
        namespace, _, name = tag.rpartition("}")
        where = f"in the namespace {namespace[1:80]}" if namespace else "without a namespace"
        raise CertificateError(
            f"The file is not a digital calibration certificate: it begins with “{name[:80]}” {where}."
        )
    if not _VERSION.fullmatch(version):
        said = f"version {version[:20]} of the format" if version else "no version of the format"
        raise CertificateError(f"The certificate names {said}; versions 2.4 and 3.1 to 3.3 are read.")


def _first_sentence(error: etree.XMLSyntaxError) -> str:
    return (error.msg or "it cannot be taken apart").partition("\n")[0].rstrip(". ")[:160]

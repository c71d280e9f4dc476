"""Evidence on a material in place of a test on the part: levels at thicknesses, compared and never interpolated."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from trials.domain.criteria import digits

D = Decimal
type EvidenceKind = Literal["GWFI", "GWIT", "class"]

CLASSES = ("HB75", "HB", "HB40", "V-2", "V-1", "V-0")
"""Classes of small flames, each better than those before it; no other class is read."""
PREFERRED_MM = tuple(D(text) for text in ("0.1", "0.2", "0.4", "0.75", "1.5", "3.0", "6.0"))
"""Preferred thicknesses of test plates: general knowledge of IEC 60695-2-12, to be confirmed by the laboratory."""
SAME_THICKNESS_MM = D("0.1")
"""A plate no further than this from the part's thickness has the part's thickness: from general knowledge."""

_INDEX = re.compile(r"(GWFI|GWIT)\s*:?\s*>?\s*(\d{3})\s*(?:°C)?\s*/\s*(\d+(?:[.,]\d+)?)\s*(?:mm)?", re.IGNORECASE)
_CLASS = re.compile(r"(HB40|HB75|HB|V-?[012])\s*/\s*(\d+(?:[.,]\d+)?)\s*(?:mm)?", re.IGNORECASE)
_APART = re.compile(r"[;\n]|,\s")


class EvidenceError(ValueError):
    """Typed evidence that cannot be read; the message is one sentence that names the words."""


@dataclass(frozen=True)
class EvidenceAsked:
    """What replaces a test: an index of at least `minimum` (in °C) or a class at least as good as it (text)."""

    kind: EvidenceKind
    minimum: str

    @property
    def text(self) -> str:
        """In words, for instance "GWIT at least 775"."""
        if self.kind != "class":
            return f"{self.kind} at least {self.minimum}"
        better = CLASSES[CLASSES.index(self.minimum) + 1 :]
        return f"class {self.minimum}" + (" or better" if better else "")


@dataclass(frozen=True)
class MaterialEvidence:
    """A level of a material at the thickness of its test plate, digits as typed: GWFI 850 at 3.0 mm, V-0 at 1.5 mm."""

    kind: EvidenceKind
    level: str
    thickness_mm: Decimal

    @property
    def text(self) -> str:
        """As the trade writes it: "GWFI 850/3.0", "V-0/1.5"."""
        name = self.level if self.kind == "class" else f"{self.kind} {self.level}"
        return f"{name}/{digits(self.thickness_mm)}"


@dataclass(frozen=True)
class EvidenceAnswer:
    """Whether evidence replaces the test: None where nothing tells. The sentence says by what, or why not."""

    replaces: bool | None
    sentence: str


def evidence_answer(
    asked: Sequence[EvidenceAsked], found: Sequence[MaterialEvidence], part_mm: Decimal
) -> EvidenceAnswer:
    """Return whether `found` replaces the test on a part `part_mm` thick; any one of `asked` is enough.

    Of each kind the plate of the part's own thickness counts, else the thickest preferred one below it; a level at
    another thickness says nothing, and nothing is interpolated (general knowledge of IEC 60335-1 and IEC 60695-2-12).
    """
    if not asked:
        return EvidenceAnswer(None, "No evidence on the material replaces this test.")
    known = False
    for one in asked:
        plate = covering_mm(part_mm, [e.thickness_mm for e in found if e.kind == one.kind])
        levels = [e for e in found if e.kind == one.kind and e.thickness_mm == plate]
        if not levels:
            continue
        known = True
        worst = min(levels, key=lambda e: _rank(e.kind, e.level))
        if _rank(one.kind, worst.level) >= _rank(one.kind, one.minimum):
            return EvidenceAnswer(True, f"{worst.text} replaces the test: {one.text} is asked for.")
    alternatives = " or ".join(one.text for one in asked)
    thick = f"{digits(part_mm)} mm"
    if known:
        return EvidenceAnswer(False, f"What is known at {thick} does not reach {alternatives}; the part is tested.")
    return EvidenceAnswer(None, f"Nothing typed covers {thick}; {alternatives} is asked for, no thicker than the part.")


def covering_mm(part_mm: Decimal, plates_mm: Sequence[Decimal]) -> Decimal | None:
    """Return the thickness of the plate that stands for a part: its own within 0.1 mm, else the preferred one below.

    The nearest of its own thickness wins, the thinner one of two equally near. None where no plate covers the part.
    """
    own = [plate for plate in plates_mm if abs(plate - part_mm) <= SAME_THICKNESS_MM]
    if own:
        return min(own, key=lambda plate: (abs(plate - part_mm), plate))
    return max((plate for plate in plates_mm if plate <= part_mm and plate in PREFERRED_MM), default=None)


def evidence_from_text(text: str) -> tuple[MaterialEvidence, ...]:
    """Return what somebody typed from a data sheet: "GWFI 850/3.0; GWIT 775/1.5; V-0/0.75".

    Raises EvidenceError for words that are no index or class with a thickness.
    """
    return tuple(_evidence(part.strip()) for part in _APART.split(text) if part.strip())


def _evidence(words: str) -> MaterialEvidence:
    index, flame = _INDEX.fullmatch(words), _CLASS.fullmatch(words)
    if index is not None:
        kind: EvidenceKind = "GWFI" if index[1].upper() == "GWFI" else "GWIT"
        return MaterialEvidence(kind, index[2], D(index[3].replace(",", ".")))
    if flame is not None:
        name = flame[1].upper()
        level = f"V-{name[-1]}" if name.startswith("V") else name
        return MaterialEvidence("class", level, D(flame[2].replace(",", ".")))
    raise EvidenceError(f"“{words}” cannot be read; write level and plate thickness, for instance GWFI 850/3.0.")


def _rank(kind: EvidenceKind, level: str) -> Decimal:
    return D(CLASSES.index(level)) if kind == "class" else D(level)

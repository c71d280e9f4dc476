"""Items and specimens in a certificate’s content: what came in, who says so, and what was wrong with it."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from labsite.ledger.numbering import grouped

type Source = Literal["client", "laboratory"]


def number_text(digits: str) -> str:
    """A number as people read it, check digit included: 26-0414-003-7; empty for an empty one."""
    return "-".join(grouped(digits)) if digits else ""


@dataclass(frozen=True)
class Stated:
    """A fact about an item and who it comes from, which must be recognisable in print (ISO/IEC 17025 7.8.2.2)."""

    text: str
    source: Source


@dataclass(frozen=True)
class DeviationContent:
    """Something that differed at receipt, what the client said, and the specimens it is about."""

    text: str
    found_on: date
    decision: str
    answered_by: str
    answer: str
    answered_on: date | None
    specimens: tuple[str, ...]


@dataclass(frozen=True)
class PhotoContent:
    """A picture by its fingerprint; the bytes are kept beside the records."""

    about: str
    caption: str
    taken_at: datetime
    sha256: str


@dataclass(frozen=True)
class ItemContent:
    """One item as received; `specimens` are the pieces of it named in this certificate."""

    number: str
    received_at: datetime | None
    parcel: str
    description: Stated
    client_name: Stated
    material: Stated
    colour: Stated
    count: Stated
    condition: Stated
    specimens: tuple[str, ...]
    deviations: tuple[DeviationContent, ...]
    photos: tuple[PhotoContent, ...]


@dataclass(frozen=True)
class SpecimenContent:
    """The tested piece."""

    number: str
    item: str
    thickness: Stated
    surface: Stated

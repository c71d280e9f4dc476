"""Is the record of an instrument complete, letter by letter of ISO/IEC 17025:2017, 6.4.13, and what is missing."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from enum import Enum

from calibration.domain.status import shown


class Held(Enum):
    """How one letter of the list stands; the value is the word on screen."""

    COMPLETE = "complete"
    MISSING = "missing"
    NOT_APPLICABLE = "does not apply"


@dataclass(frozen=True, slots=True)
class PointFact:
    """Whether a compared point of the calibration in force states its expanded uncertainty and its coverage factor."""

    has_uncertainty: bool
    has_coverage: bool


@dataclass(frozen=True, slots=True)
class CalibrationRecord:
    """What is kept of the accepted calibration in force."""

    calibrated_on: date
    due_on: date
    accepted_by: str
    accepted_on: date
    has_file: bool
    certificate_number: str
    adjusted: bool | None
    points: tuple[PointFact, ...]


@dataclass(frozen=True, slots=True)
class RecordFacts:
    """What is kept of one instrument at a moment; a text that was not said is empty.

    `runs_software` tells whether this kind of instrument has software or firmware at all. `limits` counts the limits
    in force, `events` what happened to it apart from moves and maintenance. `unanswered` is the clause that says
    what happened and is not followed up, or empty. `gone` says so where it is lost or away.
    """

    code: str
    runs_software: bool
    versions: str
    maker: str
    model_name: str
    serial_number: str
    place: str
    rig: str
    gone: str
    calibration: CalibrationRecord | None
    limits: int
    maintenance_plan: str
    maintained_on: tuple[date, ...]
    events: int
    unanswered: str


@dataclass(frozen=True, slots=True)
class RecordPart:
    """One letter: how it stands, what is missing, and the whole as a sentence."""

    letter: str
    title: str
    held: Held
    missing: tuple[str, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class Completeness:
    """The whole record."""

    parts: tuple[RecordPart, ...]

    @property
    def complete(self) -> bool:
        """Whether nothing is missing."""
        return all(part.held is not Held.MISSING for part in self.parts)

    @property
    def missing(self) -> tuple[str, ...]:
        """What is missing, each with its letter: “b: serial number”."""
        return tuple(f"{part.letter}: {', '.join(part.missing)}" for part in self.parts if part.missing)

    @property
    def letters(self) -> str:
        """The letters under which something is missing: “b, e”."""
        return ", ".join(part.letter for part in self.parts if part.missing)


def record_completeness(facts: RecordFacts) -> Completeness:
    """How the record stands under each letter a to h of ISO/IEC 17025:2017, 6.4.13.

    The letters and their order are the standard's, the titles are our own words; what fills a letter is common
    practice.
    """
    return Completeness(tuple(_parts(facts)))


def _parts(facts: RecordFacts) -> Iterator[RecordPart]:
    yield _identity(facts)
    said = f"{facts.maker}, {facts.model_name}, {facts.serial_number}"
    yield _part("b", "Maker, type, serial number", _unsaid(facts), said)
    yield _verified(facts)
    yield _place(facts)
    yield _calibrated(facts)
    yield RecordPart(
        "f", "Reference materials", Held.NOT_APPLICABLE, (), "It is a measuring instrument, no reference material."
    )
    yield _maintained(facts)
    yield _happened(facts)


def _part(letter: str, title: str, missing: tuple[str, ...], said: str) -> RecordPart:
    if missing:
        return RecordPart(letter, title, Held.MISSING, missing, f"Missing: {', '.join(missing)}.")
    return RecordPart(letter, title, Held.COMPLETE, (), f"{said}.")


def _identity(facts: RecordFacts) -> RecordPart:
    if not facts.runs_software:
        return _part("a", "Identity and versions", (), f"{facts.code}; this kind has no software")
    missing = () if facts.versions else ("software or firmware version, or “none”",)
    return _part("a", "Identity and versions", missing, f"{facts.code}, {facts.versions}")


def _unsaid(facts: RecordFacts) -> tuple[str, ...]:
    named = (("maker", facts.maker), ("type or model", facts.model_name), ("serial number", facts.serial_number))
    return tuple(name for name, text in named if not text)


def _verified(facts: RecordFacts) -> RecordPart:
    title, record = "Verified against what is required", facts.calibration
    if record is None:
        return _part("c", title, ("an accepted calibration",), "")
    missing = () if record.has_file else (f"the certificate of {shown(record.calibrated_on)}",)
    return _part("c", title, missing, f"Accepted by {record.accepted_by} on {shown(record.accepted_on)}")


def _place(facts: RecordFacts) -> RecordPart:
    title = "Where it is"
    if facts.gone:
        return _part("d", title, (), facts.gone)
    missing = () if facts.place or facts.rig else ("its place",)
    mounted = f"Mounted on {facts.rig}" if facts.rig else ""
    return _part("d", title, missing, "; ".join(text for text in (facts.place, mounted) if text))


def _calibrated(facts: RecordFacts) -> RecordPart:
    title, record = "Calibration, limits, due date", facts.calibration
    if record is None:
        return _part("e", title, ("an accepted calibration",), "")
    gaps = (
        (not record.certificate_number, "certificate number"),
        (not record.points, "points as found or as left"),
        (not all(point.has_uncertainty for point in record.points), "U at every point"),
        (not all(point.has_coverage for point in record.points), "k at every point"),
        (record.adjusted is None, "whether it was adjusted"),
        (not facts.limits, "the limits it is judged by"),
    )
    missing = tuple(words for gap, words in gaps if gap)
    return _part("e", title, missing, f"Calibrated on {shown(record.calibrated_on)}, due on {shown(record.due_on)}")


def _maintained(facts: RecordFacts) -> RecordPart:
    missing = () if facts.maintenance_plan else ("maintenance plan, or why there is none",)
    if facts.maintained_on:
        done = f"maintained on {shown(max(facts.maintained_on))}, last of {len(facts.maintained_on)}"
    else:
        done = "no maintenance is recorded"
    return _part("g", "Maintenance", missing, f"{facts.maintenance_plan.rstrip('.')}; {done}")


def _happened(facts: RecordFacts) -> RecordPart:
    title = "Damage, repair, change"
    if facts.unanswered:
        return _part("h", title, (f"what was done after {facts.unanswered}",), "")
    if not facts.events:
        return RecordPart("h", title, Held.NOT_APPLICABLE, (), "Nothing of the kind is told.")
    many = "1 entry, nothing is" if facts.events == 1 else f"{facts.events} entries, nothing is"
    return _part("h", title, (), f"{many} open")

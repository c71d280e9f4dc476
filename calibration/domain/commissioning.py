"""What is looked at before a rig goes into service, by kind of rig, and how each finding is judged."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

type LineKind = Literal["part", "lock", "requirement", "paper"]

COUNT_UNIT = "pcs"
"""Unit of a line that is counted; its value is a whole number."""
MOST_SOURCE = 200
PRACTICE = "common practice"


@dataclass(frozen=True, slots=True)
class Requirement:
    """One requirement of the apparatus. Limits are inclusive and in `unit`; without both it is answered yes or no."""

    title: str
    limit_text: str
    low: Decimal | None
    high: Decimal | None
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class ListLine:
    """One line of the list as it is worked off."""

    kind: LineKind
    title: str
    limit_text: str
    low: Decimal | None = None
    high: Decimal | None = None
    unit: str = ""
    source: str = ""

    @property
    def measured(self) -> bool:
        """Whether a figure answers it; else yes or no."""
        return self.low is not None or self.high is not None


@dataclass(frozen=True, slots=True)
class LineAnswer:
    """What the last finding of a line says; `holds` None where nobody looked at it yet."""

    kind: str
    title: str
    holds: bool | None
    note: str = ""

    @property
    def restricted(self) -> bool:
        """A part or a paper that is missing and whose note says how the rig is used without it."""
        return self.holds is False and self.kind in ("part", "paper") and bool(self.note.strip())

    @property
    def blocks(self) -> bool:
        """Whether the rig is not released because of it."""
        return not self.holds and not self.restricted


_PARTS: dict[str, tuple[tuple[str, int], ...]] = {
    "glow wire": (
        ("Glow-wires, bent, one fitted and spares", 2),
        ("Thermocouple with its compensating lead", 1),
        ("Supply with current control and its cables", 1),
        ("Carriage with weight and depth stop", 1),
        ("Specimen holder with clamps", 1),
        ("Board and holder for the layer", 1),
        ("Silver foil for the check at 960 °C, pieces", 5),
        ("Soft steel brush for the tip", 1),
    ),
    "needle flame": (
        ("Burner tube", 1),
        ("Gas hose with regulator and fine valve", 1),
        ("Copper block with thermocouple for the confirmation", 1),
        ("Height gauge of the flame", 1),
        ("Board and holder for the layer", 1),
        ("Stand with specimen clamp", 1),
    ),
    "small burner": (
        ("Burner with its barrel", 1),
        ("Gas hose with regulator", 1),
        ("Flow meter and manometer", 1),
        ("Copper block with thermocouple for the confirmation", 1),
        ("Height gauge of the flame", 1),
        ("Stand with clamp and wire gauze", 1),
    ),
    "ball pressure": (
        ("Loading device with ball", 1),
        ("Support with plane surface", 1),
        ("Temperature sensor at the specimen", 1),
        ("Vessel for the cooling water", 1),
    ),
    "tracking": (
        ("Pair of electrodes", 1),
        ("Dropping device with needle", 1),
        ("Supply with variable resistor and trip", 1),
        ("Support for the specimen, glass or steel", 1),
        ("Gap gauge", 1),
        ("Connecting leads", 2),
    ),
}
_LOCKS: dict[str, tuple[str, ...]] = {
    "glow wire": ("Lock of the carriage", "Holder that kept the wire from bending"),
    "ball pressure": ("Lock of the loading device", "Packing inside the oven"),
    "tracking": ("Locks of the electrode arms",),
}
_RECORDS = "records of equipment: ISO/IEC 17025:2017, 6.4.13"
_PAPERS = (
    ("Manual in a language the users read", _RECORDS),
    ("Maker's declaration, or acceptance papers", _RECORDS),
    ("Risk assessment of the laboratory for this place", "local codes and the laboratory's own rules"),
)
_REPAIR_PAPER = ("Report of the repair: what was exchanged or adjusted", _RECORDS)

CAUTIONS: tuple[str, ...] = (
    "Mains and high current: installation work is for licensed people; unplug before a cover comes off.",
    "Gas: only with the room's gas detector and shut-off tried; leak test of every joint before the first flame.",
    "Hot parts stay hot after the supply is off: measure, do not touch.",
    "Local codes, the laboratory's own risk assessment and the maker's manual come before this list.",
)
"""What stands above the sheet of every rig; the sheet does not replace any of it."""


def list_lines(rig_kind: str, requirements: Iterable[Requirement], *, repaired: bool = False) -> tuple[ListLine, ...]:
    """Return the lines of a rig of one kind: parts counted, locks removed, requirements verified, papers filed.

    Parts, locks and papers are common practice, not taken from a standard; a laboratory adds what its rig has more.
    """
    counted = _PARTS.get(rig_kind, ()) or (("Main apparatus", 1), ("Accessories as on the delivery note, complete", 1))
    parts = [
        ListLine("part", title, f"{count} expected", Decimal(count), None, COUNT_UNIT, PRACTICE)
        for title, count in (*counted, ("Earth lead or plug, undamaged", 1))
    ]
    locks = [*_LOCKS.get(rig_kind, ()), "Packing, straps and transport locks of all other parts"]
    papers = [*_PAPERS, *([_REPAIR_PAPER] if repaired else [])]
    return (
        *parts,
        *(ListLine("lock", title, "removed", source="common practice") for title in locks),
        *(
            ListLine("requirement", one.title, one.limit_text, one.low, one.high, one.unit, one.source)
            for one in requirements
        ),
        *(ListLine("paper", title, "filed", source=source) for title, source in papers),
    )


def merged_requirements(requirements: Iterable[Requirement]) -> tuple[Requirement, ...]:
    """Return each requirement once; the sources of equal ones are joined, different limits stay apart.

    Requirements of one title stand together, in the order in which the titles first came.
    """
    found: dict[tuple[str, str, Decimal | None, Decimal | None, str], list[Requirement]] = {}
    for one in requirements:
        found.setdefault((one.title, one.limit_text, one.low, one.high, one.unit), []).append(one)
    titles = list(dict.fromkeys(title for title, *_ in found))
    merged = [replace(same[0], source=_joined([one.source for one in same])) for same in found.values()]
    return tuple(sorted(merged, key=lambda one: titles.index(one.title)))


def finding_holds(line: ListLine, value: Decimal | None, answer: bool | None) -> bool:
    """Return whether a finding holds: the unrounded value within inclusive limits, else the answer yes or no.

    ValueError with a sentence when what the line asks for is missing, or a count is no whole number.
    """
    if not line.measured:
        if answer is None:
            raise ValueError(f"{line.title}: yes or no is needed.")
        return answer
    if value is None:
        raise ValueError(f"{line.title}: the value found is needed.")
    if line.unit == COUNT_UNIT and (value != value.to_integral_value() or value < 0):
        raise ValueError(f"{line.title}: {format(value, 'f')} is no count; whole pieces are counted.")
    return (line.low is None or value >= line.low) and (line.high is None or value <= line.high)


def release_obstacle(answers: Sequence[LineAnswer]) -> str:
    """Return what keeps a rig from being released, as one sentence; empty where nothing does."""
    if not answers:
        return "The list has no line; add what is looked at before this rig goes into service."
    waiting = [one.title for one in answers if one.holds is None]
    failing = [one.title for one in answers if one.holds is False and not one.restricted]
    parts = []
    if failing:
        parts.append(f"{_counted(len(failing), 'line does', 'lines do')} not hold: {_named(failing)}")
    if waiting:
        parts.append(f"{_counted(len(waiting), 'line is', 'lines are')} not looked at yet: {_named(waiting)}")
    return f"{'; '.join(parts)}." if parts else ""


def restrictions(answers: Iterable[LineAnswer]) -> tuple[str, ...]:
    """Return how a rig is used while a part or a paper is missing, one text for each."""
    return tuple(f"{one.title}: {one.note.strip()}" for one in answers if one.restricted)


def _joined(sources: Sequence[str]) -> str:
    names = _by_standard(dict.fromkeys(sources))
    text = ", ".join(names)
    kept = list(names)
    while len(text) > MOST_SOURCE and kept:
        kept.pop()
        text = f"{', '.join(kept)} and {len(names) - len(kept)} more"
    return text


def _by_standard(sources: Iterable[str]) -> list[str]:
    """Editions of one standard together: “2-11:2000/2014” for “2-11:2000” and “2-11:2014”."""
    years: dict[str, list[str]] = {}
    for one in sources:
        standard, colon, year = one.partition(":")
        years.setdefault(f"{standard}{colon}", []).append(year)
    return [f"{standard}{'/'.join(each)}" for standard, each in years.items()]


def _counted(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def _named(titles: Sequence[str], most: int = 3) -> str:
    names = list(dict.fromkeys(titles))
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return f"{', '.join(names[:most])}{more}"

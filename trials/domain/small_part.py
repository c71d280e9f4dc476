"""Small parts: by which rule of a product standard a part is too small for the test, from its sizes."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Final

from trials.domain.criteria import Criterion, with_unit
from trials.domain.methods.base import MethodEdition
from trials.domain.records import TrialRecord
from trials.domain.statements import SetupField

D = Decimal
CIRCLES, SQUARE, MASS, NO_RULE = "15/8 mm circles", "14 mm square", "0.5 g", "none"
SMALL_PART_RULES = (CIRCLES, SQUARE, MASS, NO_RULE)


@dataclass(frozen=True)
class PartSize:
    """Sizes of the face under test in mm and the mass of the part in g; None where not recorded.

    `around_mm` is the diameter of the smallest circle the face fits in, `inside_mm` that of the largest circle that
    fits in the face, `square_mm` the side of the smallest square it fits in. Projections, holes and recesses up to
    2 mm are left out when they are measured.
    """

    around_mm: Decimal | None = None
    inside_mm: Decimal | None = None
    square_mm: Decimal | None = None
    mass_g: Decimal | None = None


@dataclass(frozen=True)
class SmallPartLimits:
    """The figures of one rule, each inclusive: a size equal to the circle or the square fits."""

    around_mm: Decimal | None = None
    inside_mm: Decimal | None = None
    square_mm: Decimal | None = None
    mass_g: Decimal | None = None


LIMITS: Final[Mapping[str, SmallPartLimits]] = MappingProxyType(
    {
        CIRCLES: SmallPartLimits(around_mm=D(15), inside_mm=D(8)),
        SQUARE: SmallPartLimits(around_mm=D(14), square_mm=D(14)),
        MASS: SmallPartLimits(mass_g=D("0.5")),
        NO_RULE: SmallPartLimits(),
    }
)

SIZE_FIELDS: tuple[SetupField, ...] = (
    SetupField("face_around_mm", "Face: circle it fits in", "number", "mm", D("0.1"),
               prompt="leave out projections, holes and recesses up to 2 mm"),
    SetupField("face_inside_mm", "Face: circle that fits in it", "number", "mm", D("0.1"),
               prompt="only for a part that may be too small"),
    SetupField("face_square_mm", "Face: square it fits in", "number", "mm", D("0.1"),
               prompt="only where the product standard goes by a square"),
    SetupField("part_mass_g", "Mass of the part", "number", "g", D("0.01"),
               prompt="only where the product standard goes by the mass"),
)  # fmt: skip
"""What the bench asks of a part that may be too small; the edition has `small_part_rule` and `small_part_instead`."""


def small_part(rule: str, size: PartSize) -> bool | None:
    """Return whether a part is small by one of SMALL_PART_RULES; None while a size that decides is missing.

    By circles a part is small when its face fits in the outer circle, or the inner circle does not fit in the face
    (IEC 60695-2-11:2014 in a national adoption, public text); by the square when its face fits in it or in the circle
    of the same width; by mass when it is no heavier. Raises KeyError for another rule.
    """
    limits = LIMITS[rule]
    if rule == CIRCLES:
        return _either(_at_most(size.around_mm, limits.around_mm), _below(size.inside_mm, limits.inside_mm))
    if rule == SQUARE:
        in_square = _at_most(size.square_mm, limits.square_mm)
        in_circle = _at_most(size.around_mm, limits.around_mm)
        # What does not fit in the square does not fit in its circle, so the square alone can say no.
        return True if in_circle else in_square
    return False if rule == NO_RULE else _at_most(size.mass_g, limits.mass_g)


def size_of(record: TrialRecord) -> PartSize:
    """Return the sizes recorded in a trial's set-up."""
    found = (record.figure(field.key) for field in SIZE_FIELDS)
    return PartSize(*(value if isinstance(value, Decimal) else None for value in found))


def small_part_criteria(edition: MethodEdition, record: TrialRecord) -> tuple[Criterion, ...]:
    """Return the warning about a part too small for the test, with what replaces it; empty when no size is recorded.

    It never decides: what a small part must do instead comes from the product standard.
    """
    rule = edition.parameter("small_part_rule")
    size = size_of(record)
    if rule.value == NO_RULE or size == PartSize():
        return ()
    small = small_part(str(rule.value), size)
    found = _size_text(size)
    instead = edition.parameter("small_part_instead").value
    reason = {
        True: f"this is a small part by the rule “{rule.value}” ({found}), so the test does not apply to it; "
        f"instead: {instead}",
        False: "",
        None: f"whether this is a small part by the rule “{rule.value}” cannot be told from {found}",
    }[small]
    holds = None if small is None else not small
    return (Criterion("small_part", rule.title, found, str(rule.value), holds, reason, rule.source, rule.certainty,
                      enforced=False),)  # fmt: skip


def _size_text(size: PartSize) -> str:
    names = ("fits in a circle of", "holds a circle of", "fits in a square of", "mass")
    values = (size.around_mm, size.inside_mm, size.square_mm, size.mass_g)
    return ", ".join(
        f"{name} {with_unit(value, field.unit)}"
        for name, value, field in zip(names, values, SIZE_FIELDS, strict=True)
        if value is not None
    )


def _at_most(found: Decimal | None, limit: Decimal | None) -> bool | None:
    return None if found is None or limit is None else found <= limit


def _below(found: Decimal | None, limit: Decimal | None) -> bool | None:
    return None if found is None or limit is None else found < limit


def _either(one: bool | None, other: bool | None) -> bool | None:
    if one or other:
        return True
    return None if one is None or other is None else False

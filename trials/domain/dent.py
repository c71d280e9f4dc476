"""The dent of a ball: which of several readings is judged, and how its diameter is shown."""

from collections.abc import Sequence
from decimal import ROUND_HALF_EVEN, Decimal

from trials.domain.criteria import NOT_RECORDED, digits, with_unit
from trials.domain.methods.base import MethodEdition
from trials.domain.records import Observation

D = Decimal
MOST_PLACES = 7


def diameters(rows: Sequence[Observation]) -> list[Decimal]:
    """Return the readings of the diameter in mm, as typed."""
    return [row.value for row in rows if row.kind == "diameter" and isinstance(row.value, Decimal)]


def readings_missing(edition: MethodEdition, readings: Sequence[Decimal]) -> str:
    """Return why no diameter can be judged."""
    if not readings:
        return "the diameter of the dent is not recorded"
    return f"{len(readings)} of {digits(edition.number('readings_needed'))} readings of the dent are recorded"


def judged_mm(edition: MethodEdition, readings: Sequence[Decimal]) -> Decimal | None:
    """Return the diameter in mm that is judged, unrounded; None while readings are missing."""
    if not readings or len(readings) < edition.number("readings_needed"):
        return None
    if edition.parameter("dent_judged").value == "mean":
        return sum(readings, D(0)) / len(readings)
    return max(readings)


def dent_text(edition: MethodEdition, readings: Sequence[Decimal]) -> str:
    """Return the judged diameter in words; a mean is shown with one place more than was typed."""
    found_mm = judged_mm(edition, readings)
    if found_mm is None:
        return NOT_RECORDED
    if len(readings) == 1:
        return with_unit(found_mm, "mm")
    way = str(edition.parameter("dent_judged").value)
    return f"{shown_mm(edition, found_mm)} mm ({way} of {len(readings)} readings)"


def shown_mm(edition: MethodEdition, value_mm: Decimal) -> str:
    """Return a diameter to two places; a mean to more where it would else look as if it lay on its limit."""
    if value_mm == value_mm.quantize(D("0.01")):
        return digits(value_mm)
    edges = [edge for edge in edition.parameter("dent_mm").bounds if edge is not None]
    texts = (value_mm.quantize(D(1).scaleb(-places), ROUND_HALF_EVEN) for places in range(2, MOST_PLACES))
    return digits(next((shown for shown in texts if shown not in edges), value_mm))

"""The compared points of a digital calibration certificate: reference, indication, error, uncertainty, row by row."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from lxml import etree

from calibration.domain.certificate_quantities import (
    Expanded,
    Series,
    as_many,
    children_of_kind,
    series_in,
    series_of,
)
from calibration.domain.certificate_xml import CertificateError, child, children, kinds_of, text_at, words_at
from calibration.domain.units import difference_unit

REFERENCE, INDICATION, ERROR = "basic_referenceValue", "basic_measuredValue", "basic_measurementError"
MOST_POINTS = 2000
_STATES = {"beforeAdjustment": False, "beforeRepair": False, "afterAdjustment": True, "afterRepair": True}


@dataclass(frozen=True, slots=True)
class CertificatePoint:
    """One point in the certificate's own digits; None and "" for what it does not state.

    `error` is the error as stated, `as_left` whether the point was taken after an adjustment or a repair.
    """

    reference: Decimal
    indication: Decimal
    unit: str
    error: Decimal | None
    expanded_uncertainty: Decimal | None
    coverage_factor: Decimal | None
    coverage_probability: Decimal | None
    as_left: bool | None
    acceptance_low: Decimal | None
    acceptance_high: Decimal | None
    conformity: str


@dataclass(frozen=True, slots=True)
class PointsRead:
    """The points of all tables, and what a person should know of them, in sentences."""

    points: tuple[CertificatePoint, ...]
    remarks: tuple[str, ...]


def points_of(measurements: list[etree._Element]) -> PointsRead:
    """Return the points of all results; raises CertificateError for what contradicts itself or misses its unit."""
    points: list[CertificatePoint] = []
    remarks: list[str] = []
    for place, group, as_left in _groups(measurements):
        points += _points(place, group, as_left, remarks)
        if len(points) > MOST_POINTS:
            raise CertificateError(f"The certificate has more than {MOST_POINTS} points.")
    if points and all(point.as_left is None for point in points):
        remarks.append("The certificate does not say whether its points are as found or as left.")
    return PointsRead(tuple(points), tuple(dict.fromkeys(remarks)))


def _groups(measurements: list[etree._Element]) -> Iterator[tuple[str, etree._Element, bool | None]]:
    """Every list or data block of every result that holds quantities itself, with its place in words."""
    number = 0
    for measurement in measurements:
        outer = _as_left(measurement, None)
        for result in children(measurement, "dcc:results/dcc:result"):
            number += 1
            for data in children(result, "dcc:data"):
                for count, (group, as_left) in enumerate(_holders(data, outer), 1):
                    yield f"Result {number}, table {count}", group, as_left


def _holders(element: etree._Element, outer: bool | None) -> Iterator[tuple[etree._Element, bool | None]]:
    as_left = _as_left(element, outer)
    if children(element, "dcc:quantity"):
        yield element, as_left
    for inner in children(element, "dcc:list"):
        yield from _holders(inner, as_left)


def _as_left(element: etree._Element, outer: bool | None) -> bool | None:
    stated = {
        _STATES[text_at(one, "dcc:status")]
        for one in children(element, "dcc:influenceConditions/dcc:influenceCondition")
        if text_at(one, "dcc:status") in _STATES
    }
    return stated.pop() if len(stated) == 1 else outer


def _points(place: str, group: etree._Element, as_left: bool | None, remarks: list[str]) -> list[CertificatePoint]:
    found = {kind: children_of_kind(group, kind) for kind in (REFERENCE, INDICATION, ERROR)}
    if not any(found.values()):
        return []
    if any(len(quantities) > 1 for quantities in found.values()):
        remarks.append(f"{place} states a quantity twice; which belong together is not said, none is read.")
        return []
    read = {kind: series_of(one, f"{place}, {kind}") for kind, ones in found.items() for one in ones}
    columns = _columns(read, place)
    if columns is None:
        remarks.append(f"{place} has no reference values and indications in one unit; it is not read.")
        return []
    reference, indication, errors = columns
    count = len(reference.values)
    if not found[INDICATION]:
        remarks.append(f"{place} states no indications; they are reference plus error.")
    stated = _stated(errors, indication, read.get(INDICATION, ()), count)
    if not any(stated):
        remarks.append(_no_uncertainty(place, list(read.values())))
    lows, highs, words = _judged(found[ERROR] or found[INDICATION], reference.unit, count, place)
    made = [
        CertificatePoint(
            reference.values[at],
            indication.values[at],
            reference.unit,
            None if errors is None else errors.values[at],
            None if one is None else one.uncertainty,
            None if one is None else one.coverage_factor,
            None if one is None else one.coverage_probability,
            as_left,
            lows[at],
            highs[at],
            words[at],
        )
        for at, one in enumerate(stated)
    ]
    remarks += [sentence for at, point in enumerate(made, 1) if (sentence := _contradiction(place, at, point))]
    return made


def _columns(read: dict[str, tuple[Series, ...]], place: str) -> tuple[Series, Series, Series | None] | None:
    """Return reference, indication and error in the first unit the table has both in, kelvin last.

    Where no indications are stated, they are reference plus error, which is what the error is.
    """
    for reference in sorted(read.get(REFERENCE, ()), key=lambda one: one.unit == "K"):
        count = len(reference.values)
        indication = series_in(read.get(INDICATION, ()), reference.unit)
        errors = _errors(read.get(ERROR, ()), reference.unit)
        if errors is not None:
            errors = as_many(errors, count, f"{place}, error")
        if indication is not None:
            return reference, as_many(indication, count, f"{place}, indication"), errors
        if errors is not None and not read.get(INDICATION):
            values = tuple(one + error for one, error in zip(reference.values, errors.values, strict=True))
            return reference, Series(reference.unit, values, (None,) * count), errors
    return None


def _errors(errors: tuple[Series, ...], unit: str) -> Series | None:
    return series_in(errors, difference_unit(unit)) or series_in(errors, unit)


def _stated(
    errors: Series | None, indication: Series, indications: tuple[Series, ...], count: int
) -> tuple[Expanded | None, ...]:
    """The uncertainty of the error, else that of the indication; a reference's own is not the calibration's.

    A quantity in two units may state it beside one of them only: kelvin beside degrees Celsius holds for both.
    """
    same_size = (indication.unit, difference_unit(indication.unit))
    for one in (errors, indication, *(other for other in indications if other.unit in same_size)):
        if one is not None and any(one.uncertainties):
            return as_many(one, count, "uncertainty").uncertainties
    return (None,) * count


def _judged(
    quantities: list[etree._Element], unit: str, count: int, place: str
) -> tuple[list[Decimal | None], list[Decimal | None], list[str]]:
    """What the laboratory says of conformity in the quantity's own metadata: limits of acceptance and its word."""
    lows: list[Decimal | None] = [None] * count
    highs: list[Decimal | None] = [None] * count
    words = [""] * count
    for meta in (one for quantity in quantities for one in children(quantity, "dcc:measurementMetaData/dcc:metaData")):
        if "basic_conformity" not in kinds_of(meta):
            continue
        said = [
            word for name in ("", "XMLList") for word in words_at(meta, f"dcc:conformity{name}", f"{place}, conformity")
        ]
        words = said * count if len(said) == 1 else said if len(said) == count else words
        data = child(meta, "dcc:data")
        if data is not None:
            lows = _limit(data, "basic_acceptanceLimitLower", unit, count, place) or lows
            highs = _limit(data, "basic_acceptanceLimitUpper", unit, count, place) or highs
    return lows, highs, words


def _limit(data: etree._Element, kind: str, unit: str, count: int, place: str) -> list[Decimal | None]:
    for quantity in children_of_kind(data, kind):
        found = _errors(series_of(quantity, f"{place}, {kind}"), unit)
        if found is not None:
            return list(as_many(found, count, f"{place}, {kind}").values)
    return []


def _no_uncertainty(place: str, read: list[tuple[Series, ...]]) -> str:
    if any(one.other_statement for series in read for one in series):
        return f"{place} states an uncertainty that is not an expanded one; it is not taken for one."
    return f"{place} states no expanded uncertainty of its errors."


def _contradiction(place: str, at: int, point: CertificatePoint) -> str:
    """A stated error further from indication minus reference than rounding explains."""
    if point.error is None:
        return ""
    last_place = max(_step(value) for value in (point.error, point.reference, point.indication))
    told = point.indication - point.reference
    if abs(told - point.error) <= last_place:
        return ""
    return f"{place}, row {at}: the error {point.error} is stated, indication minus reference is {told:f}."


def _step(value: Decimal) -> Decimal:
    exponent = value.as_tuple().exponent
    return Decimal(1).scaleb(exponent if isinstance(exponent, int) else 0)

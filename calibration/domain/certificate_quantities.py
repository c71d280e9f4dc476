"""Quantities of a digital calibration certificate: values with unit and expanded uncertainty, in every form it allows.

Only the element's own values are read: what stands in the quantity's metadata is another quantity. A coverage factor
that is not stated is not known; a standard uncertainty or a coverage interval is not taken for an expanded one.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from lxml import etree

from calibration.domain.certificate_xml import SI, CertificateError, child, children, number, numbers, text_at, words_at

UNIT_WORDS = {
    r"\degreecelsius": "°C",
    r"\degreeCelsius": "°C",
    r"\kelvin": "K",
    r"\newton": "N",
    r"\second": "s",
    r"\milli\metre": "mm",
    r"\micro\metre": "µm",
    r"\gram": "g",
    r"\lux": "lx",
    r"\ampere": "A",
    r"\volt": "V",
    r"\milli\volt": "mV",
    r"\kilo\pascal": "kPa",
    r"\percent": "%",
}
"""The units this program knows, as the format writes them; another one stays as written."""

_OWN_FORMS = {f"{{{SI}}}{name}" for name in ("real", "realListXMLList", "realList", "list")}
# Expanded uncertainty: where it stands, and the names of U, k and p there. The second row is the newer wording.
_FORMS = (
    ("si:expandedUnc", "si:uncertainty", ""),
    ("si:measurementUncertaintyUnivariate/si:expandedMU", "si:valueExpandedMU", ""),
    ("si:expandedUncXMLList", "si:uncertaintyXMLList", "XMLList"),
    ("si:measurementUncertaintyUnivariateXMLList/si:expandedMUXMLList", "si:valueExpandedMUXMLList", "XMLList"),
    ("si:listUnivariateUnc/si:expandedUnc", "si:uncertainty", ""),
    ("si:listMeasurementUncertaintyUnivariate/si:expandedMU", "si:valueExpandedMU", ""),
)
_OTHER_STATEMENTS = (
    "si:coverageInterval",
    "si:coverageIntervalXMLList",
    "si:measurementUncertaintyUnivariate",
    "si:measurementUncertaintyUnivariateXMLList",
    "si:listUnivariateUnc",
    "si:listMeasurementUncertaintyUnivariate",
)


@dataclass(frozen=True, slots=True)
class Expanded:
    """An expanded uncertainty as stated; coverage factor and probability are None where they are not."""

    uncertainty: Decimal
    coverage_factor: Decimal | None
    coverage_probability: Decimal | None


@dataclass(frozen=True, slots=True)
class Series:
    """Values of one quantity in one unit, each with its expanded uncertainty or None."""

    unit: str
    values: tuple[Decimal, ...]
    uncertainties: tuple[Expanded | None, ...]
    other_statement: bool = False
    """Whether an uncertainty is stated in a form that is not an expanded one."""


def series_of(quantity: etree._Element, place: str) -> tuple[Series, ...]:
    """Return a quantity's values, once for each unit it is given in; nothing for text and complex numbers.

    Raises CertificateError where a unit is missing, a word is no number or lengths do not fit together.
    """
    hybrid = child(quantity, "si:hybrid")
    found = list(_forms(quantity if hybrid is None else hybrid))
    made = [one for one in (_series(form, place, "", None) for form in found) if one.values]
    if len({len(one.values) for one in made}) > 1:
        raise CertificateError(f"{place}: given in several units, with different numbers of values.")
    return tuple(made)


def _forms(element: etree._Element) -> Iterator[etree._Element]:
    for one in element:
        if one.tag in _OWN_FORMS:
            yield one


def _series(form: etree._Element, place: str, unit: str, shared: Expanded | None) -> Series:
    """Return what one form says; `unit` and `shared` are what the list around it says for all its entries."""
    name = etree.QName(form).localname
    if name == "real":
        own = _expanded(form, 1, place)[0] or shared
        value = number(text_at(form, "si:value"), f"{place}, value")
        return Series(_unit(text_at(form, "si:unit") or unit, place), (value,), (own,), _other(form))
    if name == "realListXMLList":
        return _xml_list(form, place)
    unit = text_at(form, "si:listUnit") or unit
    shared = _expanded(form, 1, place)[0] or shared
    inner = [_series(one, place, unit, shared) for one in _forms(form)]
    if len({one.unit for one in inner}) > 1:
        raise CertificateError(f"{place}: one list holds values in several units.")
    return Series(
        inner[0].unit if inner else "",
        tuple(value for one in inner for value in one.values),
        tuple(stated for one in inner for stated in one.uncertainties),
        _other(form) or any(one.other_statement for one in inner),
    )


def _xml_list(form: etree._Element, place: str) -> Series:
    values = numbers(_whole_text(form, "si:valueXMLList"), f"{place}, values")
    stated = words_at(form, "si:unitXMLList", f"{place}, units") or [""]
    units = {_unit(word, place) for word in stated}
    if len(units) > 1:
        raise CertificateError(f"{place}: one list holds values in several units.")
    return Series(units.pop(), values, _expanded(form, len(values), place), _other(form))


def _unit(word: str, place: str) -> str:
    if not word:
        raise CertificateError(f"{place}: no unit is stated, and none is guessed.")
    return UNIT_WORDS.get(word, word)


def _expanded(form: etree._Element, count: int, place: str) -> tuple[Expanded | None, ...]:
    for path, name, ending in _FORMS:
        stated = child(form, path)
        if stated is None:
            continue
        unc = _each(stated, name, count, f"{place}, uncertainty")
        factors = _each(stated, f"si:coverageFactor{ending}", count, f"{place}, coverage factor")
        levels = _each(stated, f"si:coverageProbability{ending}", count, f"{place}, coverage probability")
        return tuple(
            None if one is None else _checked(Expanded(one, factor, level), place)
            for one, factor, level in zip(unc, factors, levels, strict=True)
        )
    return (None,) * count


def _each(stated: etree._Element, path: str, count: int, place: str) -> Sequence[Decimal | None]:
    """Return one number for each value: as many as values, one for all, or none."""
    found = numbers(_whole_text(stated, path), place)
    if len(found) == count:
        return found
    if len(found) > 1:
        raise CertificateError(f"{place}: {len(found)} numbers for {count} values.")
    return (found[0] if found else None,) * count


def _checked(stated: Expanded, place: str) -> Expanded:
    if stated.uncertainty < 0:
        raise CertificateError(f"{place}: the uncertainty {stated.uncertainty} is below zero.")
    if stated.coverage_factor is not None and stated.coverage_factor <= 0:
        raise CertificateError(f"{place}: the coverage factor {stated.coverage_factor} is not above zero.")
    if stated.coverage_probability is not None and not 0 < stated.coverage_probability <= 1:
        raise CertificateError(f"{place}: the coverage probability {stated.coverage_probability} is not up to 1.")
    return stated


def _other(form: etree._Element) -> bool:
    """Whether an uncertainty is stated, but not as an expanded one."""
    expanded = any(child(form, path) is not None for path, _, _ in _FORMS)
    return not expanded and any(child(form, path) is not None for path in _OTHER_STATEMENTS)


def _whole_text(element: etree._Element, path: str) -> str:
    found = child(element, path)
    return "" if found is None else found.text or ""


def series_in(series: Sequence[Series], unit: str) -> Series | None:
    """Return the one in `unit`, or None."""
    return next((one for one in series if one.unit == unit), None)


def as_many(series: Series, count: int, place: str) -> Series:
    """Return the series stretched to `count` values, where one stands for all; refused when the lengths do not fit."""
    if len(series.values) == count:
        return series
    if len(series.values) == 1:
        return Series(series.unit, series.values * count, series.uncertainties * count, series.other_statement)
    raise CertificateError(f"{place}: {len(series.values)} values beside {count} reference values.")


def children_of_kind(element: etree._Element, kind: str) -> list[etree._Element]:
    """Return the quantities directly in a list or data block that say they are of this kind."""
    return [one for one in children(element, "dcc:quantity") if kind in one.get("refType", "").split()]

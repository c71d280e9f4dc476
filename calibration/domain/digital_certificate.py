"""Digital calibration certificates, versions 2.4 and 3.1 to 3.3: what they say, as data for a person to look at.

Source of names and paths: the published schemas of the format (https://ptb.de/dcc). Nothing here judges or accepts; a
signature is noticed, never verified.
"""

from dataclasses import dataclass
from datetime import date

from lxml import etree

from calibration.domain.certificate_points import CertificatePoint, points_of
from calibration.domain.certificate_quantities import series_of
from calibration.domain.certificate_xml import (
    SIGNATURE,
    CertificateError,
    child,
    children,
    day_at,
    kinds_of,
    root_of,
    text_at,
    wording_at,
)
from labsite.ledger.wording import capitalised

_AMBIENT = {"basic_temperature": "temperature", "basic_humidityRelative": "relative humidity"}


@dataclass(frozen=True, slots=True)
class CalibratedItem:
    """What was calibrated; `serial` is the number its maker gave it, `asset` the one its owner gave it."""

    name: str
    maker: str
    model: str
    serial: str
    asset: str


@dataclass(frozen=True, slots=True)
class UsedStandard:
    """A standard that was used, with the identifier of its own certificate where the file refers to it."""

    name: str
    serial: str
    certificate: str


@dataclass(frozen=True, slots=True)
class Ambient:
    """A condition while calibrating, in the file's own digits and unit."""

    kind: str
    name: str
    value: str
    unit: str


@dataclass(frozen=True, slots=True)
class DigitalCertificate:
    """A digital calibration certificate as read; "" and None for what it does not state."""

    schema_version: str
    identifier: str
    begun_on: date
    ended_on: date
    received_on: date | None
    issued_on: date | None
    laboratory: str
    laboratory_code: str
    customer: str
    items: tuple[CalibratedItem, ...]
    points: tuple[CertificatePoint, ...]
    conformity: tuple[str, ...]
    recalibration_on: date | None
    standards: tuple[UsedStandard, ...]
    methods: tuple[str, ...]
    ambient: tuple[Ambient, ...]
    replaces: str
    signed: bool
    remarks: tuple[str, ...]


def read_digital_certificate(content: bytes) -> DigitalCertificate:
    """Return what the bytes of a certificate say.

    Raises CertificateError, one sentence, for whatever is no such certificate, is hostile, contradicts itself or lacks
    what every certificate has: identifier, calibration dates, laboratory, an item, units.
    """
    root = root_of(content)
    admin = _needed(root, "dcc:administrativeData")
    core = _needed(admin, "dcc:coreData")
    measurements = children(root, "dcc:measurementResults/dcc:measurementResult")
    read = points_of(measurements)
    statements = children(admin, "dcc:statements/dcc:statement")
    begun = _needed_day(core, "dcc:beginPerformanceDate", "the first day of the calibration")
    ended = _needed_day(core, "dcc:endPerformanceDate", "the last day of the calibration")
    if ended < begun:
        raise CertificateError(f"The calibration ends on {ended}, before it begins on {begun}.")
    signed = child(root, SIGNATURE) is not None
    return DigitalCertificate(
        schema_version=root.get("schemaVersion", ""),
        identifier=_needed_text(core, "dcc:uniqueIdentifier", "the certificate’s identifier"),
        begun_on=begun,
        ended_on=ended,
        received_on=day_at(core, "dcc:receiptDate", "day of receipt"),
        issued_on=day_at(core, "dcc:issueDate", "day of issue"),
        laboratory=_laboratory(admin),
        laboratory_code=text_at(admin, "dcc:calibrationLaboratory/dcc:calibrationLaboratoryCode"),
        customer=wording_at(admin, "dcc:customer/dcc:name"),
        items=_items(admin),
        points=read.points,
        conformity=tuple(word for one in statements if (word := text_at(one, "dcc:conformity"))),
        recalibration_on=next(
            (
                day_at(one, "dcc:date", "day of recalibration")
                for one in statements
                if "basic_recalibration" in kinds_of(one)
            ),
            None,
        ),
        standards=_standards(measurements),
        methods=_methods(measurements),
        ambient=_ambient(measurements),
        replaces=_replaced(core),
        signed=signed,
        remarks=(*read.remarks, *(("The file is signed; the signature is not verified.",) if signed else ())),
    )


def serial_difference(certificate: DigitalCertificate, serial_number: str) -> str:
    """Return a sentence where the certificate is for another serial number; "" where it fits or one is not known.

    Blanks around and capital letters do not count; every other character does.
    """
    serials = [one.serial for one in certificate.items if one.serial]
    ours = serial_number.strip()
    if not ours or not serials or ours.casefold() in [one.strip().casefold() for one in serials]:
        return ""
    return f"The certificate is for serial number {' and '.join(serials)}, the instrument’s is {ours}."


def _needed(element: etree._Element, path: str) -> etree._Element:
    found = child(element, path)
    if found is None:
        raise CertificateError(
            f"The certificate has no {path.rpartition(':')[2]} in its {etree.QName(element).localname}."
        )
    return found


def _needed_text(element: etree._Element, path: str, what: str) -> str:
    found = text_at(element, path)
    if not found:
        raise CertificateError(f"The certificate does not state {what}.")
    return found


def _needed_day(element: etree._Element, path: str, what: str) -> date:
    found = day_at(element, path, capitalised(what))
    if found is None:
        raise CertificateError(f"The certificate does not state {what}.")
    return found


def _laboratory(admin: etree._Element) -> str:
    found = wording_at(admin, "dcc:calibrationLaboratory/dcc:contact/dcc:name")
    if not found:
        raise CertificateError("The certificate does not state the calibration laboratory.")
    return found


def _items(admin: etree._Element) -> tuple[CalibratedItem, ...]:
    found = tuple(
        CalibratedItem(
            wording_at(one, "dcc:name"),
            wording_at(one, "dcc:manufacturer/dcc:name"),
            text_at(one, "dcc:model"),
            _identification(one, "manufacturer"),
            _identification(one, "customer") or _identification(one, "owner"),
        )
        for one in children(admin, "dcc:items/dcc:item")
    )
    if not found:
        raise CertificateError("The certificate names nothing that was calibrated.")
    return found


def _identification(element: etree._Element, issuer: str) -> str:
    for one in children(element, "dcc:identifications/dcc:identification"):
        if text_at(one, "dcc:issuer") == issuer:
            return text_at(one, "dcc:value")
    return ""


def _standards(measurements: list[etree._Element]) -> tuple[UsedStandard, ...]:
    return tuple(
        UsedStandard(
            wording_at(one, "dcc:name"),
            _identification(one, "manufacturer"),
            text_at(one, "dcc:certificate/dcc:referralID"),
        )
        for measurement in measurements
        for one in children(measurement, "dcc:measuringEquipments/dcc:measuringEquipment")
    )


def _methods(measurements: list[etree._Element]) -> tuple[str, ...]:
    made = []
    for measurement in measurements:
        for one in children(measurement, "dcc:usedMethods/dcc:usedMethod"):
            norms = [text_at(norm, ".") for norm in children(one, "dcc:norm")]
            made.append(", ".join(part for part in (wording_at(one, "dcc:name"), *norms) if part))
    return tuple(part for part in made if part)


def _ambient(measurements: list[etree._Element]) -> tuple[Ambient, ...]:
    made = []
    for measurement in measurements:
        for one in children(measurement, "dcc:influenceConditions/dcc:influenceCondition"):
            kind = next((word for name, word in _AMBIENT.items() if name in kinds_of(one)), "")
            for quantity in children(one, "dcc:data/dcc:quantity") if kind else ():
                series = series_of(quantity, f"Ambient {kind}")
                chosen = next((each for each in series if each.unit != "K"), series[0] if series else None)
                if chosen is not None:
                    values = " ".join(format(value, "f") for value in chosen.values)
                    made.append(Ambient(kind, wording_at(quantity, "dcc:name"), values, chosen.unit))
    return tuple(made)


def _replaced(core: etree._Element) -> str:
    """The identifier of a certificate this one amends or stands in for."""
    amended = text_at(core, "dcc:reportAmendedSubstituted/dcc:replacedUniqueIdentifier")
    return amended or text_at(core, "dcc:previousReport/dcc:referralID")

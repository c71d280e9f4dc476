"""Whether what was entered of a calibration is what its digital certificate says."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from calibration.domain.digital_certificate import DigitalCertificate
from calibration.domain.status import shown

_UNITS = {("hygrometer", "%"): "% RH"}
type Figures = tuple[Decimal, Decimal, str, Decimal | None, Decimal | None]
"""Reference, indication, unit, expanded uncertainty, coverage factor."""


@dataclass(frozen=True, slots=True)
class EnteredPoint:
    """One point as entered: its figures, and whether it is as left."""

    figures: Figures
    as_left: bool


def unit_for(kind: str, unit: str) -> str:
    """Return a certificate's unit as this program writes it for a kind of instrument.

    Per cent on a thermo-hygrometer's certificate are of relative humidity; every other unit stays.
    """
    return _UNITS.get((kind, unit), unit)


def differences_from_file(
    certificate: DigitalCertificate,
    *,
    kind: str,
    calibrated_on: date,
    certificate_number: str,
    points: tuple[EnteredPoint, ...],
) -> tuple[str, ...]:
    """Return in sentences where the entry and the file say different things; numbers are compared by value.

    Points left out are named too. As found or as left is compared only where the file says which.
    """
    found = []
    if not certificate.begun_on <= calibrated_on <= certificate.ended_on:
        found.append(f"Calibrated on {shown(calibrated_on)} is entered, the file says {shown(certificate.ended_on)}.")
    if certificate_number != certificate.identifier:
        said = f"“{certificate_number}”" if certificate_number else "No certificate number"
        found.append(f"{said} is entered, the file’s number is “{certificate.identifier}”.")
    left_over = list(points)
    for point in certificate.points:
        unit = unit_for(kind, point.unit)
        theirs = (point.reference, point.indication, unit, point.expanded_uncertainty, point.coverage_factor)
        ours = next((one for one in left_over if one.figures == theirs), None)
        if ours is None:
            found.append(f"In the file, and not entered: {_words(theirs)}.")
            continue
        left_over.remove(ours)
        if point.as_left is not None and point.as_left != ours.as_left:
            entered, said = ("as left", "as found") if ours.as_left else ("as found", "as left")
            found.append(f"Entered {entered}, in the file {said}: {_words(theirs)}.")
    return (*found, *(f"Entered, and not in the file: {_words(one.figures)}." for one in left_over))


def _words(figures: Figures) -> str:
    reference, indication, unit, uncertainty, factor = figures
    stated = "no U" if uncertainty is None else f"U {uncertainty:f}"
    covered = "no k" if factor is None else f"k {factor:f}"
    return f"{reference:f} → {indication:f} {unit}, {stated}, {covered}"

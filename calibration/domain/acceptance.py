"""The checks of an incoming calibration certificate: what it states, how it is traced, whether it is about ours."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import pairwise
from typing import Literal

from calibration.domain.conformity import Conformity, ErrorLimit, Summary
from calibration.domain.corrections import StatedPoint
from calibration.domain.drift import SAME_PLACE
from calibration.domain.figures import digits, with_unit
from calibration.domain.status import shown
from labsite.ledger.wording import capitalised

type Answer = Literal["ok", "not ok", "not known"]
type Found = tuple[Answer, str]

NATIONAL, ACCREDITED, OTHER, IN_HOUSE = "national institute", "accredited laboratory", "other", "in house"
MOST_SIGNIFICANT = 2
"""Significant digits of an expanded uncertainty. Source: ILAC-P14:09/2020 (in our words)."""
ABOUT_95 = (Decimal("0.94"), Decimal("0.96"))
"""What counts as a coverage probability of about 95 %; the margin is common practice."""


@dataclass(frozen=True, slots=True)
class IncomingCertificate:
    """What was entered of a certificate; None and empty texts are what nobody stated.

    `in_scope`: quantity and range lay inside what the calibration laboratory may calibrate on that day.
    `probabilities` are the coverage probabilities of the points, 0 to 1, in their order.
    """

    calibrated_on: date
    points: tuple[StatedPoint, ...] = ()
    probabilities: tuple[Decimal | None, ...] = ()
    issued_on: date | None = None
    received_on: date | None = None
    route: str = ""
    route_evidence: str = ""
    accreditation_number: str = ""
    in_scope: bool | None = None
    serial_on_certificate: str = ""


@dataclass(frozen=True, slots=True)
class Check:
    """One question, its answer, and the figures it rests on as a sentence."""

    key: str
    question: str
    answer: Answer
    sentence: str


def acceptance_checks(
    certificate: IncomingCertificate,
    *,
    serial_number: str,
    limits: Iterable[ErrorLimit],
    conformity: Conformity,
    today: date,
) -> tuple[Check, ...]:
    """Return the checks of an incoming certificate, in the order in which they are shown.

    `serial_number` is the instrument's own; `limits` say by their ranges where it is used; `today` is the laboratory's
    day. What is not stated is not known, and never taken for granted. Sources: ILAC-P14:09/2020 for U, k and digits,
    ILAC-P10:07/2020 for the route, ISO/IEC 17025:2017 6.4.4, 6.4.5 and 6.5 for the rest, in our words.
    """
    found: list[tuple[str, str, Found]] = [
        ("uncertainty", "Is U stated for every point?", _uncertainty(certificate.points)),
        ("coverage factor", "Is k stated for every point?", _coverage_factor(certificate.points)),
        ("coverage probability", "Is U stated at about 95 %?", _probability(certificate)),
        ("digits", "Has U at most two significant digits?", _digits(certificate.points)),
        ("route", "Is the route to the SI recognised, or is there evidence for it?", _route(certificate)),
        ("scope", "Is it accredited, with quantity and range in scope?", _scope(certificate)),
        ("dates", "Do the dates follow one another?", _dates(certificate, today)),
        ("serial", "Is it the certificate of this instrument?", _serial(certificate, serial_number)),
        ("range", "Do the points cover the range in use?", _range(certificate.points, tuple(limits))),
        ("as found", "Is it inside its limits as found?", _conforming(conformity.found, "as found", conformity)),
    ]
    if conformity.left is not None:
        found.append(
            ("as left", "Is it inside its limits as left?", _conforming(conformity.left, "as left", conformity))
        )
    return tuple(Check(key, question, answer, sentence) for key, question, (answer, sentence) in found)


def not_ok(checks: Iterable[Check]) -> tuple[Check, ...]:
    """Return the checks that are not ok; who accepts all the same gives a reason."""
    return tuple(check for check in checks if check.answer == "not ok")


def _uncertainty(points: Sequence[StatedPoint]) -> Found:
    if not points:
        return "not known", "No point is entered."
    without = [one for one in points if one.point.uncertainty is None or one.point.uncertainty <= 0]
    if without:
        return "not ok", f"U is missing at {_places(without, points)}."
    least, most = (pick(one.point.uncertainty or Decimal(0) for one in points) for pick in (min, max))
    span = digits(least) if least == most else f"{digits(least)} to {digits(most)}"
    return "ok", f"U is stated at {_all(points)}: {span}."


def _coverage_factor(points: Sequence[StatedPoint]) -> Found:
    if not points:
        return "not known", "No point is entered."
    without = [one for one in points if one.coverage_factor is None or one.coverage_factor <= 0]
    if without:
        return "not ok", f"k is missing at {_places(without, points)}; it is not assumed."
    stated = sorted({one.coverage_factor or Decimal(0) for one in points})
    return "ok", f"k is stated at {_all(points)}: {', '.join(digits(k) for k in stated)}."


def _probability(certificate: IncomingCertificate) -> Found:
    stated = [one for one in certificate.probabilities if one is not None]
    if not stated or len(stated) < len(certificate.points):
        return "not known", "The coverage probability is not stated at every point."
    low, high = ABOUT_95
    shown_percent = ", ".join(f"{digits(_plain(one * 100))} %" for one in sorted(set(stated)))
    inside = all(low <= one <= high for one in stated)
    return ("ok" if inside else "not ok"), f"The coverage probability is {shown_percent}."


def _digits(points: Sequence[StatedPoint]) -> Found:
    stated = [one for one in points if one.point.uncertainty is not None]
    if not stated:
        return "not known", "No U is entered."
    many = [one for one in stated if _significant(one.point.uncertainty or Decimal(0)) > MOST_SIGNIFICANT]
    if many:
        worst = many[0].point.uncertainty or Decimal(0)
        return "not ok", f"U has {_significant(worst)} digits at {_places(many, stated)}: {digits(worst)}."
    return "ok", f"U has at most two significant digits at {_all(stated)}."


def _route(certificate: IncomingCertificate) -> Found:
    evidence = certificate.route_evidence
    match certificate.route:
        case "national institute":
            return "ok", "It comes from a national metrology institute."
        case "accredited laboratory":
            return "ok", "It comes from an accredited calibration laboratory."
        case "in house" if evidence:
            return "ok", f"It was made in house; evidence: {_ended(evidence)}"
        case "in house":
            return "not ok", "It was made in house, and procedure, competence and uncertainty are not shown."
        case "other" if evidence:
            return "ok", f"It comes by another route; evidence: {_ended(evidence)}"
        case "other":
            return "not ok", "It comes by another route, and no evidence is given."
    return "not known", "The route is not said."


def _scope(certificate: IncomingCertificate) -> Found:
    if certificate.route in (OTHER, IN_HOUSE):
        if certificate.route_evidence:
            return "ok", "No accreditation is claimed; the evidence for the route takes its place."
        return "not ok", "No accreditation is claimed, and no evidence takes its place."
    if certificate.in_scope is False:
        return "not ok", "Quantity or range lay outside the scope on that day."
    number = certificate.accreditation_number
    if certificate.route == ACCREDITED and not number:
        return "not ok", "The accreditation number is missing."
    if certificate.route not in (ACCREDITED, NATIONAL):
        return "not known", "The route is not said."
    if certificate.in_scope is None:
        return "not known", "Nobody has looked whether quantity and range were in scope on that day."
    return "ok", f"Quantity and range were in scope{f' of {number}' if number else ''}."


def _dates(certificate: IncomingCertificate, today: date) -> Found:
    named = (
        ("calibrated", certificate.calibrated_on),
        ("issued", certificate.issued_on),
        ("received", certificate.received_on),
        ("today", today),
    )
    known = [(name, day) for name, day in named if day is not None]
    for (earlier, first), (later, second) in pairwise(known):
        if first > second:
            then = f"today, {shown(second)}" if later == "today" else f"it was {later} on {shown(second)}"
            return "not ok", f"It was {earlier} on {shown(first)}, after {then}."
    missing = [name for name, day in named if day is None]
    if missing:
        return "not known", f"The day it was {' and '.join(missing)} is not said."
    return "ok", f"{capitalised(', '.join(f'{name} {shown(day)}' for name, day in known[:-1]))}."


def _serial(certificate: IncomingCertificate, serial_number: str) -> Found:
    stated = certificate.serial_on_certificate
    if not stated.strip():
        return "not known", "No serial number of the certificate is entered."
    if not serial_number.strip():
        return "not known", f"The certificate says {stated}; no serial number of the instrument is registered."
    if _squeezed(stated) == _squeezed(serial_number):
        return "ok", f"Both say {serial_number}."
    return "not ok", f"The certificate says {stated}, the instrument is registered as {serial_number}."


def _range(points: Sequence[StatedPoint], limits: Sequence[ErrorLimit]) -> Found:
    ranged = [one for one in limits if one.low is not None or one.high is not None]
    if not ranged:
        return "not known", "No range in use is set with the instrument's limits."
    short = [clause for limit in ranged for clause in _not_covered(points, limit)]
    if short:
        return "not ok", f"{'. '.join(short)}."
    return "ok", f"The points cover{' and'.join(one.range_words.removeprefix(',') for one in ranged)}."


def _not_covered(points: Sequence[StatedPoint], limit: ErrorLimit) -> list[str]:
    at = [value for one in points if one.point.unit == limit.unit for value in _ends(one)]
    if not at:
        return [f"No point is entered in {limit.unit}"]
    clauses = []
    if limit.low is not None and min(at) > limit.low + SAME_PLACE * abs(limit.low):
        clauses.append(f"The lowest point is {with_unit(min(at), limit.unit)}, it is used from {digits(limit.low)}")
    if limit.high is not None and max(at) < limit.high - SAME_PLACE * abs(limit.high):
        clauses.append(f"The highest point is {with_unit(max(at), limit.unit)}, it is used up to {digits(limit.high)}")
    return clauses


def _ends(stated: StatedPoint) -> tuple[Decimal, Decimal]:
    return stated.point.reference, stated.point.indication


def _conforming(summary: Summary | None, kind: str, conformity: Conformity) -> Found:
    if summary is None:
        some = "No point is entered" if not conformity.points else f"No point is entered {kind}"
        return "not known", f"{some}."
    if summary.holds is None:
        return "not known", summary.sentence
    return ("ok" if summary.holds else "not ok"), summary.sentence


def _significant(value: Decimal) -> int:
    """Digits that count: leading zeros do not, nor zeros at the end of a whole number."""
    text = digits(abs(value))
    whole = text.strip("0") if "." not in text else text.replace(".", "").lstrip("0")
    return max(len(whole), 1)


def _places(some: Sequence[StatedPoint], points: Sequence[StatedPoint]) -> str:
    first = some[0].point
    return f"{len(some)} of {len(points)} points, first {with_unit(first.reference, first.unit)}"


def _all(points: Sequence[StatedPoint]) -> str:
    return "its point" if len(points) == 1 else f"all {len(points)} points"


def _squeezed(text: str) -> str:
    return "".join(text.split()).casefold()


def _ended(text: str) -> str:
    return f"{text.strip().rstrip('.')}."


def _plain(value: Decimal) -> Decimal:
    return Decimal(digits(value.normalize()))

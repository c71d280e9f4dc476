"""The checks of an incoming certificate: U, k, digits, route, scope, dates, serial number, range and limits."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from calibration.domain.acceptance import Check, IncomingCertificate, acceptance_checks, not_ok
from calibration.domain.conformity import ErrorLimit, conformity
from calibration.domain.corrections import StatedPoint
from calibration.domain.drift import Point

D = Decimal
TODAY = date(2026, 3, 10)
CLASS_1 = ErrorLimit("°C", D("1.5"), D("0.004"), D(550), D(960))


def stated(reference: str, indication: str, u: str | None = "1.1", k: str | None = "2", *, left: bool = False):
    point = Point(left, D(reference), D(indication), "°C", None if u is None else D(u))
    return StatedPoint(point, None if k is None else D(k))


GOOD = IncomingCertificate(
    calibrated_on=date(2026, 3, 2),
    points=(stated("550.0", "549.6"), stated("850.0", "849.4"), stated("960.0", "959.2", "1.3")),
    probabilities=(D("0.9545"),) * 3,
    issued_on=date(2026, 3, 4),
    received_on=date(2026, 3, 9),
    route="accredited laboratory",
    accreditation_number="K-0941",
    in_scope=True,
    serial_on_certificate="kx 117",
)


def checks(certificate: IncomingCertificate = GOOD, *, serial: str = "KX117", limits=(CLASS_1,), today: date = TODAY):
    judged = conformity(certificate.points, {one.unit: one for one in limits})
    return acceptance_checks(certificate, serial_number=serial, limits=limits, conformity=judged, today=today)


def one(key: str, certificate: IncomingCertificate = GOOD, **more) -> tuple[str, str]:
    found: Check = next(check for check in checks(certificate, **more) if check.key == key)
    return found.answer, found.sentence


def test_a_certificate_with_everything_in_order():
    assert [(check.key, check.answer, check.sentence) for check in checks()] == [
        ("uncertainty", "ok", "U is stated at all 3 points: 1.1 to 1.3."),
        ("coverage factor", "ok", "k is stated at all 3 points: 2."),
        ("coverage probability", "ok", "The coverage probability is 95.45 %."),
        ("digits", "ok", "U has at most two significant digits at all 3 points."),
        ("route", "ok", "It comes from an accredited calibration laboratory."),
        ("scope", "ok", "Quantity and range were in scope of K-0941."),
        ("dates", "ok", "Calibrated 2 Mar 2026, issued 4 Mar 2026, received 9 Mar 2026."),
        ("serial", "ok", "Both say KX117."),
        ("range", "ok", "The points cover from 550 to 960 °C."),
        (
            "as found",
            "ok",
            "As found it is inside its limits: at most it read 0.8 K low at 960.0 °C, 3.84 K are permitted.",
        ),
    ]
    assert not_ok(checks()) == ()


def test_a_bare_old_calibration_knows_nothing_and_has_nothing_wrong():
    bare = checks(IncomingCertificate(date(2026, 3, 2)), serial="", limits=())
    assert {check.answer for check in bare} == {"not known"}
    assert len(bare) == len(checks())


@pytest.mark.parametrize(
    ("points", "answer", "sentence"),
    [
        ((stated("850", "849", None),), "not ok", "U is missing at 1 of 1 points, first 850 °C."),
        (
            (stated("650", "649"), stated("850", "849", "0")),
            "not ok",
            "U is missing at 1 of 2 points, first 850 °C.",
        ),
        ((stated("850", "849"),), "ok", "U is stated at its point: 1.1."),
        ((), "not known", "No point is entered."),
    ],
)
def test_u_is_stated_at_every_point(points: tuple[StatedPoint, ...], answer: str, sentence: str):
    assert one("uncertainty", replace(GOOD, points=points)) == (answer, sentence)


@pytest.mark.parametrize(
    ("k", "answer", "sentence"),
    [
        (None, "not ok", "k is missing at 1 of 1 points, first 850 °C; it is not assumed."),
        ("0", "not ok", "k is missing at 1 of 1 points, first 850 °C; it is not assumed."),
        ("2.00", "ok", "k is stated at its point: 2.00."),
    ],
)
def test_k_is_stated_and_never_assumed(k: str | None, answer: str, sentence: str):
    assert one("coverage factor", replace(GOOD, points=(stated("850", "849", "1.1", k),))) == (answer, sentence)


@pytest.mark.parametrize(
    ("probabilities", "answer", "sentence"),
    # ILAC-P14:09/2020: about 95 %; EA-4/02 uses 95.45 % with k = 2
    [
        (("0.95",), "ok", "The coverage probability is 95 %."),
        (("0.9545",), "ok", "The coverage probability is 95.45 %."),
        (("0.99",), "not ok", "The coverage probability is 99 %."),
        (("0.68",), "not ok", "The coverage probability is 68 %."),
        ((None,), "not known", "The coverage probability is not stated at every point."),
    ],
)
def test_u_is_stated_at_about_95_percent(probabilities: tuple[str | None, ...], answer: str, sentence: str):
    made = replace(
        GOOD,
        points=(stated("850", "849"),),
        probabilities=tuple(None if p is None else D(p) for p in probabilities),
    )
    assert one("coverage probability", made) == (answer, sentence)


@pytest.mark.parametrize(
    ("u", "answer"),
    # JCGM 100:2008 7.2.6 and ILAC-P14: at most two significant digits
    [("1.1", "ok"), ("1.10", "not ok"), ("0.061", "ok"), ("0.0610", "not ok"), ("10", "ok"), ("12", "ok"),
     ("123", "not ok"), ("120", "ok"), ("1200", "ok"), ("0.5", "ok"), ("10.0", "not ok")],
)  # fmt: skip
def test_u_has_at_most_two_significant_digits(u: str, answer: str):
    assert one("digits", replace(GOOD, points=(stated("850", "849", u),)))[0] == answer


def test_too_many_digits_are_named_with_their_place():
    points = (stated("650", "649"), stated("850", "849", "1.104"))
    assert one("digits", replace(GOOD, points=points)) == (
        *("not ok", "U has 4 digits at 1 of 2 points, first 850 °C: 1.104."),
    )


@pytest.mark.parametrize(
    ("route", "evidence", "number", "in_scope", "of_route", "of_scope"),
    # ILAC-P10:07/2020: national institute, accredited laboratory, other routes with evidence, in house with a procedure
    [
        ("national institute", "", "", True, "ok", "ok"),
        ("national institute", "", "", None, "ok", "not known"),
        ("accredited laboratory", "", "K-1", True, "ok", "ok"),
        ("accredited laboratory", "", "", True, "ok", "not ok"),
        ("accredited laboratory", "", "K-1", False, "ok", "not ok"),
        ("accredited laboratory", "", "K-1", None, "ok", "not known"),
        ("other", "", "", None, "not ok", "not ok"),
        ("other", "Report R-9 on procedure and comparison.", "", None, "ok", "ok"),
        ("in house", "", "", None, "not ok", "not ok"),
        ("in house", "Procedure P-12, budget B-3", "", None, "ok", "ok"),
        ("", "", "", None, "not known", "not known"),
        ("", "", "", False, "not known", "not ok"),
    ],
)
def test_route_and_scope(route: str, evidence: str, number: str, in_scope: bool | None, of_route: str, of_scope: str):
    made = replace(GOOD, route=route, route_evidence=evidence, accreditation_number=number, in_scope=in_scope)
    assert (one("route", made)[0], one("scope", made)[0]) == (of_route, of_scope)


@pytest.mark.parametrize(
    ("issued", "received", "today", "answer", "sentence"),
    # days of March 2026; it was calibrated on the second
    [
        (2, 2, 2, "ok", "Calibrated 2 Mar 2026, issued 2 Mar 2026, received 2 Mar 2026."),
        (1, 9, 10, "not ok", "It was calibrated on 2 Mar 2026, after it was issued on 1 Mar 2026."),
        (4, 3, 10, "not ok", "It was issued on 4 Mar 2026, after it was received on 3 Mar 2026."),
        (4, 11, 10, "not ok", "It was received on 11 Mar 2026, after today, 10 Mar 2026."),
        (None, 1, 10, "not ok", "It was calibrated on 2 Mar 2026, after it was received on 1 Mar 2026."),
        (None, None, 10, "not known", "The day it was issued and received is not said."),
        (4, None, 10, "not known", "The day it was received is not said."),
    ],
)
def test_dates_follow_one_another(issued: int | None, received: int | None, today: int, answer: str, sentence: str):
    made = replace(
        GOOD,
        issued_on=None if issued is None else date(2026, 3, issued),
        received_on=None if received is None else date(2026, 3, received),
    )
    assert one("dates", made, today=date(2026, 3, today)) == (answer, sentence)


@pytest.mark.parametrize(
    ("on_certificate", "registered", "answer", "sentence"),
    [
        ("KX-117", "KX-117", "ok", "Both say KX-117."),
        ("kx-117 ", "KX-117", "ok", "Both say KX-117."),
        ("KX-171", "KX-117", "not ok", "The certificate says KX-171, the instrument is registered as KX-117."),
        ("KX117", "KX-117", "not ok", "The certificate says KX117, the instrument is registered as KX-117."),
        ("", "KX-117", "not known", "No serial number of the certificate is entered."),
        ("KX-117", " ", "not known", "The certificate says KX-117; no serial number of the instrument is registered."),
    ],
)
def test_the_serial_number_is_the_instruments(on_certificate: str, registered: str, answer: str, sentence: str):
    made = replace(GOOD, serial_on_certificate=on_certificate)
    assert one("serial", made, serial=registered) == (answer, sentence)


@pytest.mark.parametrize(
    ("low", "high", "answer", "sentence"),
    # a place of the range is the same within 1 % (ours: certificates seldom hit a nominal value exactly)
    [
        ("550", "960", "ok", "The points cover from 550 to 960 °C."),
        ("545", "969", "ok", "The points cover from 545 to 969 °C."),
        ("540", "960", "not ok", "The lowest point is 549.6 °C, it is used from 540."),
        ("550", "1000", "not ok", "The highest point is 960.0 °C, it is used up to 1000."),
        (
            "0",
            "1000",
            "not ok",
            "The lowest point is 549.6 °C, it is used from 0. The highest point is 960.0 °C, it is used up to 1000.",
        ),
        (None, "960", "ok", "The points cover up to 960 °C."),
        (None, None, "not known", "No range in use is set with the instrument's limits."),
    ],
)
def test_the_points_cover_the_range_in_use(low: str | None, high: str | None, answer: str, sentence: str):
    limit = ErrorLimit("°C", D(4), None, None if low is None else D(low), None if high is None else D(high))
    assert one("range", limits=(limit,)) == (answer, sentence)


def test_a_range_in_a_unit_without_points_is_not_covered():
    humidity = ErrorLimit("% RH", D(3), None, D(20), D(80))
    assert one("range", limits=(humidity,)) == ("not ok", "No point is entered in % RH.")


def test_as_found_and_as_left_are_asked_apart():
    adjusted = replace(GOOD, points=(stated("850", "846.1"), stated("850", "849.9", left=True)), probabilities=())
    assert (one("as found", adjusted)[0], one("as left", adjusted)[0]) == ("not ok", "ok")
    only_left = replace(GOOD, points=(stated("850", "849.9", left=True),), probabilities=())
    assert one("as found", only_left) == ("not known", "No point is entered as found.")


def test_without_limits_conformity_is_not_known():
    assert one("as found", limits=()) == (
        "not known",
        "As found it is not judged at 3 of 3 points, 960.0 °C: no limit is set in °C.",
    )

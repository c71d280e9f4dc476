"""A calibration's points against the instrument's limits; arithmetic by hand where no source is named."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibration.domain.conformity import Conformity, ErrorLimit, class_limit, conformity
from calibration.domain.corrections import StatedPoint
from calibration.domain.drift import Point

D = Decimal


def number(text: str | None) -> Decimal | None:
    return None if text is None else D(text)


def point(
    reference: str, indication: str, *, left: bool = False, unit: str = "°C", u: str | None = None, k: str | None = "2"
) -> StatedPoint:
    return StatedPoint(Point(left, D(reference), D(indication), unit, number(u)), None if u is None else number(k))


def limit(absolute: str | None = None, relative: str | None = None, **more: str) -> ErrorLimit:
    return ErrorLimit(
        more.get("unit", "°C"),
        number(absolute),
        number(relative),
        number(more.get("low")),
        number(more.get("high")),
        more.get("rule", "simple acceptance"),
        D(more.get("guard_factor", "1")),
    )


CLASS_1 = limit("1.5", "0.004", low="-40", high="1000")


def judged(*points: StatedPoint, by: ErrorLimit = CLASS_1) -> Conformity:
    return conformity(points, {by.unit: by})


@pytest.mark.parametrize(
    ("value", "permitted"),
    # IEC 60584-1:2013, type K class 1: 1.5 K up to 375 °C, then 0.4 %; -40 to 1000 °C (figures: published tables)
    [("-40.1", None), ("-40", "1.5"), ("0", "1.5"), ("375", "1.5"), ("375.5", "1.502"), ("850", "3.4"), ("960", "3.84"),
     ("1000", "4"), ("1000.1", None)],
)  # fmt: skip
def test_the_larger_of_both_terms_is_permitted_inside_the_range(value: str, permitted: str | None):
    found = CLASS_1.permitted(D(value))
    assert (None if found is None else str(found)) == permitted


@pytest.mark.parametrize(
    ("only", "value", "permitted"),
    [
        (limit("0.05"), "9", "0.05"),
        (limit(None, "0.01"), "-250", "2.5"),
        (limit(None, "0.01"), "0", "0"),
        (limit("0.050"), "9", "0.05"),
        (limit("20"), "0", "20"),
    ],
)
def test_one_term_alone_is_a_limit(only: ErrorLimit, value: str, permitted: str):
    assert str(only.permitted(D(value))) == permitted


@pytest.mark.parametrize(
    ("kind", "number_of_class", "at", "permitted"),
    # IEC 60584-1:2013 by published tables: K class 2 at 960, N class 1 at 960, J class 2 at 750, T class 1 at 300, T 3
    [("K", "2", "960", "7.2"), ("N", "1", "960", "3.84"), ("J", "2", "750", "5.625"), ("T", "1", "300", "1.2"),
     ("T", "3", "-200", "3")],
)  # fmt: skip
def test_a_thermocouples_class_is_a_limit(kind: str, number_of_class: str, at: str, permitted: str):
    found = class_limit(kind, number_of_class)
    assert found is not None
    assert str(found.permitted(D(at))) == permitted
    assert found.source == f"IEC 60584-1:2013, type {kind}, class {number_of_class}, new material"


@pytest.mark.parametrize(("kind", "number_of_class"), [("J", "3"), ("K", "4"), ("", "1"), ("K", ""), ("K", "-1")])
def test_a_class_the_type_does_not_have_is_no_limit(kind: str, number_of_class: str):
    assert class_limit(kind, number_of_class) is None


@pytest.mark.parametrize(
    ("of", "words"),
    [
        (CLASS_1, "1.5 K or 0.4 % of the value, the larger, from -40 to 1000 °C"),
        (limit("0.05", unit="N"), "0.05 N"),
        (limit(None, "0.005", unit="N", low="1"), "0.5 % of the value, from 1 N up"),
        (limit("3", unit="% RH", high="90"), "3 % RH, up to 90 % RH"),
    ],
)
def test_a_limit_in_words(of: ErrorLimit, words: str):
    assert of.words == words


@pytest.mark.parametrize(
    ("indication", "statement", "holds"),
    # at 850 °C class 1 permits 3.4 K, the limit included
    [("846.5", "fail", False), ("846.60", "pass", True), ("846.6001", "pass", True), ("846.5999", "fail", False),
     ("850", "pass", True), ("853.4", "pass", True), ("853.40001", "fail", False)],
)  # fmt: skip
def test_simple_acceptance_at_below_and_above_the_limit(indication: str, statement: str, holds: bool):
    one = judged(point("850", indication)).points[0]
    assert (one.statement, one.holds, one.risk, one.probability) == (statement, holds, None, None)


@pytest.mark.parametrize(
    ("error", "statement", "probability"),
    # ILAC-G8:09/2019 figures 4 and 5 with limits of -15 and +15 K at 960 °C, U = 8 K, k = 2, w = U; probabilities of
    # conformance by JCGM 106:2012 clause 7: 0.99982, 0.97725, 0.89435, 0.500, 0.40129
    [("0", "pass", 0.99982), ("7", "pass", 0.97725), ("-7", "pass", 0.97725), ("10", "conditional pass", 0.89435),
     ("15", "conditional pass", 0.5), ("-16", "conditional fail", 0.40129), ("24", "fail", 0.01222)],
)  # fmt: skip
def test_a_guard_band_gives_four_statements_with_their_risk(error: str, statement: str, probability: float):
    guarded = limit("15", rule="guard band")
    one = judged(point("960", str(960 + D(error)), u="8"), by=guarded).points[0]
    assert (one.statement, one.accept_low, one.accept_high) == (statement, D(-7), D(7))
    assert one.probability == pytest.approx(probability, abs=5e-6)
    assert one.risk == pytest.approx(1 - probability if one.holds else probability, abs=5e-6)


@pytest.mark.parametrize(("u", "k"), [(None, "2"), ("1.1", None), ("0", "2"), ("1.1", "0")])
def test_a_guard_band_without_u_or_k_is_not_judged(u: str | None, k: str | None):
    found = judged(point("850", "849", u=u, k=k), by=limit("3.4", rule="guard band"))
    assert (found.points[0].statement, found.points[0].holds, found.points[0].risk) == ("not judged", None, None)
    assert found.found is not None
    assert found.found.sentence == (
        "As found it is not judged, 850 °C: the guard band needs U and k, and the certificate does not state both."
    )


@pytest.mark.parametrize(("u", "k"), [(None, "2"), ("1.1", None), ("0", "2")])
def test_simple_acceptance_needs_no_uncertainty_and_then_knows_no_risk(u: str | None, k: str | None):
    one = judged(point("850", "849", u=u, k=k)).points[0]
    assert (one.statement, one.risk, one.probability) == ("pass", None, None)


def test_guard_bands_that_close_the_zone_are_not_judged_and_no_fail():
    one = judged(point("850", "850", u="3.4"), by=limit("3.4", rule="guard band")).points[0]
    assert (one.statement, one.reason[:52]) == ("not judged", "The guard bands of 3.4 close the zone from -3.4 to 3")


def test_the_uncritical_rule_says_that_it_accepts_beyond_the_limit():
    # ILAC-G8:09/2019, w = -U: rejected only beyond the limit plus U
    found = judged(point("850", "854", u="1.1"), by=limit("3.4", rule="guard band", guard_factor="-1")).found
    assert found is not None
    assert (found.statement, found.sentence) == (
        "pass",
        (
            "As found it is accepted, by a rule that rejects only beyond the guard band: at most it read 4 K high at "
            "850 °C, 3.4 K are permitted."
        ),
    )


def test_the_largest_error_beyond_its_limit_speaks_for_all():
    # 2.9 of 2.6, 3.7 of 3.0 and 3.9 of 3.4 K
    found = judged(point("650.0", "647.1", u="1.1"), point("750.0", "746.3", u="1.1"), point("850.0", "846.1", u="1.1"))
    assert found.found is not None
    assert found.found.sentence == (
        "As found it is out of its limits at 3 of 3 points: it read 3.9 K low at 850.0 °C, 3.4 K are permitted."
    )
    assert found.came_back == "it came back reading 3.9 K low at 850.0 °C, 3.4 K are permitted"


def test_what_came_back_in_one_point():
    found = judged(point("850", "846.1", u="1.1"))
    assert found.came_back == "it came back reading 3.9 K low at 850 °C, 3.4 K are permitted"
    assert found.found is not None
    assert found.found.sentence == "As found it is out of its limits: it read 3.9 K low at 850 °C, 3.4 K are permitted."


def test_one_permitted_kelvin_is_singular():
    assert judged(point("850", "852"), by=limit("1.0")).came_back == (
        "it came back reading 2 K high at 850 °C, 1 K is permitted"
    )


def test_inside_its_limits_with_the_point_that_came_closest():
    found = judged(point("650", "650"), point("850", "849.2")).found
    assert found is not None
    assert (found.statement, found.holds) == ("pass", True)
    assert (
        found.sentence == "As found it is inside its limits: at most it read 0.8 K low at 850 °C, 3.4 K are permitted."
    )
    exact = judged(point("650", "650.0")).found
    assert exact is not None
    assert exact.sentence == "As found it is inside its limits: at most it read right at 650 °C, 2.6 K are permitted."


def test_a_point_not_judged_outweighs_those_that_pass_and_not_those_that_fail():
    passing = judged(point("650", "650"), point("1050", "1050"))
    assert passing.found is not None
    assert (passing.found.statement, passing.found.holds) == ("not judged", None)
    assert passing.found.sentence == (
        "As found it is not judged at 1 of 2 points, 1050 °C: its limit holds from -40 to 1000 °C."
    )
    failing = judged(point("650", "640"), point("1050", "1050"))
    assert failing.found is not None
    assert (failing.found.statement, failing.found.holds) == ("fail", False)


def test_conditional_statements_in_words():
    guarded = limit("3.4", rule="guard band")
    close = judged(point("850", "853", u="1.1"), point("650", "650", u="1.1"), by=guarded).found
    beyond = judged(point("850", "854", u="1.1"), by=guarded)
    assert (close.sentence if close else "") == (
        "As found it is inside its limits, closer than the guard band at 1 of 2 points: "
        "at most it read 3 K high at 850 °C, 3.4 K are permitted."
    )
    assert (beyond.found.sentence if beyond.found else "") == (
        "As found it is out of its limits: it read 4 K high at 850 °C, 3.4 K are permitted, "
        "by less than the guard band."
    )
    assert beyond.came_back == "it came back reading 4 K high at 850 °C, 3.4 K are permitted"


def test_as_found_and_as_left_are_judged_apart():
    both = judged(point("850", "846.1"), point("850", "849.9", left=True))
    assert (both.found.statement if both.found else "", both.left.statement if both.left else "") == ("fail", "pass")
    assert both.summaries == (both.found, both.left)
    assert (both.left.sentence if both.left else "") == (
        "As left, after adjustment, it is inside its limits: at most it read 0.1 K low at 850 °C, 3.4 K are permitted."
    )
    assert both.came_back == "it came back reading 3.9 K low at 850 °C, 3.4 K are permitted"


def test_as_left_alone_does_not_say_how_it_came_back():
    left = judged(point("850", "840", left=True))
    assert (left.found, left.came_back) == (None, "")
    assert [summary.holds for summary in left.summaries] == [False]


def test_no_points_say_nothing():
    nothing = judged()
    assert (nothing.points, nothing.summaries, nothing.came_back) == ((), (), "")


def test_each_unit_has_its_own_limit_and_a_unit_without_one_is_not_judged():
    points = (point("23", "23.4"), point("50", "54", unit="% RH"), point("50", "50.1", unit="kPa"))
    found = conformity(points, {"°C": limit("0.5"), "% RH": limit("3", unit="% RH")})
    assert [(one.statement, one.reason) for one in found.points] == [
        ("pass", ""),
        ("fail", ""),
        ("not judged", "no limit is set in kPa"),
    ]
    assert found.came_back == "it came back reading 4 % RH high at 50 % RH, 3 % RH are permitted"


def test_of_several_units_the_one_furthest_beyond_speaks():
    # 0.9 K of 0.5 K, 4 and 5 % RH of 3 % RH: 180 % against 167 %
    points = (point("23", "23.9"), point("50", "54", unit="% RH"), point("80", "85", unit="% RH"))
    found = conformity(points, {"°C": limit("0.5"), "% RH": limit("3", unit="% RH")})
    assert found.came_back == "it came back reading 0.9 K high at 23 °C, 0.5 K are permitted"


def test_repeated_points_are_judged_each():
    up_and_down = judged(point("850", "849"), point("850", "846"), point("850", "849"))
    assert [one.statement for one in up_and_down.points] == ["pass", "fail", "pass"]
    assert up_and_down.came_back == "it came back reading 4 K low at 850 °C, 3.4 K are permitted"


TENTHS = st.integers(-60, 60).map(lambda n: D(n) / 10)


@given(errors=st.lists(TENTHS, min_size=1, max_size=5), u=st.integers(1, 30).map(lambda n: D(n) / 10))
def test_what_the_sentence_says_is_never_better_than_any_point(errors: list[Decimal], u: Decimal):
    order = ("pass", "conditional pass", "not judged", "conditional fail", "fail")
    points = [point("500", str(500 + error), u=str(u)) for error in errors]
    for rule in ("simple acceptance", "guard band"):
        found = judged(*points, by=limit("3.1", rule=rule))
        assert found.found is not None
        assert found.found.statement == max((one.statement for one in found.points), key=order.index)
        assert (found.came_back != "") == (found.found.holds is False)


@given(error=TENTHS, u=st.integers(1, 30).map(lambda n: D(n) / 10))
def test_a_guard_band_never_accepts_what_simple_acceptance_rejects(error: Decimal, u: Decimal):
    one = point("500", str(500 + error), u=str(u))
    simple = judged(one, by=limit("3.1")).points[0]
    guarded = judged(one, by=limit("3.1", rule="guard band")).points[0]
    assert guarded.holds in (simple.holds, None)
    assert not (guarded.statement == "pass" and simple.statement == "fail")

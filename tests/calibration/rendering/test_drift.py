"""The drift drawing: what it says in words, what it draws, and that text stays text."""

from datetime import date
from decimal import Decimal
from xml.etree import ElementTree as ET

import pytest

from calibration.domain.drift import Drift, Point, Visit
from calibration.domain.figures import signed
from calibration.rendering.drift import drift_plot


def point(indication: str, *, left: bool = False, uncertainty: str | None = "1.1") -> Point:
    return Point(left, Decimal("850"), Decimal(indication), "°C", Decimal(uncertainty) if uncertainty else None)


DRIFT = Drift(
    Decimal("850"),
    "°C",
    (
        Visit(date(2024, 5, 15), point("849.1"), None),
        Visit(date(2025, 5, 19), point("848.5"), point("849.8", left=True)),
        Visit(date(2026, 5, 14), point("849.2"), None),
    ),
)


def drawn(drift: Drift, code: str = "TC-07") -> ET.Element:
    return ET.fromstring(drift_plot(drift, code=code))  # noqa: S314  (our own output)


def test_the_drawing_says_its_result_in_words():
    assert drawn(DRIFT).attrib["aria-label"] == (
        "Error of TC-07 at 850 °C. 15 May 2024: as found −0.9 K; 19 May 2025: as found −1.5 K, as left −0.2 K; "
        "14 May 2026: as found −0.8 K"
    )


def test_limits_are_lines_around_a_field_and_what_lies_beyond_them_stands_out():
    beyond = Drift(Decimal("850"), "°C", (DRIFT.visits[0], Visit(date(2026, 11, 18), point("846.1"), None)))
    root = ET.fromstring(drift_plot(beyond, code="TC-07", permitted=Decimal("3.4")))  # noqa: S314  (our own output)
    assert root.attrib["aria-label"].startswith("Error of TC-07 at 850 °C, permitted ±3.4 K. ")
    field = next(element for element in root.iter("rect") if element.attrib["class"] == "field")
    lines = sorted(
        float(element.attrib["y1"])
        for element in root.iter("line")
        if (element.attrib["class"], element.attrib["x1"], element.attrib["x2"]) == ("limit", "0.00%", "100.00%")
    )
    top, height = float(field.attrib["y"]), float(field.attrib["height"])
    assert lines == pytest.approx([top, top + height], abs=0.01)
    heights = {element.attrib["class"]: float(element.attrib["cy"]) for element in root.iter("circle")}
    assert lines[0] < heights["ring"] < lines[1] < heights["h-dot"]
    words = [element.text for element in root.iter("text") if "h-text" in element.attrib["class"]]
    assert words == ["−3.9 K"]


def test_rings_are_as_found_dots_as_left_and_bars_show_the_uncertainty():
    circles = [element.attrib["class"] for element in drawn(DRIFT).iter("circle")]
    assert circles == ["ring", "ring", "dot", "ring"]
    lines = [element.attrib["class"] for element in drawn(DRIFT).iter("line")]
    assert lines.count("knotline") == 2
    assert lines.count("axis") == 1 + 4


def test_later_lies_to_the_right_and_a_lower_error_lower():
    found = [element.attrib for element in drawn(DRIFT).iter("circle") if element.attrib["class"] == "ring"]
    places = [float(each["cx"].rstrip("%")) for each in found]
    assert places == sorted(places)
    heights = [float(each["cy"]) for each in found]
    assert heights[1] > heights[0] > heights[2]  # -1.5 lies lowest, -0.8 highest


def test_errors_of_zero_and_calibrations_of_one_day_can_be_drawn():
    same = Visit(date(2026, 5, 14), point("850", uncertainty=None), None)
    heights = {element.attrib["cy"] for element in drawn(Drift(Decimal("850"), "°C", (same, same))).iter("circle")}
    assert heights == {"111"}


def test_markup_in_a_code_or_unit_is_text():
    odd = Drift(Decimal("1"), '<script>"', DRIFT.visits)
    drawing = drawn(odd, code="<b>&")
    assert drawing.attrib["aria-label"].startswith('Error of <b>& at 1 <script>"')
    assert [element.tag for element in drawing.iter("script")] == []


@pytest.mark.parametrize(("value", "text"), [("0.40", "+0.40"), ("-3.9", "−3.9"), ("0.0", "0.0"), ("-0.0", "0.0")])
def test_a_difference_has_its_sign_and_digits(value: str, text: str):
    assert signed(Decimal(value)) == text

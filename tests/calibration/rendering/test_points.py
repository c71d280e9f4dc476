"""Compared points in words: digits kept, kinds apart, a shared doubt said once."""

from decimal import Decimal
from typing import Any

from calibration.models import CalibrationPoint
from calibration.rendering.points import PointGroup, PointLine, point_groups


def point(kind: str, reference: str, indication: str, u: str = "1.10", k: str = "2.00") -> CalibrationPoint:
    values: dict[str, Any] = {
        "reference": Decimal(reference),
        "indication": Decimal(indication),
        "expanded_uncertainty": Decimal(u) if u else None,
        "coverage_factor": Decimal(k) if k else None,
    }
    return CalibrationPoint(kind=kind, unit="°C", **values)


def test_found_stands_before_left_and_low_before_high():
    points = [
        point("as left", "850.0", "850.0"),
        point("as found", "850.0", "846.10"),
        point("as found", "90.0", "89.9"),
    ]
    assert point_groups(points) == (
        PointGroup(
            "as found",
            (
                PointLine("90.0 → 89.9 °C", "−0.1 K", "1.10 K", "2.00"),
                PointLine("850.0 → 846.10 °C", "−3.90 K", "1.10 K", "2.00"),
            ),
            "U 1.10 K, k 2.00",
        ),
        PointGroup("as left", (PointLine("850.0 → 850.0 °C", "0.0 K", "1.10 K", "2.00"),), "U 1.10 K, k 2.00"),
    )


def test_doubts_that_differ_stand_at_their_points_and_unknown_ones_are_not_made_up():
    (group,) = point_groups([point("as found", "90", "90", "1.1", ""), point("as found", "850", "850", "", "")])
    assert group.doubt == ""
    assert [line.doubt for line in group.lines] == ["U 1.1 K", ""]


def test_no_points_no_groups():
    assert point_groups([]) == ()

"""What the certificates of the demo’s instruments state: reference, indication, unit, expanded uncertainty (k = 2)."""

type StatedPoint = tuple[str, str, str, str]

_HOT: tuple[StatedPoint, ...] = (
    ("500.0", "499.7", "°C", "1.0"),
    ("650.0", "649.6", "°C", "1.1"),
    ("850.0", "849.4", "°C", "1.1"),
    ("960.0", "959.2", "°C", "1.3"),
    ("1000.0", "999.1", "°C", "1.3"),
)
_DISPLAY: tuple[StatedPoint, ...] = (
    ("0.0", "0.1", "°C", "0.3"),
    ("500.0", "500.2", "°C", "0.3"),
    ("1000.0", "1000.2", "°C", "0.4"),
)
_OVEN: tuple[StatedPoint, ...] = (
    ("10.0", "10.1", "°C", "0.3"),
    ("125.0", "125.2", "°C", "0.3"),
    ("200.0", "200.4", "°C", "0.4"),
)
_LIGHT_FORCE: tuple[StatedPoint, ...] = (
    ("0.500", "0.50", "N", "0.008"),
    ("1.000", "1.01", "N", "0.008"),
    ("2.000", "2.02", "N", "0.012"),
)
_BALL_FORCE: tuple[StatedPoint, ...] = (("10.00", "10.00", "N", "0.04"), ("30.00", "30.05", "N", "0.06"))
_DEPTH: tuple[StatedPoint, ...] = (
    ("0.000", "0.00", "mm", "0.02"),
    ("50.000", "50.00", "mm", "0.02"),
    ("250.000", "250.00", "mm", "0.03"),
)
_ROOM_AIR: tuple[StatedPoint, ...] = (
    ("15.00", "15.1", "°C", "0.2"),
    ("23.00", "23.1", "°C", "0.2"),
    ("35.00", "35.2", "°C", "0.2"),
    ("35.0", "34.4", "% RH", "1.2"),
    ("50.0", "49.2", "% RH", "1.2"),
    ("75.0", "74.3", "% RH", "1.5"),
)
_CURRENT: tuple[StatedPoint, ...] = (
    ("50.0", "50.1", "A", "0.5"),
    ("100.0", "100.3", "A", "0.6"),
    ("150.0", "150.4", "A", "0.8"),
)
_VOLTAGE: tuple[StatedPoint, ...] = (("100.0", "100.1", "V", "0.3"), ("600.0", "600.4", "V", "0.9"))

POINTS: dict[str, tuple[StatedPoint, ...]] = {
    "TC-01": _HOT,
    "TC-07": _HOT,
    "TC-02": _HOT,
    "TC-05": _OVEN,
    "IN-01": _DISPLAY,
    "IN-02": _DISPLAY,
    "IN-04": _DISPLAY,
    "FG-01": _LIGHT_FORCE,
    "FG-02": _LIGHT_FORCE,
    "FG-04": _BALL_FORCE,
    "LG-01": _DEPTH,
    "LG-02": _DEPTH,
    "HY-01": _ROOM_AIR,
    "HY-02": _ROOM_AIR,
    "HY-04": _ROOM_AIR,
    "AM-01": _CURRENT,
    "AM-02": _CURRENT,
    "VM-01": _VOLTAGE,
}
"""By code; an instrument that is not here came with a certificate whose points nobody has entered."""

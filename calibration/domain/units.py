"""The units calibrations are stated in, one spelling each, and which of them an instrument of a kind measures in."""

UNITS: tuple[str, ...] = ("°C", "K", "N", "s", "mm", "g", "% RH", "lx", "A", "V", "kPa", "µm", "mV")
"""Every unit a point, a limit or a check may have. Another spelling is refused; a unit is never guessed."""

_OF_KIND = {
    "thermocouple": ("°C", "K", "mV"),
    "indicator": ("°C", "K", "mV", "V"),
    "force gauge": ("N",),
    "timer": ("s",),
    "length gauge": ("mm", "µm"),
    "balance": ("g",),
    "hygrometer": ("°C", "% RH", "K", "kPa"),
    "lux meter": ("lx",),
    "ammeter": ("A",),
    "voltmeter": ("V", "mV"),
}
_OF_DIFFERENCE = {"°C": "K"}


def units_of(kind: str) -> tuple[str, ...]:
    """Return the units an instrument of this kind measures in, the usual one first; all of them for an unknown kind."""
    return _OF_KIND.get(kind, UNITS)


def difference_unit(unit: str) -> str:
    """Return the unit of a difference of two values in `unit`: kelvin for degrees Celsius, else the same."""
    return _OF_DIFFERENCE.get(unit, unit)

"""What a new thermocouple of a tolerance class may deviate by: the larger of two terms, inside the class's range only.

Source: the tolerance classes of IEC 60584-1:2013 (EN 60584-1:2013) as published tables agree on them; for new material,
reference junction at 0 degrees Celsius. ASTM E230 has other figures and is not meant here.
"""

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Tolerance:
    """The two terms of a class, in K and as a share of the temperature, and where the class is defined, in Celsius."""

    fixed_k: Decimal
    share: Decimal
    low_c: Decimal
    high_c: Decimal


def _row(fixed_k: str, share: str, low_c: int, high_c: int) -> Tolerance:
    return Tolerance(Decimal(fixed_k), Decimal(share), Decimal(low_c), Decimal(high_c))


TOLERANCES = {
    ("K", 1): _row("1.5", "0.004", -40, 1000),
    ("K", 2): _row("2.5", "0.0075", -40, 1200),
    ("K", 3): _row("2.5", "0.015", -200, 40),
    ("N", 1): _row("1.5", "0.004", -40, 1000),
    ("N", 2): _row("2.5", "0.0075", -40, 1200),
    ("N", 3): _row("2.5", "0.015", -200, 40),
    ("J", 1): _row("1.5", "0.004", -40, 750),
    ("J", 2): _row("2.5", "0.0075", -40, 750),
    ("T", 1): _row("0.5", "0.004", -40, 350),
    ("T", 2): _row("1.0", "0.0075", -40, 350),
    ("T", 3): _row("1.0", "0.015", -200, 40),
}


def tolerance_k(kind: str, tolerance_class: int, temperature_c: Decimal) -> Decimal | None:
    """Return what is permitted at a temperature, plus or minus, in K; a temperature difference, so 1.8 times in °F.

    None where the class has no tolerance: outside its range, or a class the type does not have (J has no class 3).
    Both ends of the range belong to it.
    """
    row = TOLERANCES.get((kind, tolerance_class))
    if row is None or not temperature_c.is_finite() or not row.low_c <= temperature_c <= row.high_c:
        return None
    return max(row.fixed_k, row.share * abs(temperature_c))

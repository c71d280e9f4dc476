"""Scores of a result against another one: z, z', zeta and E_n."""

from decimal import Decimal
from enum import Enum

WARNING, ACTION = Decimal(2), Decimal(3)
NEGLIGIBLE_SHARE = Decimal("0.3")


class Signal(Enum):
    """What a z, z' or zeta score calls for."""

    FINE = "fine"
    WARNING = "warning"
    ACTION = "action"


def z_score(value: Decimal, assigned: Decimal, deviation: Decimal) -> Decimal:
    """Return z = (x − X) / s_pt. ValueError for a deviation that is not above zero. Source: ISO 13528:2022, 9.4."""
    _above_zero(deviation)
    return (value - assigned) / deviation


def z_prime(value: Decimal, assigned: Decimal, deviation: Decimal, assigned_u: Decimal) -> Decimal:
    """Return z' = (x − X) / √(s_pt² + u_X²), u the standard uncertainty of the assigned value. ISO 13528:2022, 9.5."""
    return _against(value - assigned, deviation, assigned_u)


def zeta_score(value: Decimal, assigned: Decimal, value_u: Decimal, assigned_u: Decimal) -> Decimal:
    """Return zeta = (x − X) / √(u_x² + u_X²) from two standard uncertainties. Source: ISO 13528:2022, 9.6."""
    return _against(value - assigned, value_u, assigned_u)


def e_n(value: Decimal, assigned: Decimal, value_expanded: Decimal, assigned_expanded: Decimal) -> Decimal:
    """Return E_n = (x − X) / √(U_x² + U_X²) from two expanded uncertainties of the same coverage.

    Both results must be independent: where the laboratory's own result went into X, the number says nothing. Raises
    ValueError for an uncertainty below zero and where both are zero. Source: ISO 13528:2022, 9.7.
    """
    return _against(value - assigned, value_expanded, assigned_expanded)


def agrees(
    value: Decimal,
    assigned: Decimal,
    value_expanded: Decimal,
    assigned_expanded: Decimal,
    *,
    one_is_action: bool = False,
) -> bool:
    """Return whether two results agree, which is |E_n| ≤ 1 judged without rounding the root.

    E_n of exactly 1 is satisfactory (ISO/IEC 17043, from memory) unless `one_is_action` (ISO 13528:2022, 9.7.2).
    Raises ValueError as `e_n` does.
    """
    e_n(value, assigned, value_expanded, assigned_expanded)
    squared, allowed = (value - assigned) ** 2, value_expanded**2 + assigned_expanded**2
    return squared < allowed if one_is_action else squared <= allowed


def signal(score: Decimal) -> Signal:
    """Return what a z, z' or zeta score calls for: up to 2 fine, from 3 on action. Source: ISO 13528:2022, 9.4.2."""
    if abs(score) >= ACTION:
        return Signal.ACTION
    return Signal.WARNING if abs(score) > WARNING else Signal.FINE


def negligible(assigned_u: Decimal, deviation: Decimal) -> bool:
    """Return whether an assigned value's uncertainty may be left out of z: u_X < 0.3 s_pt. ISO 13528:2022, 9.2.1."""
    _above_zero(deviation)
    return assigned_u < NEGLIGIBLE_SHARE * deviation


def _against(difference: Decimal, one: Decimal, other: Decimal) -> Decimal:
    if one < 0 or other < 0:
        raise ValueError("an uncertainty is not below zero")
    if not one and not other:
        raise ValueError("at least one uncertainty is needed that is above zero")
    return difference / (one**2 + other**2).sqrt()


def _above_zero(deviation: Decimal) -> None:
    if deviation <= 0:
        raise ValueError("the deviation is a number above zero")

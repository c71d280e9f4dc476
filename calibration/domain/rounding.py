"""The one rule by which figures are rounded for print; nothing is ever judged by a rounded value."""

from collections.abc import Mapping
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Context, Decimal
from enum import StrEnum
from types import MappingProxyType

SIGNIFICANT = 2
WIDE = Context(prec=80)


class Half(StrEnum):
    """Where a value exactly half way goes: rule A of ISO 80000-1:2009 Annex B (even) or its rule B (up)."""

    EVEN = "half_even"
    UP = "half_up"


ROUNDINGS: Mapping[Half, str] = MappingProxyType({Half.EVEN: ROUND_HALF_EVEN, Half.UP: ROUND_HALF_UP})


def rounded(value: Decimal, place: Decimal, half: Half = Half.EVEN) -> Decimal:
    """Return a value rounded to the place of `place`, Decimal("0.1") or Decimal("1E+1"), in one step.

    Half up means away from zero, so that -2.5 becomes -3; what comes to zero has no sign. Raises ValueError for what is
    no number.
    """
    if not value.is_finite():
        raise ValueError("only a number can be rounded")
    there = value.quantize(place, ROUNDINGS[half], context=WIDE)
    return there if there else there.copy_abs()


def rounded_uncertainty(uncertainty: Decimal) -> Decimal:
    """Return a standard or expanded uncertainty with two significant digits, half up.

    What carries is rounded anew from all its digits, so that two digits stay: 9.95 becomes 10 and 0.0996 becomes 0.10.
    Source: JCGM 100:2008 7.2.6 (at most two digits). Rounding to two digits lowers an uncertainty by less than 5 %,
    which EA-4/02 allows. Raises ValueError for an uncertainty that is not above zero.
    """
    if not uncertainty.is_finite() or uncertainty <= 0:
        raise ValueError("an uncertainty is a number above zero")
    once = rounded(uncertainty, _place(uncertainty), Half.UP)
    return rounded(uncertainty, _place(once), Half.UP)


def rounded_to(value: Decimal, uncertainty: Decimal) -> Decimal:
    """Return a value rounded half even to the last place of its rounded uncertainty (JCGM 100:2008 7.2.6)."""
    return rounded(value, Decimal((0, (1,), _exponent(uncertainty))), Half.EVEN)


def shown_factor(factor: Decimal) -> str:
    """Return a coverage factor as it is printed: to the second decimal place."""
    return format(rounded(factor, Decimal("0.01"), Half.UP), "f")


def _place(value: Decimal) -> Decimal:
    return Decimal(1).scaleb(value.adjusted() - SIGNIFICANT + 1)


def _exponent(value: Decimal) -> int:
    exponent = value.as_tuple().exponent
    if not isinstance(exponent, int):
        raise ValueError("an uncertainty is a number above zero")
    return exponent

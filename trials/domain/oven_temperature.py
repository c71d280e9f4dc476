"""Oven temperature of the ball-pressure test by the formula of the product standard."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from trials.domain.criteria import Certainty, digits, with_unit

D = Decimal
type Part = Literal["external", "supports live parts"]

LEAST_C: dict[Part, Decimal] = {"external": D(75), "supports live parts": D(125)}
"""Lowest oven temperature in °C; the same pair in IEC 60335-1 and in IEC 60598-1."""


@dataclass(frozen=True)
class OvenRule:
    """How one product standard states the oven temperature, in words for the pages."""

    product_standard: str
    clause: str
    formula: str
    tolerance_k: Decimal
    source: str
    certainty: Certainty


@dataclass(frozen=True)
class OvenTemperature:
    """The temperature in °C as the formula gives it, unrounded, the oven's tolerance in K, and the sum in words."""

    temperature_c: Decimal
    tolerance_k: Decimal
    sentence: str


class OvenTemperatureError(ValueError):
    """Figures from which no oven temperature follows; the message is one sentence."""


IEC_60335_1 = OvenRule(
    "IEC 60335-1", "30.1",
    "40 °C plus the highest rise of clause 11, at least 75 °C for external parts and 125 °C for parts that support "
    "live parts; for thermoplastic supplementary or reinforced insulation 25 °C plus the highest rise of clause 19 "
    "where that is higher",
    D(2), "a test laboratory's public page on IEC 60335-1, 30.1; clause 19: IEC 60335-1:2006, 30.1 as quoted in public",
    "published",
)  # fmt: skip
IEC_60598_1 = OvenRule(
    "IEC 60598-1", "13.2.1",
    "operating temperature plus 25 K, at least 125 °C for parts that keep live parts in place and 75 °C for others",
    D(5), "IEC 60598-1, 13.2.1 as quoted in public (edition not named)", "published",
)  # fmt: skip
IEC_60950_1 = OvenRule(
    "IEC 60950-1", "4.5.5",
    "T - T_amb + T_ma + 15 K, T measured at ambient T_amb, T_ma the highest ambient specified; at least 125 °C for "
    "parts on which parts at primary voltage are mounted",
    D(2), "IEC 60950-1 as quoted in public; clause number from general knowledge", "published",
)  # fmt: skip
IEC_60884_1 = OvenRule(
    "IEC 60884-1", "25", "125 °C for parts that keep live parts in place", D(2),
    "IEC 60884-1, from general knowledge", "from memory",
)  # fmt: skip

OVEN_RULES = (IEC_60335_1, IEC_60598_1, IEC_60884_1, IEC_60950_1)


def oven_by_60335_1(part: Part, rise_k: Decimal, abnormal_rise_k: Decimal | None = None) -> OvenTemperature:
    """Return the temperature by IEC 60335-1, 30.1 from the highest rises in K of clause 11 and, if given, clause 19.

    `abnormal_rise_k` is given for thermoplastic supplementary or reinforced insulation only; a rise of 19.4 that was
    ended by a protective device needing a cover or a tool to reset is left out of it. Insulation of cords and of
    internal wiring is not tested. OvenTemperatureError for a rise below zero.
    """
    sums = [("clause 11", D(40), _rise(rise_k, "clause 11"))]
    if abnormal_rise_k is not None:
        sums.append(("clause 19", D(25), _rise(abnormal_rise_k, "clause 19")))
    clause, start_c, highest_k = max(sums, key=lambda one: one[1] + one[2])
    words = f"{digits(start_c)} °C + {with_unit(highest_k, 'K')} ({clause})"
    return _at_least(LEAST_C[part], start_c + highest_k, words, IEC_60335_1)


def oven_by_60598_1(part: Part, operating_c: Decimal) -> OvenTemperature:
    """Return the temperature by IEC 60598-1, 13.2.1 from the part's operating temperature in °C."""
    words = f"{with_unit(operating_c, '°C')} + 25 K"
    return _at_least(LEAST_C[part], operating_c + 25, words, IEC_60598_1)


def oven_by_60950_1(
    measured_c: Decimal, ambient_c: Decimal, highest_ambient_c: Decimal, *, primary: bool
) -> OvenTemperature:
    """Return the temperature by IEC 60950-1 from what was measured at an ambient and the highest ambient specified."""
    total = measured_c - ambient_c + highest_ambient_c + 15
    words = f"{digits(measured_c)} - {digits(ambient_c)} + {digits(highest_ambient_c)} °C + 15 K"
    return _at_least(D(125) if primary else None, total, words, IEC_60950_1)


def oven_by_60884_1() -> OvenTemperature:
    """Return the temperature by IEC 60884-1 for parts that keep live parts in place."""
    return OvenTemperature(D(125), IEC_60884_1.tolerance_k, "125 °C, without a formula")


def level_for(temperature_c: Decimal, levels_c: Iterable[Decimal]) -> Decimal | None:
    """Return the lowest level in °C that is not below the temperature; None when there is none.

    A specimen that passes at the level has passed at the temperature too: it only gets softer. One that fails above
    the temperature has not been shown to fail at it.
    """
    return min((level for level in levels_c if level >= temperature_c), default=None)


def _rise(rise_k: Decimal, clause: str) -> Decimal:
    if rise_k < 0:
        raise OvenTemperatureError(f"The rise of {clause} is {digits(rise_k)} K; a rise is not below zero.")
    return rise_k


def _at_least(least_c: Decimal | None, total_c: Decimal, words: str, rule: OvenRule) -> OvenTemperature:
    sentence = f"{words} = {with_unit(total_c, '°C')}"
    if least_c is not None and total_c < least_c:
        return OvenTemperature(least_c, rule.tolerance_k, f"{sentence}, below the least of {with_unit(least_c, '°C')}")
    return OvenTemperature(total_c, rule.tolerance_k, sentence)

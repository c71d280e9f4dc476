"""A number as text with the digits it was typed with, and the numbers that can be computed with exactly."""

from decimal import Decimal

MOST_DIGITS = 15
"""So many digits a number may have, before and after the point, that sums of two stay exact."""


def digits(value: Decimal) -> str:
    """Return a number as it was typed: every digit kept, no exponent, no sign on a zero."""
    text = str(value)
    if "E" in text:
        text = format(value, "f")
    return text.removeprefix("-") if text[0] == "-" and value.is_zero() else text


def with_unit(value: Decimal, unit: str) -> str:
    """Return a number and its unit as one text, for instance "30.2 s"."""
    return f"{digits(value)} {unit}".rstrip()


def signed(value: Decimal) -> str:
    """Return a difference with its sign and all its digits: +0.4, −3.9, 0.0."""
    sign = "+" if value > 0 else "−" if value < 0 else ""
    return f"{sign}{abs(value):f}"


def number_fault(number: object) -> str | None:
    """Return why `number` is none to be computed with, as a clause that ends a sentence; None where it is one."""
    if not isinstance(number, Decimal):
        return f"a number is needed, not {number!r}"
    if not number.is_finite():
        return f"{number} is not a number that can be judged"
    _, figures, exponent = number.as_tuple()
    if not isinstance(exponent, int) or max(len(figures), -exponent, len(figures) + exponent) > MOST_DIGITS:
        return f"{str(number)[:20]} has more than {MOST_DIGITS} digits"
    return None

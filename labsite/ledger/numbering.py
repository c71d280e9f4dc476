"""Numbers on labels: digits with a check digit (ISO/IEC 7064 MOD 11,10), told apart by their length."""

from dataclasses import dataclass
from enum import Enum

from stdnum.iso7064 import mod_11_10

_BETWEEN = " -.–/\u00a0\t\r\n"
"""What may stand between the digits of a number and means nothing."""


class NumberKind(Enum):
    """What a number stands for; the value is its length with the check digit."""

    INSTRUMENT = 6
    ORDER = 7
    PIECE = 10


@dataclass(frozen=True, slots=True)
class ReadNumber:
    """A number as scanned or typed, found sound."""

    kind: NumberKind
    digits: str


def order_number(year: int, serial: int) -> str:
    """Seven digits: year (2), serial within it (4), check. Raises ValueError beyond 9999 orders a year."""
    if not 1 <= serial <= 9999:
        raise ValueError(f"order serial {serial} is outside 1 to 9999")
    return _checked(f"{year % 100:02d}{serial:04d}")


def piece_number(order: str, serial: int) -> str:
    """Ten digits: the order's six, serial within the order (3), check. Items and specimens share the serials."""
    if not 1 <= serial <= 999:
        raise ValueError(f"piece serial {serial} is outside 1 to 999")
    return _checked(f"{order[:6]}{serial:03d}")


def instrument_number(serial: int) -> str:
    """Six digits: serial (5), check."""
    if not 1 <= serial <= 99999:
        raise ValueError(f"instrument serial {serial} is outside 1 to 99999")
    return _checked(f"{serial:05d}")


def grouped(digits: str) -> tuple[str, str]:
    """The number as people read it and, apart, its check digit: ("26-0414-003", "7")."""
    body, check = digits[:-1], digits[-1]
    match len(digits):
        case NumberKind.ORDER.value:
            return f"{body[:2]}-{body[2:]}", check
        case NumberKind.PIECE.value:
            return f"{body[:2]}-{body[2:6]}-{body[6:]}", check
        case _:
            return body, check


def read_number(text: str) -> ReadNumber:
    """Read a typed or scanned number; hyphens, spaces and dots do not matter.

    Raises ValueError with a sentence when it has a foreign character, a wrong length or a wrong check digit.
    """
    digits = "".join(character for character in text if character not in _BETWEEN)
    if not (digits.isascii() and digits.isdigit()):
        raise ValueError(
            f"“{text}” is not a number of this laboratory: only digits, hyphens and spaces can stand in one."
        )
    try:
        kind = NumberKind(len(digits))
    except ValueError:
        raise ValueError(
            f"“{text}” has {len(digits)} digits; orders have 7, items and specimens 10, instruments 6."
        ) from None
    if not mod_11_10.is_valid(digits):
        raise ValueError(f"The check digit of “{text}” does not fit: one digit is mistyped, or two changed places.")
    return ReadNumber(kind, digits)


def with_check_digit(text: str) -> ReadNumber | None:
    """What an order's or piece's number means that was typed without its check digit, which people read as apart.

    None for anything that is not 6 digits (an order) or 9 (an item or specimen), whatever stands between them.
    """
    body = "".join(character for character in text if character not in _BETWEEN)
    kinds = {NumberKind.ORDER.value - 1: NumberKind.ORDER, NumberKind.PIECE.value - 1: NumberKind.PIECE}
    if not (body.isascii() and body.isdigit()) or len(body) not in kinds:
        return None
    return ReadNumber(kinds[len(body)], _checked(body))


def _checked(body: str) -> str:
    return body + str(mod_11_10.calc_check_digit(body))

"""Criteria: one thing looked at, what was found, what is allowed, and whether it holds."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from labsite.ledger.wording import capitalised as capitalised  # noqa: PLC0414  (domain code finds it here)
from labsite.ledger.wording import mid_sentence as mid_sentence  # noqa: PLC0414

type Certainty = Literal["published", "from memory", "common practice"]
type Value = Decimal | str | bool | None

NOT_RECORDED = "not recorded"


@dataclass(frozen=True)
class Criterion:
    """One line of a verdict.

    `found` and `limit` are texts with the digits as typed and their units. `holds` is None while it is unknown.
    A criterion that is not `enforced` is shown and warned about, and never decides. `statement` and `risk` are set
    where a decision rule was applied: "conditional pass", and the specific risk in words.
    """

    key: str
    title: str
    found: str
    limit: str
    holds: bool | None
    reason: str
    source: str
    certainty: Certainty
    enforced: bool = True
    decides: bool = False
    statement: str = ""
    risk: str = ""


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
    """Return a number with its sign, for instance "+0.8"."""
    return digits(value) if value < 0 or value.is_zero() else f"+{digits(value)}"

"""Criteria: one thing looked at, what was found, what is allowed, and whether it holds."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from calibration.domain.figures import digits as digits  # noqa: PLC0414  (domain code finds it here)
from calibration.domain.figures import with_unit as with_unit  # noqa: PLC0414
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

"""What the counter must know of a test method edition to take an order for it."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal


@dataclass(frozen=True, slots=True)
class SeverityOffer:
    """One severity; `standard` is False where only a product standard asks for it, `label` names a class."""

    value: Decimal
    standard: bool
    label: str = ""


@dataclass(frozen=True, slots=True)
class OwnLimit:
    """The limit that a client may set in place of the method's, by the decision rule "client's own".

    `key` and `side` name the figure of the edition that it replaces; `standing` is the method's limit in words.
    """

    key: str
    title: str
    unit: str
    side: Literal["low", "high"]
    standing: str


@dataclass(frozen=True, slots=True)
class PlanOffer:
    """One way in which a method edition has its specimens conditioned; `key` is empty where it knows only one.

    `hours` are hours in band under `atmosphere_key`; `use_within_hours` is the longest time from leaving the
    atmosphere to the test, None where the edition gives none. An earlier stage, for instance an oven, comes before,
    of `earlier_hours` at least and, where that is stated, `earlier_most_hours` at most.
    """

    key: str
    title: str
    atmosphere_key: str | None
    hours: Decimal
    use_within_hours: Decimal | None = None
    use_within_enforced: bool = False
    earlier_atmosphere_key: str | None = None
    earlier_hours: Decimal = Decimal(0)
    earlier_most_hours: Decimal | None = None


@dataclass(frozen=True, slots=True)
class MethodOffer:
    """A method edition as offered at the counter.

    `plans` are its ways of conditioning, one at least. `open_severity` names what an order without a severity asks
    for ("Index search"), empty where one must be chosen; `open_start` says that it may name a start.
    `most_specimens` is the most a search can take, None where there is none or nobody can tell. `own_limit` is there
    where the decision rule "client's own" is offered.
    """

    key: str
    title: str
    short_title: str
    standard: str
    short_standard: str
    severity_title: str
    severity_unit: str
    severities: tuple[SeverityOffer, ...]
    specimens_needed: int
    decision_rules: tuple[str, ...]
    plans: tuple[PlanOffer, ...]
    rig_kind: str
    open_severity: str = ""
    open_start: bool = False
    own_limit: OwnLimit | None = None
    most_specimens: int | None = None


@dataclass(frozen=True, slots=True)
class GuideOffer:
    """What one row of the product-standard guide fills into an order line; nothing is taken over by itself.

    `agreed` are figures in place of the edition's, as a line keeps them: {"flame_line": {"value": "fails"}}.
    """

    method_key: str
    severity: Decimal | None
    product_standard: str
    agreed: Mapping[str, Mapping[str, Any]]

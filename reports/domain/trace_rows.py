"""One line of a reverse trace as it is shown, kept with a case and exported: texts, frozen when they were found."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import Any, Literal

type RowKind = Literal["trial", "stay", "instrument"]
type Finding = Literal["unchanged", "changed", "undecidable"]

FINDINGS: tuple[Finding, ...] = ("changed", "undecidable", "unchanged")
"""In the order in which a person works them off."""


@dataclass(frozen=True, slots=True)
class RowFigure:
    """One figure the error moves: as judged, put right as a step and as a drift, and what is permitted."""

    title: str
    read: str
    step: str
    drift: str
    permitted: str


@dataclass(frozen=True, slots=True)
class RowFacts:
    """What a line says beside its finding and its sentence.

    `number` is the specimen's, `what` names a stay or an instrument. `roles` say what the instrument measured there.
    `line_before` and `line_after` are the order line's answers; empty where no verdict of it moves. `certificate` is
    the newest one that carries the line.
    """

    number: str = ""
    what: str = ""
    client: str = ""
    order: str = ""
    method: str = ""
    level: str = ""
    roles: str = ""
    figures: tuple[RowFigure, ...] = ()
    before: str = ""
    step: str = ""
    drift: str = ""
    remark: str = ""
    line_before: str = ""
    line_after: str = ""
    certificate: str = ""
    issued_on: str = ""


@dataclass(frozen=True, slots=True)
class Tally:
    """How many lines came to what."""

    total: int
    changed: int
    undecidable: int
    unchanged: int
    certificates: int
    clients: int


def facts_to_json(facts: RowFacts) -> dict[str, Any]:
    """Return the facts as plain JSON values."""
    return asdict(facts) | {"figures": [asdict(one) for one in facts.figures]}


def facts_from_json(plain: Mapping[str, Any]) -> RowFacts:
    """Return the facts that `facts_to_json` wrote; TypeError for a member nobody knows."""
    return RowFacts(**(dict(plain) | {"figures": tuple(RowFigure(**one) for one in plain.get("figures", ()))}))


def tally(rows: Iterable[tuple[Finding, RowFacts]]) -> Tally:
    """Return how many lines came to what, and how many certificates and clients they touch."""
    rows = list(rows)
    counts = {finding: sum(one == finding for one, _ in rows) for finding in FINDINGS}
    return Tally(
        total=len(rows),
        changed=counts["changed"],
        undecidable=counts["undecidable"],
        unchanged=counts["unchanged"],
        certificates=len({facts.certificate for _, facts in rows if facts.certificate}),
        clients=len({facts.client for _, facts in rows if facts.client}),
    )


def tally_sentence(found: Tally) -> str:
    """Return the tally in one sentence: how many change, cannot be decided, stay."""
    if not found.total:
        return "Nothing was measured with it in that time."
    if found.changed == found.undecidable == 0:
        return "None of them changes." if found.total > 1 else "It does not change."
    parts = []
    if found.changed:
        parts.append(f"{found.changed} change{'s' if found.changed == 1 else ''}")
    if found.undecidable:
        parts.append(f"{found.undecidable} cannot be decided")
    if found.unchanged:
        parts.append(f"{found.unchanged} {'does' if found.unchanged == 1 else 'do'} not change")
    return f"{'; '.join(parts)}."

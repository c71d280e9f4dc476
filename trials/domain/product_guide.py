"""The product-standard guide: which product standard asks which test of which part, and what may replace it."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from trials.domain.criteria import Certainty
from trials.domain.material_evidence import EvidenceAsked

type StatedChanges = Mapping[str, Mapping[str, Any]]
"""Figures in place of an edition's, as they are stored: {"flame_line": {"value": "fails"}}; numbers are texts."""


@dataclass(frozen=True)
class GuideRow:
    """One line of the guide.

    `severity` is a figure or the name of a class, "" where the product standard does not fix one. `changes` are the
    figures of the method that the product standard changes; `small_part_rule` and `small_part_instead` say which parts
    are too small and what they must do, "" = as the method states. `instead` is the evidence on the material, at a
    thickness not above the part's, any one of which replaces the test; `note` is what else must be known.
    """

    key: str
    standard: str
    clause: str
    part: str
    method: str
    severity: str
    source: str
    certainty: Certainty
    condition: str = ""
    small_part_rule: str = ""
    small_part_instead: str = ""
    changes: StatedChanges = field(default_factory=dict)
    instead: tuple[EvidenceAsked, ...] = ()
    note: str = ""

    @property
    def agreed(self) -> StatedChanges:
        """All figures an order line under this row agrees in place of the edition's."""
        small = {"small_part_rule": self.small_part_rule, "small_part_instead": self.small_part_instead}
        return {**self.changes, **{key: {"value": text} for key, text in small.items() if text}}

    @property
    def words(self) -> str:
        """Everything that is searched, in small letters."""
        evidence = " ".join(one.text for one in self.instead)
        parts = (self.standard, self.clause, self.part, self.condition, self.method, self.method.replace("-", " "),
                 self.severity, self.note, evidence)  # fmt: skip
        return " ".join(parts).casefold()


_STANDARD = re.compile(r"\b(\d{5})((?:-\d+)*)")
_CLAUSE = re.compile(r"(?<![\d.-])\d{1,2}(?:\.\d+)+(?![\d-])")


def found_rows(rows: Iterable[GuideRow], typed: str) -> list[GuideRow]:
    """Return the rows in which every typed word occurs, in the order of the guide; all rows for no words."""
    words = typed.casefold().replace(",", " ").split()
    return [row for row in rows if all(word in row.words for word in words)]


def rows_for_standard(rows: Iterable[GuideRow], typed: str) -> list[GuideRow]:
    """Return the rows of the product standards that `typed` names ("EN 60335-2-9:2003, 30.2.2"), else none.

    A part 2 is read with the part 1 of its series. Where clauses are named that the guide knows, only their rows come.
    """
    named = [(found[1], found[2]) for found in _STANDARD.finditer(typed)]
    own = [row for row in rows if any(_is_of(row, series, part) for series, part in named)]
    clauses = _CLAUSE.findall(_STANDARD.sub(" ", typed))
    narrowed = [row for row in own if any(_in_clause(row.clause, clause) for clause in clauses)]
    return narrowed or own


def _is_of(row: GuideRow, series: str, part: str) -> bool:
    standards = [(found[1], found[2]) for found in _STANDARD.finditer(row.standard)]
    read_as = (part, "-1") if part.startswith("-2") else (part,)
    return any(own_series == series and (not part or own_part in read_as) for own_series, own_part in standards)


def _in_clause(clause: str, asked: str) -> bool:
    return f"{clause}.".startswith(f"{asked}.") or f"{asked}.".startswith(f"{clause}.")

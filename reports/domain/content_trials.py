"""Trials in a certificate’s content: figures, criteria, events, instruments, conditioning."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from reports.domain.content_items import PhotoContent, SpecimenContent

type Share = Literal["counts", "further", "beyond", "does not count"]


@dataclass(frozen=True)
class CriterionContent:
    """One thing looked at: found, limit, whether it holds (None where unknown) and why.

    `statement` and `risk` are there where a decision rule was applied.
    """

    key: str
    title: str
    found: str
    limit: str
    holds: bool | None
    reason: str
    decides: bool
    enforced: bool
    statement: str = ""
    risk: str = ""

    @property
    def word(self) -> str:
        """Whether it holds, in words, with the statement of a decision rule where that says more."""
        word = {True: "met", False: "not met", None: "not known"}[self.holds]
        return f"{word}, {self.more}" if self.more and self.holds is not None else word

    @property
    def more(self) -> str:
        """The statement of a decision rule; empty where it only repeats that the limit is met or not."""
        return "" if self.statement == {True: "pass", False: "fail", None: ""}[self.holds] else self.statement

    @property
    def why(self) -> str:
        """The reason and the risk, each where there is one."""
        return "; ".join(text for text in (self.reason, self.risk) if text)


@dataclass(frozen=True)
class QuantityContent:
    """One figure with its unit; `text` is what is printed, digits as typed, or a word where there is no figure.

    `table` makes it a column of the table of results. `uncertain` is the value rounded to match its expanded
    uncertainty, with that and the unit ("(1.400 ± 0.039) mm"), `coverage` the coverage factor and its level; both empty
    where the laboratory states no uncertainty.
    """

    key: str
    title: str
    symbol: str
    unit: str
    text: str
    table: bool = False
    uncertain: str = ""
    coverage: str = ""

    @property
    def shown(self) -> str:
        """Figure and unit, or the word that stands in place of a figure."""
        return f"{self.text} {self.unit}".strip() if self.text[:1].isdigit() else self.text

    @property
    def whole(self) -> str:
        """What is shown, and after it the value with its uncertainty where that is stated."""
        return ", ".join(part for part in (self.shown, self.uncertain) if part)


@dataclass(frozen=True)
class EventContent:
    """One observation row that stands, in seconds from contact."""

    row: str
    kind: str
    title: str
    t_s: str
    value: str


@dataclass(frozen=True)
class CorrectionContent:
    """An observation that was corrected or taken back; both are kept, and the reason."""

    title: str
    was: str
    now: str
    reason: str
    by: str
    at: datetime


@dataclass(frozen=True)
class InstrumentContent:
    """An instrument of the trial with the calibration that held at that moment."""

    role: str
    code: str
    number: str
    description: str
    calibrated_on: date
    due_on: date
    calibrated_by: str
    accreditation: str
    certificate: str


@dataclass(frozen=True)
class StretchContent:
    """A stretch of a stay that did not count, and why."""

    from_at: datetime
    until_at: datetime
    reason: str


@dataclass(frozen=True)
class ConditioningContent:
    """How a specimen was conditioned: where, in which atmosphere, and how many seconds of it count.

    `corrected_by` names the calibrations whose corrections the readings carry; empty where none was stated.
    `way` names which of the method's ways it is, `earlier` is the stage that came before, where there is one.
    """

    atmosphere: str
    chamber: str
    recorder: str
    in_at: datetime
    out_at: datetime | None
    counted_s: int
    not_counted_s: int
    stretches: tuple[StretchContent, ...]
    way: str = ""
    earlier: "ConditioningContent | None" = None
    corrected_by: tuple[str, ...] = ()

    @property
    def stages(self) -> "tuple[ConditioningContent, ...]":
        """The stages in the order of time."""
        return (self,) if self.earlier is None else (*self.earlier.stages, self)


@dataclass(frozen=True)
class TrialContent:
    """One test on one specimen.

    `severity` is the level it was run at; `departure` says why it is not the one the rule called for. `again` says
    why another place of a specimen already tested could be used, and `point` which. `parameter_revision` is that of
    the laboratory's own figures, 0 for the edition as delivered.
    """

    specimen: SpecimenContent
    share: Share
    tested_at: datetime
    signed_at: datetime
    performed_by: str
    rig: str
    place: str
    outcome: str
    sentence: str
    reasons: tuple[str, ...]
    rule_version: str
    quantities: tuple[QuantityContent, ...]
    criteria: tuple[CriterionContent, ...]
    setup: tuple[CriterionContent, ...]
    warnings: tuple[str, ...]
    doubt: str
    conditioning: ConditioningContent | None
    instruments: tuple[InstrumentContent, ...]
    events: tuple[EventContent, ...]
    corrections: tuple[CorrectionContent, ...]
    photos: tuple[PhotoContent, ...]
    severity: str = ""
    departure: str = ""
    again: str = ""
    point: str = ""
    parameter_revision: int = 0

    @property
    def conditional(self) -> bool:
        """Whether a guard band makes the pass, or all there is of the fail, conditional."""
        if self.outcome == "pass":
            return any(one.statement == "conditional pass" and one.enforced for one in self.criteria)
        return self.outcome == "fail" and {c.statement for c in self.criteria if c.decides} == {"conditional fail"}

    def quantity(self, key: str) -> QuantityContent | None:
        """The figure called `key`, or None."""
        return next((quantity for quantity in self.quantities if quantity.key == key), None)

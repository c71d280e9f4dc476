"""What a certificate says, as data: everything that is printed, frozen at issue, in the order of reading."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from labsite.ledger.wording import capitalised
from reports.domain.content_items import ItemContent
from reports.domain.content_trials import TrialContent

SCHEMA = 3
"""Raised whenever a member is added, dropped or changes its meaning."""

READABLE = (1, 2, SCHEMA)
"""Schemas this program still reads; what a member added since says is nothing."""

TITLE = "Certificate of test"
RELATES = "The results relate only to the items tested."
NO_MEASURE = "They are not by themselves a measure of fire hazard in use."
WHOLE_ONLY = "This certificate may be reproduced only in full; parts of it only with the laboratory’s written approval."
NO_SAMPLING = "The laboratory took no samples: the results apply to the items as received."
OWN_WORK = "All results were obtained by this laboratory; none comes from an external provider."


@dataclass(frozen=True)
class LaboratoryContent:
    """The laboratory as it was named at issue; `zone` is where the days of this certificate begin and end."""

    name: str
    address: str
    zone: str


@dataclass(frozen=True)
class ClientContent:
    """The client as named at issue."""

    name: str
    address: str
    contact: str


@dataclass(frozen=True)
class AgreementContent:
    """What was agreed about the line: the rule by which figures are set against limits, with whom and when."""

    rule: str
    note: str
    agreed_with: str
    agreed_on: date | None
    reviewed_by: str


@dataclass(frozen=True)
class PersonActContent:
    """A person who checked or signs, when, and by which authorisation."""

    name: str
    at: datetime
    authorised_from: date | None


@dataclass(frozen=True)
class LevelContent:
    """How one level of a search, or one set of specimens, stands; `value` is the level's figure where it has one."""

    title: str
    value: str
    state: Literal["passed", "failed", "open"]
    specimens: tuple[str, ...]
    note: str


@dataclass(frozen=True)
class LineContent:
    """One order line: one method edition and severity on a set of specimens, with its result.

    `result` is the result as the trade writes it, `levels` what was found level by level or set by set, and `search`
    says that the levels were searched through. `agreed` are figures agreed in place of the edition's, `figures` which
    revision of the laboratory's own holds, both in words.
    """

    position: int
    subject: str
    method_key: str
    method: str
    standard: str
    apparatus: str
    severity: str
    product_standard: str
    ordered: int
    state: str
    sentence: str
    reasons: tuple[str, ...]
    flags: tuple[str, ...]
    conditioning_asked: bool
    agreement: AgreementContent
    confirmation: str
    confirmed: bool
    trials: tuple[TrialContent, ...]
    checked: PersonActContent | None
    signed: PersonActContent | None
    result: str = ""
    levels: tuple[LevelContent, ...] = ()
    search: bool = False
    severity_title: str = "Severity"
    agreed: tuple[str, ...] = ()
    figures: str = ""

    @property
    def head(self) -> str:
        """The first words of the result, for instance “Passed at 850 °C” or “GWFI: 850/3.0”."""
        return result_head(self.sentence, self.result)

    @property
    def rest(self) -> str:
        """The rest of the result's sentence, as a sentence of its own."""
        rest = self.sentence.removeprefix(self.head).removeprefix(": ").removeprefix(". ")
        return capitalised(rest)

    @property
    def more_reasons(self) -> tuple[str, ...]:
        """Several reasons, without those that the result's sentence says already; it tells a single one."""
        said = self.sentence.casefold()
        if len(self.reasons) == 1:
            return ()
        return tuple(reason for reason in self.reasons if reason.casefold().rstrip(".") not in said)


def result_head(sentence: str, result: str) -> str:
    """The first words of a result's sentence: the result as the trade writes it, else what stands before the colon."""
    if result and sentence.startswith(f"{result}: "):
        return result
    return sentence.partition(": ")[0]


@dataclass(frozen=True)
class AmendmentContent:
    """Which certificate this one replaces, why, and every difference in words."""

    replaces: str
    replaced_issued_on: date
    reason: str
    changes: tuple[str, ...]
    results_changed: bool


@dataclass(frozen=True)
class CertificateContent:
    """The whole certificate."""

    schema: int
    title: str
    number: str
    language: str
    laboratory: LaboratoryContent
    client: ClientContent
    order: str
    purchase_order: str
    items: tuple[ItemContent, ...]
    lines: tuple[LineContent, ...]
    issued_at: datetime
    sampling: str
    external: str
    statements: tuple[str, ...]
    amendment: AmendmentContent | None

    @property
    def issued_on(self) -> date:
        """The day of issue at the laboratory; moments carry the laboratory's offset."""
        return self.issued_at.date()

    @property
    def trials(self) -> tuple[TrialContent, ...]:
        """All trials, line by line."""
        return tuple(trial for line in self.lines for trial in line.trials)

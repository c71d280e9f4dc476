"""Everything the page of one method edition shows, read from the edition's own statement."""

from dataclasses import dataclass
from datetime import datetime

from labsite.ledger.models import Role, User
from specimens.domain.atmospheres import ATMOSPHERES, Atmosphere
from trials.domain.criteria import capitalised
from trials.domain.methods.base import MethodEdition
from trials.domain.statements import ConditioningNeed, Parameter
from trials.queries.authorisations import GRANTERS, PERFORM, authorised_people
from trials.queries.budgets import QuantityRow, quantity_rows
from trials.queries.methods import EditionConfirmed, edition_by_key
from trials.queries.sheets import Revision, newest_edition, revision_history

RULING = "default, to be confirmed by the laboratory"


@dataclass(frozen=True, slots=True)
class ParameterRow:
    """One figure of an edition in words; `ruling` says that it is a default for the laboratory to confirm.

    `delivered` is the figure of the edition as delivered where the laboratory has its own, else empty.
    """

    parameter: Parameter
    limit: str
    note: str
    ruling: bool
    delivered: str


@dataclass(frozen=True, slots=True)
class StageRow:
    """One stage of conditioning: which of the edition's ways, under which atmosphere, for how long."""

    title: str
    atmosphere: Atmosphere | None
    hours: str
    enforced: bool


@dataclass(frozen=True, slots=True)
class MethodPage:
    """The page of one edition with the newest figures; `history` are their revisions, newest first."""

    edition: MethodEdition
    revision: int
    history: tuple[Revision, ...]
    rows: tuple[ParameterRow, ...]
    confirmed: EditionConfirmed | None
    stages: tuple[StageRow, ...]
    technicians: tuple[User, ...]
    standard_levels: str
    other_levels: str
    quantities: tuple[QuantityRow, ...]

    @property
    def rulings(self) -> int:
        """How many figures are defaults for the laboratory to confirm."""
        return sum(row.ruling for row in self.rows)

    @property
    def own_figures(self) -> int:
        """How many figures are the laboratory's own."""
        return sum(row.delivered != "" for row in self.rows)

    @property
    def of_revision(self) -> str:
        """Which figures are shown, where the laboratory has made a revision."""
        return f"revision {self.revision}" if self.revision else ""


def method_page(key: str, at: datetime) -> MethodPage:
    """One edition with all that its page shows."""
    revision, edition = newest_edition(key)
    delivered, history = edition_by_key(key), revision_history(key)
    return MethodPage(
        edition=edition,
        revision=revision,
        history=tuple(history),
        rows=tuple(_row(delivered.parameter(parameter.key), parameter) for parameter in edition.parameters),
        confirmed=history[0].confirmed,
        stages=tuple(row for need in edition.conditionings for row in _stages(edition, need)),
        technicians=tuple(authorised_people([edition.key], PERFORM, at)[edition.key]),
        standard_levels=_levels(edition, "standard"),
        other_levels=_levels(edition, "by product standard"),
        quantities=quantity_rows(edition, at),
    )


def may_confirm(person: object) -> bool:
    """Whether the person's roles include confirming an edition."""
    return isinstance(person, User) and person.may(Role.LEAD)


def may_revise(person: object) -> bool:
    """Whether the person's roles include changing an edition's figures."""
    return isinstance(person, User) and person.may(*GRANTERS)


def _stages(edition: MethodEdition, need: ConditioningNeed) -> list[StageRow]:
    stages = [(need.earlier_atmosphere, need.earlier_hours)] if need.earlier_hours else []
    return [
        StageRow(need.title, ATMOSPHERES.get(key), edition.parameter(hours).limit_text, need.enforced)
        for key, hours in (*stages, (need.atmosphere, need.hours))
    ]


def _row(delivered: Parameter, parameter: Parameter) -> ParameterRow:
    own = "" if delivered == parameter else delivered.limit_text
    ruling = RULING in parameter.note and not own
    note = parameter.note.replace(f"; {RULING}", "").replace(RULING, "").strip()
    return ParameterRow(parameter, parameter.limit_text, capitalised(note), ruling, own)


def _levels(edition: MethodEdition, offered_as: str) -> str:
    return ", ".join(level.text for level in edition.severities if level.offered_as == offered_as)

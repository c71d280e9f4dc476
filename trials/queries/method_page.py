"""Everything the page of one method edition shows, read from the edition's own statement."""

from dataclasses import dataclass
from datetime import datetime

from labsite.ledger.models import Role, User
from specimens.domain.atmospheres import ATMOSPHERES, Atmosphere
from trials.domain.criteria import capitalised
from trials.domain.methods.base import MethodEdition
from trials.domain.statements import Parameter
from trials.queries.authorisations import PERFORM, authorised_people
from trials.queries.methods import EditionConfirmed, atmosphere_key, edition_confirmation

RULING = "default, to be confirmed by the laboratory"


@dataclass(frozen=True, slots=True)
class ParameterRow:
    """One figure of an edition in words; `ruling` says that it is a default for the laboratory to confirm."""

    parameter: Parameter
    limit: str
    note: str
    ruling: bool


@dataclass(frozen=True, slots=True)
class MethodPage:
    """The page of one edition."""

    edition: MethodEdition
    rows: tuple[ParameterRow, ...]
    confirmed: EditionConfirmed | None
    atmosphere: Atmosphere | None
    technicians: tuple[User, ...]
    standard_levels: str
    other_levels: str

    @property
    def rulings(self) -> int:
        """How many figures are defaults for the laboratory to confirm."""
        return sum(row.ruling for row in self.rows)


def method_page(edition: MethodEdition, at: datetime) -> MethodPage:
    """One edition with all that its page shows."""
    key = atmosphere_key(edition)
    return MethodPage(
        edition=edition,
        rows=tuple(_row(parameter) for parameter in edition.parameters),
        confirmed=edition_confirmation(edition.key),
        atmosphere=None if key is None else ATMOSPHERES[key],
        technicians=tuple(authorised_people([edition.key], PERFORM, at)[edition.key]),
        standard_levels=_levels(edition, "standard"),
        other_levels=_levels(edition, "by product standard"),
    )


def may_confirm(person: object) -> bool:
    """Whether the person's roles include confirming an edition."""
    return isinstance(person, User) and person.may(Role.LEAD)


def _row(parameter: Parameter) -> ParameterRow:
    ruling = RULING in parameter.note
    note = parameter.note.replace(f"; {RULING}", "").replace(RULING, "").strip()
    return ParameterRow(parameter, parameter.limit_text, capitalised(note), ruling)


def _levels(edition: MethodEdition, offered_as: str) -> str:
    return ", ".join(level.text for level in edition.severities if level.offered_as == offered_as)

"""What the method editions ask of a rig of one kind before it goes into service; the rigs live in a lower app."""

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal

from calibration.domain.commissioning import Requirement, merged_requirements
from trials.domain.criteria import digits
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import EDITIONS
from trials.domain.statements import Parameter
from trials.queries.methods import edition_of
from trials.queries.sheets import newest_sheets


def apparatus_requirements(rig_kind: str, at: datetime) -> tuple[Requirement, ...]:
    """The requirements of all editions run on a kind of rig, with the laboratory's own figures at `at`; one query.

    Equal requirements of several editions are one that names all of them.
    """
    keys = [key for key, edition in EDITIONS.items() if edition.rig_kind == rig_kind]
    sheets = newest_sheets(keys, at)
    editions = [edition_of(key, sheets[key].changes if key in sheets else {}) for key in keys]
    return merged_requirements(one for edition in editions for one in _requirements(edition))


def _requirements(edition: MethodEdition) -> Iterator[Requirement]:
    for field in edition.setup_fields:
        if not field.parameter or not field.verified_with_rig:
            continue
        parameter = edition.parameter(field.parameter)
        if parameter.bounds != (None, None) or parameter.value is True:
            yield _requirement(edition, parameter, field.title)
    if edition.steady is not None:
        window = digits(edition.number("steady_window_s"))
        title = f"{edition.steady.title}: spread over {window} s at a steady setting"
        yield _requirement(edition, edition.parameter("steady_spread_k"), title)


def _requirement(edition: MethodEdition, parameter: Parameter, title: str) -> Requirement:
    low, high = parameter.bounds
    measured = isinstance(low, Decimal) or isinstance(high, Decimal)
    return Requirement(
        title=title,
        limit_text=parameter.limit_text,
        low=low,
        high=high,
        unit=parameter.unit if measured else "",
        source=edition.short_standard,
    )

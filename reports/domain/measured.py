"""What a method edition measures, each with its limit, where that stands, and what it is read on."""

from collections.abc import Iterator
from dataclasses import dataclass

from trials.domain.methods.base import MethodEdition
from trials.domain.statements import InstrumentNeed, ObservationKind, SetupField


@dataclass(frozen=True, slots=True)
class Measured:
    """One quantity: its limit in words and where that comes from; `need` is None where the edition names no instrument.

    `kind` is the kind of instrument it is read on, empty without one.
    """

    title: str
    unit: str
    limit: str
    source: str
    certainty: str
    need: InstrumentNeed | None
    kind: str


def measured_quantities(edition: MethodEdition) -> tuple[Measured, ...]:
    """Every number asked for at set-up or observed, in the edition's order, then what its other instruments read."""
    needs = {need.role: need for need in edition.instruments}
    fields = [_field(edition, field, needs) for field in edition.setup_fields if field.kind == "number"]
    kinds = [_kind(kind, needs) for kind in edition.observation_kinds if kind.value_kind == "number"]
    return (*fields, *kinds, *_others(needs, edition))


def _field(edition: MethodEdition, field: SetupField, needs: dict[str, InstrumentNeed]) -> Measured:
    need, kind = needs.get(field.instrument_role), _kind_of(field.instrument_role, needs)
    if not field.parameter:
        return Measured(field.title, field.unit, "recorded only", "", "", need, kind)
    limit = edition.parameter(field.parameter)
    return Measured(field.title, field.unit, limit.limit_text, limit.source, limit.certainty, need, kind)


def _kind(kind: ObservationKind, needs: dict[str, InstrumentNeed]) -> Measured:
    role = kind.instrument_role
    return Measured(kind.title, kind.unit, "as the verdict's rule says", "", "", needs.get(role), _kind_of(role, needs))


def _kind_of(role: str, needs: dict[str, InstrumentNeed]) -> str:
    return needs[role].kind if role in needs else role


def _others(needs: dict[str, InstrumentNeed], edition: MethodEdition) -> Iterator[Measured]:
    named = {field.instrument_role for field in edition.setup_fields}
    named |= {kind.instrument_role for kind in edition.observation_kinds}
    for role, need in needs.items():
        if role not in named:
            title = f"What the {role} reads"
            yield Measured(title, "", "no limit of its own", need.source, need.certainty, need, need.kind)

"""A laboratory's or an order's own figures in place of an edition's: read strictly, each change of the same kind."""

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from trials.domain.criteria import Value
from trials.domain.methods.base import MethodEdition
from trials.domain.statements import Parameter

type Change = Mapping[str, Value]
"""What is changed of one parameter: `value`, `low`, `high` and `tolerance`, each where it is stated."""

MEMBERS = ("value", "low", "high", "tolerance")


class ParameterChangeError(ValueError):
    """A change that the edition cannot take; the message is one sentence naming the parameter."""


def changed_edition(edition: MethodEdition, changes: Mapping[str, Change]) -> MethodEdition:
    """Return the edition with the figures of `changes`, by parameter; the edition itself when there are none.

    Raises ParameterChangeError for an unknown parameter, a value of another kind, and a limit taken away.
    """
    if not changes:
        return edition
    return edition.revised(*(_changed(edition, key, change) for key, change in sorted(changes.items())))


def _changed(edition: MethodEdition, key: str, change: Change) -> Parameter:
    if not edition.has_parameter(key):
        raise ParameterChangeError(f"{key}: {edition.key} has no parameter of that name.")
    old = edition.parameter(key)
    for name, value in change.items():
        if name not in MEMBERS:
            raise ParameterChangeError(f"{key}.{name}: only {', '.join(MEMBERS)} can be changed.")
        wanted = Decimal if name != "value" or old.value is None else type(old.value)
        if not isinstance(value, wanted) and (value is not None or name == "value"):
            raise ParameterChangeError(f"{key}.{name}: {value!r} is not of the kind this parameter holds.")
    members: dict[str, Any] = dict(change)
    try:
        new = replace(old, **members)
    except ValueError as refusal:
        raise ParameterChangeError(str(refusal)) from refusal
    had_limit = old.value is not None or old.bounds != (None, None)
    if had_limit and new.value is None and new.bounds == (None, None):
        raise ParameterChangeError(f"{key}: {edition.key} cannot do without a limit here.")
    return new

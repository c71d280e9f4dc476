"""A laboratory's or an order's own figures in place of an edition's: read strictly, each change of the same kind."""

import json
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal, InvalidOperation
from typing import Any

from trials.domain.criteria import Value, digits
from trials.domain.methods.base import MethodEdition
from trials.domain.records import RecordError, checked_number
from trials.domain.statements import Parameter

type Change = Mapping[str, Value]
"""What is changed of one parameter: `value`, `low`, `high` and `tolerance`, each where it is stated."""

MEMBERS = ("value", "low", "high", "tolerance")


class ParameterChangeError(ValueError):
    """A change that the edition cannot take; the message is one sentence naming the parameter."""


def changed_edition(edition: MethodEdition, changes: Mapping[str, Change]) -> MethodEdition:
    """Return the edition with the figures of `changes`, by parameter; the edition itself when there are none.

    A changed figure says in its source what it stands in place of, and is nobody's published figure any more.
    Raises ParameterChangeError for an unknown parameter, a value of another kind, and a limit taken away.
    """
    if not changes:
        return edition
    return edition.revised(*(_changed(edition, key, change) for key, change in sorted(changes.items())))


def changes_from_json(edition: MethodEdition, plain: Mapping[str, Mapping[str, Any]]) -> dict[str, Change]:
    """Return stored changes as values of the kinds the edition's parameters hold; numbers come as texts.

    Raises ParameterChangeError for an unknown parameter or member and for a text that is no number.
    """
    return {key: {name: _read(edition, key, name, one) for name, one in own.items()} for key, own in plain.items()}


def changes_to_json(changes: Mapping[str, Change]) -> dict[str, dict[str, Any]]:
    """Return changes as plain JSON values, by name; numbers are texts that keep their digits."""
    return {
        key: {name: digits(one) if isinstance(one, Decimal) else one for name, one in sorted(change.items())}
        for key, change in sorted(changes.items())
    }


def changes_text(plain: Mapping[str, Mapping[str, Any]]) -> str:
    """Return stored changes as one canonical text, the same for the same changes."""
    return json.dumps(plain, sort_keys=True, ensure_ascii=False, separators=(",", ":"))


def joined_changes(*layers: Mapping[str, Change]) -> dict[str, Change]:
    """Return changes laid over one another, member by member; a later layer wins, an order over the laboratory."""
    joined: dict[str, Change] = {}
    for layer in layers:
        for key, change in layer.items():
            joined[key] = {**joined.get(key, {}), **change}
    return joined


def true_changes(edition: MethodEdition, changes: Mapping[str, Change]) -> dict[str, Change]:
    """Return what `changes` alter in the edition; a member that says again what the edition says falls away.

    A number with other digits is another number: 1.0 in place of 1.00 stays a change.
    """
    found: dict[str, Change] = {}
    for key, change in changes.items():
        old = edition.parameter(key)
        own = {name: one for name, one in change.items() if not _same(one, getattr(old, name))}
        if own:
            found[key] = own
    return found


def _same(one: Value, other: Value) -> bool:
    if isinstance(one, Decimal) and isinstance(other, Decimal):
        return digits(one) == digits(other)
    return one == other


def _read(edition: MethodEdition, key: str, name: str, one: object) -> Value:
    if not edition.has_parameter(key):
        raise ParameterChangeError(f"{key}: {edition.key} has no parameter of that name.")
    if name not in MEMBERS:
        raise ParameterChangeError(f"{key}.{name}: only {', '.join(MEMBERS)} can be changed.")
    old = edition.parameter(key).value
    if isinstance(one, str) and (name != "value" or old is None or isinstance(old, Decimal)):
        try:
            return Decimal(one)
        except InvalidOperation:
            raise ParameterChangeError(f"{key}.{name}: {one!r} is not a number.") from None
    if one is None or isinstance(one, str | bool):
        return one
    raise ParameterChangeError(f"{key}.{name}: {one!r} is not a stored figure.")


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
        if isinstance(value, Decimal):
            _refuse_odd_number(old, name, value)
    members: dict[str, Any] = {**change, **_own_source(old)}
    try:
        new = replace(old, **members)
    except ValueError as refusal:
        raise ParameterChangeError(str(refusal)) from refusal
    if new.low is not None and new.high is not None and new.low > new.high:
        raise ParameterChangeError(f"{key}: the lowest value, {digits(new.low)}, is above the highest.")
    had_limit = old.value is not None or old.bounds != (None, None)
    if had_limit and new.value is None and new.bounds == (None, None):
        raise ParameterChangeError(f"{key}: {edition.key} cannot do without a limit here.")
    return new


def _own_source(old: Parameter) -> dict[str, str]:
    was = f"{old.limit_text} ({old.source})" if old.source else old.limit_text
    return {"source": f"own figure in place of {was}", "certainty": "common practice"}


def _refuse_odd_number(old: Parameter, name: str, value: Decimal) -> None:
    """A number must be finite, a tolerance not below zero, and what was delivered as a count stays one."""
    try:
        checked_number(value, f"{old.key}.{name}")
    except RecordError as refusal:
        raise ParameterChangeError(str(refusal)) from refusal
    if name == "tolerance" and value < 0:
        raise ParameterChangeError(f"{old.key}.{name}: a tolerance is not below zero.")
    counts = isinstance(old.value, Decimal) and not old.unit and old.value.as_tuple().exponent == 0
    if name == "value" and counts and (value < 0 or value != value.to_integral_value()):
        raise ParameterChangeError(f"{old.key}.{name}: a whole number is needed, not {digits(value)}.")

"""A laboratory's or an order's own figures in place of an edition's: read strictly, each change of the same kind."""

import json
import re
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from trials.domain.criteria import Value, digits, with_unit
from trials.domain.methods.base import MethodEdition
from trials.domain.record_checks import impossibility
from trials.domain.records import RecordError, checked_number
from trials.domain.statements import Parameter

type Change = Mapping[str, Value]
"""What is changed of one parameter: `value`, `low`, `high` and `tolerance`, each where it is stated."""

MEMBERS = ("value", "low", "high", "tolerance")
_STORED_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?")
"""A number as `changes_to_json` writes it; other ways of writing one come from nobody's form."""
_WORDS = {"value": "", "low": ", lowest", "high": ", highest", "tolerance": ", tolerance"}
NEVER_ZERO = frozenset(
    {"specimens_needed", "bars_per_set", "screening_specimens", "readings_needed", "proof_drops", "lower_drops",
     "lower_by_v", "height_step_mm", "erosion_step_mm"}
)  # fmt: skip
"""Counts without which nothing would be tested, and steps that figures are rounded or searched by."""


class ParameterChangeError(ValueError):
    """A change that the edition cannot take; the message names the figure by its title and says why.

    `sentence` is the reason alone, `place` the parameter's key, with the member where it is one ("force_n.tolerance").
    """

    def __init__(self, sentence: str, place: str = "", title: str = "") -> None:
        super().__init__(f"{title}: {sentence}" if title else sentence)
        self.sentence, self.place = sentence, place


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
    old = _known(edition, key, name)
    if isinstance(one, str) and (name != "value" or old.value is None or isinstance(old.value, Decimal)):
        if not _STORED_NUMBER.fullmatch(one):
            raise _refusal(old, f"{one[:60]!r} is not a number.", name)
        return Decimal(one)
    if one is None or isinstance(one, str | bool):
        return one
    raise _refusal(old, f"{one!r} is not a stored figure.", name)


def _known(edition: MethodEdition, key: str, name: str = "") -> Parameter:
    """The parameter of a change, whose member has to be one of those that can be changed."""
    if not edition.has_parameter(key):
        raise ParameterChangeError(f"{edition.short_standard} has no figure of that name.", key, key)
    old = edition.parameter(key)
    if name and name not in MEMBERS:
        raise ParameterChangeError(
            f"only {', '.join(MEMBERS)} can be changed.", f"{key}.{name}", f"{old.title}, {name}"
        )
    return old


def _refusal(old: Parameter, sentence: str, name: str = "") -> ParameterChangeError:
    place = f"{old.key}.{name}" if name else old.key
    return ParameterChangeError(sentence, place, f"{old.title}{_WORDS.get(name, '')}")


def _changed(edition: MethodEdition, key: str, change: Change) -> Parameter:
    old = _known(edition, key)
    for name, value in change.items():
        _known(edition, key, name)
        wanted = Decimal if name != "value" or old.value is None else type(old.value)
        if not isinstance(value, wanted) and (value is not None or name == "value"):
            raise _refusal(old, f"{value!r} is not of the kind this figure holds.", name)
        if isinstance(value, Decimal):
            _refuse_odd_number(old, name, value)
    members: dict[str, Any] = {**change, **_own_source(old)}
    try:
        new = replace(old, **members)
    except ValueError as refusal:
        raise _refusal(old, str(refusal).removeprefix(f"{key}: ")) from refusal
    if new.low is not None and new.high is not None and new.low > new.high:
        raise _refusal(old, f"the lowest value, {digits(new.low)}, is above the highest.")
    if old.bounds != (None, None) and new.bounds == (None, None):
        raise _refusal(old, f"{edition.short_standard} cannot do without a limit here.")
    _refuse_other_kind_of_limit(edition, old, new)
    return new


def _refuse_other_kind_of_limit(edition: MethodEdition, old: Parameter, new: Parameter) -> None:
    """A limit stays what it was delivered as, so that the rule that goes by it finds its figure where it looks.

    One that is not set as delivered becomes a limit, or a value where it is an uncertainty. Only a limit that a
    decision rule judges may get its other side: the client's own.
    """
    if new.bounds != (None, None) and old.value is not None and old.bounds == (None, None):
        raise _refusal(old, "this is a value, not a limit.")
    uncertain = old.key in {limit.uncertainty for limit in edition.decided_limits}
    if uncertain and new.bounds != (None, None):
        raise _refusal(old, "this is a value, not a limit.")
    if old.value is None and new.value is not None and not uncertain:
        raise _refusal(old, "this is a limit; it has a lowest or a highest value.")
    one_sided = old.value is None and (old.low is None) != (old.high is None)
    if one_sided and old.key not in {limit.parameter for limit in edition.decided_limits}:
        side, sides = ("highest", (None, new.high)) if old.low is None else ("lowest", (new.low, None))
        if new.bounds != sides or sides == (None, None):
            raise _refusal(old, f"this limit has a {side} value only.")


def _own_source(old: Parameter) -> dict[str, str]:
    was = f"{old.limit_text} ({old.source})" if old.source else old.limit_text
    return {"source": f"own figure in place of {was}", "certainty": "common practice"}


def _refuse_odd_number(old: Parameter, name: str, value: Decimal) -> None:
    """A number must be one that can be: finite, a share within 100 %, a tolerance not below zero, a count whole.

    Below zero are temperatures only, and deviations that are stated so.
    """
    try:
        checked_number(value, old.title)
    except RecordError as refusal:
        raise _refusal(old, str(refusal).removeprefix(f"{old.title}: "), name) from refusal
    if name == "tolerance" and value < 0:
        raise _refusal(old, "a tolerance is not below zero.", name)
    deviation = any(isinstance(one, Decimal) and one < 0 for one in (old.value, old.low, old.high))
    impossible = "below zero" if value < 0 and old.unit != "°C" else impossibility(value, old.unit)
    if impossible and not (deviation and value < 0):
        raise _refusal(old, f"{with_unit(value, old.unit)} is {impossible}.", name)
    figure = old.value if old.value is not None else old.low
    counts = isinstance(figure, Decimal) and not old.unit and figure.as_tuple().exponent == 0
    if counts and (value < 0 or value != value.to_integral_value()):
        raise _refusal(old, f"a whole number is needed, not {digits(value)}.", name)
    if old.key in NEVER_ZERO and name != "tolerance" and value <= 0:
        raise _refusal(old, f"it is above zero, not {digits(value)}.", name)

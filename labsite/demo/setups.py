"""What the demo's technicians enter before a trial: what an edition asks for, well inside its limits."""

from collections.abc import Mapping
from decimal import ROUND_HALF_EVEN, Decimal

from trials.domain.methods.base import MethodEdition
from trials.domain.record_checks import SHARES
from trials.domain.statements import Parameter, SetupField

ROOM = {"room_temperature_c": "22.6", "room_humidity_percent": "51"}
_ABOVE, _BELOW = Decimal("1.2"), Decimal("0.6")
_PUREST_PERCENT = Decimal("99.5")


def plausible_setup(edition: MethodEdition, own: Mapping[str, str]) -> dict[str, str]:
    """Every field the edition requires, its middle or a little inside its only limit; `own` figures come first.

    Raises ValueError for a required field whose value cannot be made up from the edition: it belongs into `own`.
    """
    made = {}
    for field in edition.setup_fields:
        text = own.get(field.key, ROOM.get(field.key, ""))
        if not text and field.required:
            text = _plausible(edition, field)
        if text:
            made[field.key] = text
    return made


def _plausible(edition: MethodEdition, field: SetupField) -> str:
    if field.kind == "choice" and not field.parameter:
        return field.choices[0]
    if not field.parameter:
        raise ValueError(f"the demo must say what it enters for {field.key} of {edition.key}")
    parameter = edition.parameter(field.parameter)
    if field.kind == "yes-no":
        return "yes" if parameter.value is True else "no"
    if field.kind == "number":
        return format(_inside(parameter).quantize(field.resolution or Decimal("0.1"), ROUND_HALF_EVEN), "f")
    return str(parameter.value)


def _inside(parameter: Parameter) -> Decimal:
    low, high = parameter.bounds
    if low is not None and high is not None:
        return (low + high) / 2
    if low is not None and parameter.unit in SHARES:
        return max(low, min(low * _ABOVE, _PUREST_PERCENT))
    if low is not None:
        return low * _ABOVE
    if high is not None:
        return high * _BELOW
    raise ValueError(f"{parameter.key} has no limit to stay inside")

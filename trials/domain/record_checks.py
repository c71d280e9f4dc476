"""Whether a record fits its method edition: names, types and choices, before anything is judged."""

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal

from trials.domain.criteria import Value, digits, with_unit
from trials.domain.methods.base import MethodEdition
from trials.domain.records import Observation, RecordError, TrialRecord, checked_number, plain_number
from trials.domain.statements import ObservationKind

TEMPERATURES = ("°C", "K")
SHARES = ("%", "% RH")


def check_record(edition: MethodEdition, record: TrialRecord) -> None:
    """Raise RecordError, naming the place and the reason, when the record does not fit the edition."""
    if record.method_key != edition.key:
        raise RecordError(f"The record is of {record.method_key}, not of {edition.key}.")
    check_severity(edition, record.severity)
    _check_setup(edition, record)
    for number, reading in enumerate(record.temperature_readings, start=1):
        known = (reading.t_s, reading.read_c) if reading.correction_k is None else vars(reading).values()
        if not all(map(plain_number, known)):
            for name, value in zip(("t_s", "read_c", "correction_k"), known, strict=False):
                checked_number(value, f"temperature reading {number}, {name}")
    for row in record.observations:
        check_observation(edition, row)
    _check_conditioning_and_instruments(edition, record)


def check_severity(edition: MethodEdition, severity: Decimal | None) -> None:
    """Raise RecordError when a level is not one of the edition's, or is missing where the edition needs one."""
    if severity is None:
        if not edition.open_severity:
            raise RecordError(f"severity: {edition.key} needs a level.")
        return
    checked_number(severity, "severity")
    if edition.severity(severity) is None:
        offered = ", ".join(digits(one.value) for one in edition.severities)
        level = f"{digits(severity)} {edition.severity_unit}".rstrip()
        raise RecordError(f"severity: {level} is not a level of {edition.key} ({offered}).")


def check_observation(edition: MethodEdition, row: Observation) -> None:
    """Raise RecordError when one observation row is not of a kind, with the time and value, the edition knows."""
    kind = edition.kinds_by_key.get(row.kind)
    if kind is None:
        raise RecordError(f"observation {row.row}: {row.kind!r} is not a kind of observation of {edition.key}.")
    if row.takes_back is not None:
        return
    place = f"observation {row.row} ({kind.title})"
    if row.t_s is not None:
        if not plain_number(row.t_s):
            checked_number(row.t_s, f"{place}, t_s")
    elif kind.timed:
        raise RecordError(f"{place}: the time is missing.")
    if row.value is None and kind.value_kind != "none" and not kind.value_optional:
        raise RecordError(f"{place}: the value is missing.")
    if row.value is not None:
        if kind.value_kind == "none":
            raise RecordError(f"{place}: takes no value, not {row.value!r}.")
        _check_value(row.value, kind.value_kind, kind.choices, place)
        _refuse_impossible(row.value, kind.unit, place)
        if kind.decimals and isinstance(row.value, Decimal):
            _check_decimals(row.value, int(edition.number(kind.decimals)), place)


def repeated_kinds(kinds: Sequence[ObservationKind], rows: Sequence[Observation]) -> tuple[ObservationKind, ...]:
    """Return the kinds of which only one row may stand although several do, in the edition's order."""
    counts = Counter(row.kind for row in rows)
    return tuple(kind for kind in kinds if not kind.repeats and counts[kind.key] > 1)


def _check_setup(edition: MethodEdition, record: TrialRecord) -> None:
    fields = edition.fields_by_key
    unknown = record.setup.keys() - fields.keys()
    if unknown:
        raise RecordError(f"setup: {min(unknown)!r} is not a set-up value of {edition.key}.")
    for key, value in record.setup.items():
        if value is None or _plainly_fits(value, fields[key].kind, fields[key].unit):
            continue
        _check_value(value, fields[key].kind, fields[key].choices, f"setup, {key}")
        _refuse_impossible(value, fields[key].unit, f"setup, {key}")


def _plainly_fits(value: Value, kind: str, unit: str) -> bool:
    """Whether a value is surely one that the checks let through, without a word being made; most are."""
    if kind == "number":
        return plain_number(value) and isinstance(value, Decimal) and value >= 0 and unit not in SHARES
    return kind == "yes-no" and isinstance(value, bool)


def _check_value(value: Value, kind: str, choices: Sequence[str], place: str) -> None:
    if kind == "number":
        if not plain_number(value):
            checked_number(value, place)
    elif kind == "yes-no" and not isinstance(value, bool):
        raise RecordError(f"{place}: yes or no is needed, not {value!r}.")
    elif kind == "choice" and value not in choices:
        raise RecordError(f"{place}: {value!r} is none of {', '.join(choices)}.")
    elif kind == "text" and not isinstance(value, str):
        raise RecordError(f"{place}: a text is needed, not {value!r}.")


def impossibility(number: Decimal, unit: str) -> str:
    """Return why a figure can never be, "below zero" or "above 100 %": a slip of the pen; empty for all others.

    Only temperatures go below zero; a share in percent is never more than the whole.
    """
    if number < 0 and unit not in TEMPERATURES:
        return "below zero"
    return "above 100 %" if unit in SHARES and number > 100 else ""


def _refuse_impossible(value: Value, unit: str, place: str) -> None:
    if isinstance(value, Decimal) and (why := impossibility(value, unit)):
        raise RecordError(f"{place}: {with_unit(value, unit)} is {why}.")


def _check_decimals(value: Decimal, most: int, place: str) -> None:
    """A figure that is read to so many places is typed with no more: nobody has seen what the rest would say."""
    exponent = value.as_tuple().exponent
    if isinstance(exponent, int) and -exponent > most:
        places = {0: "no decimal place", 1: "one decimal place"}.get(most, f"{most} decimal places")
        raise RecordError(f"{place}: it is read and typed to {places}, not {digits(value)}.")


def _check_conditioning_and_instruments(edition: MethodEdition, record: TrialRecord) -> None:
    known, plans = record.conditioning, [need.key for need in edition.conditionings]
    if known.plan not in plans:
        raise RecordError(f"conditioning, plan: {known.plan!r} is none of {', '.join(map(repr, sorted(plans)))}.")
    amounts = (known.counted_s, known.minutes_since_out, known.earlier_s)
    for name, amount in zip(("counted_s", "minutes_since_out", "earlier_s"), amounts, strict=True):
        if amount is not None and checked_number(amount, f"conditioning, {name}") < 0:
            raise RecordError(f"conditioning, {name}: {digits(amount)} is below zero.")
    roles = [need.role for need in edition.instruments]
    for use in record.instruments:
        if use.role not in roles:
            raise RecordError(f"instruments: {use.role!r} is not a role of {edition.key} ({', '.join(sorted(roles))}).")

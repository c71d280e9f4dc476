"""A trial's record as plain JSON values, and back: strictly by what the edition asks, fast enough for millions."""

from collections.abc import Mapping
from dataclasses import fields
from decimal import Decimal, InvalidOperation
from typing import Any

from trials.domain.criteria import Value
from trials.domain.methods.base import MethodEdition
from trials.domain.records import AppliedCorrection, Conditioning, InstrumentUse, Observation, RecordError, TrialRecord
from trials.domain.stability import TemperatureReading

type _Row = Mapping[str, Any]

RECORD = frozenset(field.name for field in fields(TrialRecord))
OBSERVATION = frozenset(field.name for field in fields(Observation))
READING = frozenset(field.name for field in fields(TemperatureReading))
CONDITIONING = frozenset(field.name for field in fields(Conditioning))
CORRECTION = frozenset(field.name for field in fields(AppliedCorrection))
BESIDES = frozenset({"reason"})
"""What a stored record carries beside the record: why a trial that cannot be judged was signed."""


def record_to_json(record: TrialRecord) -> dict[str, Any]:
    """Return a record as plain JSON values; numbers are texts that keep their digits."""
    return {
        "method_key": record.method_key,
        "severity": _plain(record.severity),
        "setup": {key: _plain(value) for key, value in record.setup.items()},
        "temperature_readings": [_members(one) for one in record.temperature_readings],
        "observations": [_members(one) for one in record.observations],
        "conditioning": _members(record.conditioning),
        "instruments": [_members(one) for one in record.instruments],
        "corrections": [_members(one) | {"calibrations": list(one.calibrations)} for one in record.corrections],
    }


def record_from_json(edition: MethodEdition, plain: _Row) -> TrialRecord:
    """Return the record that `record_to_json` wrote, its values of the kinds the edition's fields and rows hold.

    A member that came to the program later has its default. Raises RecordError, naming the place, for members and
    fields the edition does not know and for texts that are no numbers; what the values mean is the judge's to check.
    """
    unknown = plain.keys() - RECORD - BESIDES
    if unknown or "method_key" not in plain or "severity" not in plain:
        raise RecordError(f"The stored record has other members than a record: {', '.join(sorted(plain))}.")
    try:
        return TrialRecord(
            method_key=plain["method_key"],
            severity=_number(plain["severity"]),
            setup=_setup(edition, plain.get("setup", {})),
            temperature_readings=tuple([_reading(one) for one in plain.get("temperature_readings", ())]),
            observations=tuple([_observation(edition, one) for one in plain.get("observations", ())]),
            conditioning=_conditioning(plain.get("conditioning", {})),
            instruments=edition.remembered(_instruments)(
                tuple([tuple(one.items()) for one in plain.get("instruments", ())])
            ),
            corrections=tuple([_correction(one) for one in plain.get("corrections", ())]),
        )
    except (AttributeError, InvalidOperation, KeyError, TypeError) as wrong:
        raise RecordError(f"The stored record cannot be read: {wrong!r}.") from wrong


def _plain(value: Value) -> str | bool | None:
    return format(value, "f") if isinstance(value, Decimal) else value


def _members(one: object) -> dict[str, Any]:
    return {name: _plain(value) for name, value in vars(one).items()}


def _number(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)


def _setup(edition: MethodEdition, plain: _Row) -> dict[str, Value]:
    known = edition.fields_by_key
    unknown = plain.keys() - known.keys()
    if unknown:
        raise RecordError(f"setup: {min(unknown)!r} is not a set-up value of {edition.key}.")
    return {key: _value(known[key].kind, value) for key, value in plain.items()}


def _value(kind: str, value: str | bool | None) -> Value:
    return Decimal(value) if kind == "number" and isinstance(value, str) else value


def _reading(plain: _Row) -> TemperatureReading:
    correction = plain.get("correction_k")
    _refuse_unknown(plain, READING)
    return TemperatureReading(
        Decimal(plain["t_s"]), Decimal(plain["read_c"]), None if correction is None else Decimal(correction)
    )


def _observation(edition: MethodEdition, plain: _Row) -> Observation:
    kind = edition.kinds_by_key.get(plain["kind"])
    if kind is None:
        raise RecordError(
            f"observation {plain['row']}: {plain['kind']!r} is not a kind of observation of {edition.key}."
        )
    _refuse_unknown(plain, OBSERVATION)
    return Observation(
        plain["row"],
        plain["kind"],
        _number(plain["t_s"]),
        _value(kind.value_kind, plain["value"]),
        plain["replaces"],
        plain["takes_back"],
        plain["reason"],
    )


def _conditioning(plain: _Row) -> Conditioning:
    _refuse_unknown(plain, CONDITIONING)
    return Conditioning(
        _number(plain.get("counted_s")),
        _number(plain.get("minutes_since_out")),
        plain.get("plan", ""),
        _number(plain.get("earlier_s")),
    )


def _correction(plain: _Row) -> AppliedCorrection:
    _refuse_unknown(plain, CORRECTION)
    return AppliedCorrection(
        plain["key"],
        _number(plain["correction"]),
        plain["source"],
        tuple(plain["calibrations"]),
        _number(plain["standard_uncertainty"]),
        plain["refusal"],
    )


def _instruments(_: MethodEdition, rows: tuple[tuple[tuple[str, Any], ...], ...]) -> tuple[InstrumentUse, ...]:
    return tuple([InstrumentUse(**dict(row)) for row in rows])


def _refuse_unknown(plain: _Row, known: frozenset[str]) -> None:
    if not plain.keys() <= known:
        raise RecordError(f"The stored record has a member called {min(plain.keys() - known)!r}, which nobody knows.")

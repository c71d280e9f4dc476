"""Criteria on the trial itself, generated from what a method edition states: set-up, conditioning, instruments."""

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from math import ceil

from calibration.domain.figures import signed
from calibration.domain.units import difference_unit
from trials.domain.criteria import NOT_RECORDED, Criterion, Value, capitalised, digits, mid_sentence, with_unit
from trials.domain.methods.base import MethodEdition
from trials.domain.record_checks import repeated_kinds
from trials.domain.records import TIP, AppliedCorrection, InstrumentUse, Observation, TrialRecord
from trials.domain.stability import TemperatureReading
from trials.domain.statements import InstrumentNeed, Parameter, SetupField

SECONDS_PER_HOUR = Decimal(3600)
MINUTES_PER_HOUR = Decimal(60)


def stated_criteria(edition: MethodEdition, record: TrialRecord) -> tuple[Criterion, ...]:
    """Return one criterion for each limited or required set-up field, the conditioning and each instrument needed.

    Most set-up values stay with the rig, so their criteria are remembered by what was typed.
    """
    criterion = edition.remembered(_criterion_called)
    known_from, instruments = edition.remembered(_instrument_words)(record.instruments)
    corrections = record.corrections_by_key
    fields = []
    for key, role in edition.remembered(_fields_with_a_criterion)():
        value, applied = record.setup.get(key), corrections.get(key)
        text = str(value) if applied is None else f"{value} {applied.correction}"
        fields.append(criterion(key, value, text, known_from.get(role, ""), applied))
    return (
        *fields,
        *conditioning_criteria(edition, record),
        *instruments,
    )


def setup_criterion(edition: MethodEdition, field: SetupField, record: TrialRecord) -> Criterion:
    """Return the criterion of one set-up field; an empty required field is unknown, never outside."""
    known_from = _known_from(edition, record.instruments).get(field.instrument_role, "")
    applied = record.corrections_by_key.get(field.key)
    return _field_criterion(edition, field, record.setup.get(field.key), known_from, applied)


def _instrument_words(
    edition: MethodEdition, uses: tuple[InstrumentUse, ...]
) -> tuple[dict[str, str], tuple[Criterion, ...]]:
    """With what the values of each role's fields were measured, and the criteria on the instruments themselves."""
    return _known_from(edition, uses), _instrument_criteria(edition, uses)


def _fields_with_a_criterion(edition: MethodEdition) -> tuple[tuple[str, str], ...]:
    return tuple((f.key, f.instrument_role) for f in edition.setup_fields if f.parameter or f.required)


def _known_from(_: MethodEdition, uses: tuple[InstrumentUse, ...]) -> dict[str, str]:
    """With what the values of each role's fields were measured, in words."""
    codes: dict[str, list[str]] = {}
    for use in uses:
        codes.setdefault(use.role, []).append(use.code)
    return {role: f"measured with {' and '.join(used)}" for role, used in codes.items()}


def _criterion_called(
    edition: MethodEdition, key: str, value: Value, text: str, known_from: str, applied: AppliedCorrection | None
) -> Criterion:
    """The criterion of a field; `text` is value and correction with their digits, which equal numbers do not share."""
    return _field_criterion(edition, edition.fields_by_key[key], value, known_from, applied)


def _field_criterion(
    edition: MethodEdition, field: SetupField, value: Value, known_from: str, applied: AppliedCorrection | None
) -> Criterion:
    """A field's criterion on its value with the correction of what measured it; what was read stays in the reason."""
    if applied is None or not isinstance(value, Decimal):
        return _plain_criterion(edition, field, value, known_from)
    if applied.correction is None:
        found = _plain_criterion(edition, field, value, known_from)
        return replace(found, holds=None, reason=applied.refusal) if found.holds else found
    read = f"{with_unit(value, field.unit)} read, {correction_text(applied, field.unit)}"
    found = _plain_criterion(edition, field, value + applied.correction, "")
    return replace(found, reason="; ".join(text for text in (found.reason, read) if text))


def correction_text(applied: AppliedCorrection, unit: str) -> str:
    """Return a correction in words with the calibrations it is from, for instance "+0.012 N correction (FG-01, …)"."""
    return f"{signed(applied.correction or Decimal(0))} {difference_unit(unit)} correction ({applied.source})"


def reading_words(record: TrialRecord, reading: TemperatureReading) -> str:
    """Return how a temperature in °C was arrived at, in words: as read, and with which correction."""
    read, applied = f"{digits(reading.read_c)} °C read", record.corrections_by_key.get(TIP)
    if reading.correction_k is None:
        return f"{read}, no correction stated" if applied is None else read
    source = f" ({applied.source})" if applied is not None else ""
    return f"{read}, {signed(reading.correction_k)} K correction{source}"


def reading_refusal(record: TrialRecord, reading: TemperatureReading) -> str:
    """Return why the calibrations have no correction for a reading; empty where they have one, or state none at all."""
    applied = record.corrections_by_key.get(TIP)
    return applied.refusal if applied is not None and reading.correction_k is None else ""


def _plain_criterion(edition: MethodEdition, field: SetupField, value: Value, known_from: str) -> Criterion:
    """A yes that a laboratory's own figures no longer ask for is recorded and decides nothing."""
    if not field.parameter:
        why = f"{mid_sentence(field.title)} is not recorded" if value is None else known_from
        found = value_text(value, field.unit)
        return Criterion(field.key, field.title, found, "", None if value is None else True, why, "", "common practice")
    parameter = edition.parameter(field.parameter)
    asked = parameter.value is not False
    if value is None:
        holds = None
        reason = f"{mid_sentence(field.title)} is not recorded" if field.required and asked else "not required"
    elif isinstance(value, Decimal):
        holds = parameter.admits(value)
        outside = f"{mid_sentence(field.title)} {with_unit(value, field.unit)} is outside {parameter.limit_text}"
        reason = known_from if holds else outside
    else:
        holds = value == parameter.value or not asked
        reason = (
            known_from
            if holds
            else f"{mid_sentence(field.title)}: {value_text(value)}, {parameter.limit_text} is needed"
        )
    return Criterion(
        key=field.key,
        title=field.title,
        found=value_text(value, field.unit),
        limit=parameter.limit_text if asked else "not asked for",
        holds=holds,
        reason=reason,
        source=parameter.source,
        certainty=parameter.certainty,
        enforced=field.enforced and asked and (field.required or value is not None),
    )


def value_text(value: Value, unit: str = "") -> str:
    """Return a recorded value in words."""
    if value is None:
        return NOT_RECORDED
    if isinstance(value, bool):
        return "yes" if value else "no"
    return with_unit(value, unit) if isinstance(value, Decimal) else value


def hours_text(seconds: Decimal | int) -> str:
    """Return a length of time as hours and whole minutes, rounded down, for instance "71 h 40 min" or "44 min"."""
    hours, minutes = divmod(int(seconds) // 60, 60)
    if not hours:
        return f"{minutes} min"
    return f"{hours} h {minutes} min" if minutes else f"{hours} h"


def conditioning_criteria(edition: MethodEdition, record: TrialRecord) -> tuple[Criterion, ...]:
    """Return the criteria on the hours that count, stage by stage, and on the time since the specimen was taken out."""
    known = record.conditioning
    need = edition.conditioning_called(known.plan)
    stages = [_stage_criterion("conditioned", edition.parameter(need.hours), known.counted_s, need.enforced)]
    if need.earlier_hours:
        earlier = edition.parameter(need.earlier_hours)
        stages.insert(0, _stage_criterion("conditioned_earlier", earlier, known.earlier_s, need.enforced))
    if not need.use_within_hours:
        return tuple(stages)
    within = edition.parameter(need.use_within_hours)
    out_h = None if known.minutes_since_out is None else known.minutes_since_out / MINUTES_PER_HOUR
    # Rounded up: what is past its limit by less than a minute must not look as if it were at it.
    out_text = NOT_RECORDED if known.minutes_since_out is None else hours_text(ceil(known.minutes_since_out) * 60)
    out_ok = None if out_h is None else within.admits(out_h)
    out_why = {
        None: "not recorded when the specimen was taken out",
        True: "",
        False: f"taken out {out_text} before the start, {within.limit_text} asked",
    }[out_ok]
    out = Criterion("used_within", within.title, out_text, within.limit_text, out_ok, out_why, within.source,
                    within.certainty, enforced=need.use_within_enforced)  # fmt: skip
    return (*stages, out)


def _stage_criterion(key: str, hours: Parameter, counted_s: Decimal | None, enforced: bool) -> Criterion:
    text = NOT_RECORDED if counted_s is None else hours_text(counted_s)
    holds = None if counted_s is None else hours.admits(counted_s / SECONDS_PER_HOUR)
    why = {
        None: "the conditioning is not recorded",
        True: "",
        False: f"conditioned for {text}, {hours.limit_text} asked",
    }[holds]
    return Criterion(key, hours.title, text, hours.limit_text, holds, why, hours.source, hours.certainty, enforced)


def instrument_criterion(need: InstrumentNeed, instruments: Iterable[InstrumentUse]) -> Criterion:
    """Return whether every instrument used in a role was usable; an override with its reason lets it pass."""
    uses = sorted((use for use in instruments if use.role == need.role), key=lambda use: use.code)
    bad = [use for use in uses if use.usable is False and not use.override_reason.strip()]
    unknown = [use for use in uses if use.usable is None]
    holds: bool | None = True
    if bad:
        holds, reason = False, f"{need.role} {bad[0].code} was not usable: {bad[0].reason or 'no reason given'}"
    elif unknown or not uses:
        holds = None
        what = f"whether {need.role} {unknown[0].code} was usable is" if unknown else f"the {need.role} used is"
        reason = f"{what} not recorded"
    else:
        reason = "; ".join(_override_text(use) for use in uses if use.usable is False)
    found = ", ".join(use.code for use in uses) or NOT_RECORDED
    return Criterion(
        f"instrument {need.role}",
        capitalised(need.role),
        found,
        need.accuracy,
        holds,
        reason,
        need.source,
        need.certainty,
    )


def override_warnings(record: TrialRecord) -> tuple[str, ...]:
    """Return one warning for each instrument that was used on an override, to be printed."""
    uses = sorted(record.instruments, key=lambda use: (use.role, use.code))
    return tuple(
        f"{capitalised(_override_text(use))}." for use in uses if use.usable is False and use.override_reason.strip()
    )


def plain_record_criteria(edition: MethodEdition, rows: tuple[Observation, ...]) -> tuple[Criterion, ...]:
    """Return an unknown criterion for each kind of which two rows stand although there can be only one."""
    return tuple(
        Criterion(
            f"one {kind.key}",
            kind.title,
            "recorded more than once",
            "once",
            None,
            f"{mid_sentence(kind.title)} is recorded more than once; one of the rows must be taken back",
            "",
            "common practice",
        )
        for kind in repeated_kinds(edition.observation_kinds, rows)
    )


def _override_text(use: InstrumentUse) -> str:
    return f"{use.role} {use.code} was used although {use.reason or 'not usable'}: {use.override_reason.strip()}"


def _instrument_criteria(edition: MethodEdition, uses: tuple[InstrumentUse, ...]) -> tuple[Criterion, ...]:
    roles = {use.role for use in uses}
    return tuple(
        instrument_criterion(need, uses) for need in edition.instruments if need.required or need.role in roles
    )

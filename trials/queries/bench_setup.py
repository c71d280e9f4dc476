"""How the set-up of an open trial stands: each field against its limit, the tip's steadiness, what is missing."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from trials.domain.criteria import Criterion, digits, with_unit
from trials.domain.methods.base import MethodEdition
from trials.domain.records import TrialRecord
from trials.domain.setup_criteria import setup_criterion
from trials.domain.stability import Steadiness, steadiness
from trials.domain.statements import Parameter, SetupField
from trials.models import SetupValue, Trial
from trials.queries.methods import trial_edition
from trials.queries.records import trial_record

CONTACT = Decimal(0)
TENTH = Decimal("0.1")
_TIP_KEYS = ("temperature", "steady")


@dataclass(frozen=True, slots=True)
class SteadyRule:
    """What an edition asks of a temperature before contact; figures in s, K and °C. `title` names what is read."""

    title: str
    window_s: Decimal
    spread_k: Decimal
    gap_s: Decimal
    set_c: Decimal
    tolerance_k: Decimal


@dataclass(frozen=True, slots=True)
class FieldState:
    """One set-up field: the text as entered, when, and what is to be said about it at once."""

    field: SetupField
    limit: str
    value: str
    at: datetime | None
    by: str
    holds: bool | None
    sentence: str

    @property
    def missing(self) -> bool:
        """Whether contact waits for it."""
        return self.field.required and self.value == ""


@dataclass(frozen=True, slots=True)
class SetupState:
    """The whole set-up at one moment."""

    fields: tuple[FieldState, ...]
    rule: SteadyRule | None
    steadiness: Steadiness | None
    tip: Criterion | None
    others: tuple[Criterion, ...]

    @property
    def missing(self) -> tuple[FieldState, ...]:
        """Fields that must still be entered."""
        return tuple(field for field in self.fields if field.missing)

    @property
    def broken(self) -> tuple[FieldState, ...]:
        """Fields outside their limit that make the trial invalid."""
        return tuple(field for field in self.fields if field.holds is False and field.field.enforced)


def setup_state(trial: Trial, steady_s: Decimal | None) -> SetupState:
    """How the set-up stands at `steady_s` on the device's clock (s since opening); None = at the last reading.

    Raises RecordError for a stored text that is not what its kind says.
    """
    edition = trial_edition(trial)
    record = _record_at(trial, steady_s or CONTACT)
    if steady_s is None and record.temperature_readings:
        record = _record_at(trial, max(reading.t_s for reading in record.temperature_readings))
    criteria = {criterion.key: criterion for criterion in edition.start_criteria(record)}
    rows = {row.key: row for row in SetupValue.objects.filter(trial=trial).select_related("by").order_by("pk")}
    fields = tuple(_field_state(edition, field, record, rows.get(field.key)) for field in edition.setup_fields)
    keys = {field.key for field in edition.setup_fields}
    rule = steady_rule(edition, trial.severity)
    return SetupState(
        fields=fields,
        rule=rule,
        steadiness=None if rule is None else _steadiness(record, rule),
        tip=criteria.get("temperature"),
        others=tuple(c for key, c in criteria.items() if key not in keys and key not in _TIP_KEYS),
    )


def steady_rule(edition: MethodEdition, severity: Decimal | None) -> SteadyRule | None:
    """The edition's rule on a steady temperature, or None where the method knows none."""
    if edition.steady is None or severity is None:
        return None
    return SteadyRule(
        title=edition.steady.title,
        window_s=edition.number("steady_window_s"),
        spread_k=edition.number("steady_spread_k"),
        gap_s=edition.number("reading_gap_s"),
        set_c=severity,
        tolerance_k=edition.number(edition.steady.tolerance_key(edition, severity)),
    )


def limit_words(parameter: Parameter) -> str:
    """The limit as one reads it beside a value: 0.85 to 1.05 N."""
    low, high = parameter.bounds
    if low is not None and high is not None and low != high:
        return f"{digits(low)} to {with_unit(high, parameter.unit)}"
    return parameter.limit_text


def setup_json(state: SetupState) -> dict[str, Any]:
    """The state as plain JSON values for the page's script."""
    steady = state.steadiness
    return {
        "fields": {
            one.field.key: {"value": one.value, "holds": one.holds, "sentence": one.sentence, "missing": one.missing}
            for one in state.fields
        },
        "steady": None
        if steady is None
        else {
            "steady": steady.steady,
            "steady_s": digits(steady.steady_s),
            "spread_k": None if steady.spread_k is None else digits(steady.spread_k),
            "lack": steady.lack,
            "sentence": steady.sentence,
        },
        "tip": None
        if state.tip is None
        else {"found": state.tip.found, "holds": state.tip.holds, "reason": state.tip.reason},
        "others": [
            {
                "key": c.key,
                "title": c.title,
                "found": c.found,
                "holds": c.holds,
                "reason": c.reason,
                "enforced": c.enforced,
            }
            for c in state.others
        ],
    }


def _record_at(trial: Trial, steady_s: Decimal) -> TrialRecord:
    """The record before contact, its readings in whole tenths of a second, which is what the bench clock records."""
    record = trial_record(trial, trial.opened_at + timedelta(seconds=float(steady_s)))
    readings = tuple(replace(one, t_s=one.t_s.quantize(TENTH)) for one in record.temperature_readings)
    return replace(record, temperature_readings=readings)


def _field_state(edition: MethodEdition, field: SetupField, record: TrialRecord, row: SetupValue | None) -> FieldState:
    criterion = setup_criterion(edition, field, record)
    limit = limit_words(edition.parameter(field.parameter)) if field.parameter else ""
    value = "" if row is None else row.value
    return FieldState(
        field=field,
        limit=limit,
        value=value,
        at=None if row is None else row.at,
        by="" if row is None else str(row.by),
        holds=criterion.holds if value else None,
        sentence=_sentence(field, criterion, limit) if value and criterion.holds is False else "",
    )


def _sentence(field: SetupField, criterion: Criterion, limit: str) -> str:
    """What is said at once about a value outside its limit."""
    end = "a trial with it is invalid" if field.enforced else "it is reported and does not decide"
    if field.kind == "number":
        return f"{criterion.found} is outside {limit}; {end}."
    return f"“{criterion.found}” is recorded where {limit} is needed; {end}."


def _steadiness(record: TrialRecord, rule: SteadyRule) -> Steadiness:
    return steadiness(
        record.temperature_readings,
        CONTACT,
        window_s=rule.window_s,
        spread_limit_k=rule.spread_k,
        longest_gap_s=rule.gap_s,
    )

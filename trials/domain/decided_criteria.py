"""Criteria judged by the order's decision rule: the parameters it takes, and how an agreed rule reaches the judge."""

from collections.abc import Mapping
from decimal import Decimal

from calibration.domain.decisions import (
    ALL_RULES,
    CLIENTS_OWN,
    IN_THE_STANDARD,
    Decision,
    DecisionError,
    decide,
    percent_text,
)
from trials.domain.criteria import NOT_RECORDED, Criterion, digits, with_unit
from trials.domain.methods.base import MethodEdition
from trials.domain.parameter_changes import Change, changed_edition
from trials.domain.record_checks import TEMPERATURES
from trials.domain.records import RecordError
from trials.domain.stated_uncertainty import printed_factor, printed_figure
from trials.domain.statements import DecidedLimit, Parameter

CONFIRM = "default, to be confirmed by the laboratory"

DECISION_PARAMETERS: tuple[Parameter, ...] = (
    Parameter("decision_rule", "Decision rule", IN_THE_STANDARD.key, source="ILAC-G8:09/2019",
              choices=tuple(rule.key for rule in ALL_RULES), note="as agreed for the order line at contract review"),
    Parameter("guard_factor", "Guard band w = r U, r", Decimal("1.0"), source="ILAC-G8:09/2019",
              note=f"used by the guard-band rule only; {CONFIRM}"),
    Parameter("coverage_factor", "Coverage factor of the uncertainty, k", Decimal("2.00"),
              source="EA-4/02, about 95 %", note=CONFIRM),
)  # fmt: skip
"""What an edition needs that offers every rule, beside one `uncertainty_parameter` for each figure."""


def uncertainty_parameter(key: str, what: str, unit: str) -> Parameter:
    """Return the parameter for the laboratory's own expanded uncertainty of a figure; not set until it states one."""
    return Parameter(key, f"Expanded uncertainty U of {what}", None, unit, source="the laboratory's own budget",
                     note="not set as delivered: the laboratory states its own")  # fmt: skip


def decided_criterion(
    edition: MethodEdition,
    limit: DecidedLimit,
    value: Decimal | None,
    *,
    title: str,
    name: str,
    found: str = "",
    unknown: str = "",
) -> Criterion:
    """Return the criterion on an unrounded value, by the edition's decision rule, with its statement and risk.

    `name` is the figure inside a sentence ("the dent"); `found` its text where it is not the value itself; `unknown`
    why there is no value. Raises RecordError where no decision can be made with the edition's figures.
    """
    parameter = edition.parameter(limit.parameter)
    made = _decision(edition, limit, value)
    text = found or (NOT_RECORDED if value is None else with_unit(value, parameter.unit))
    if value is None:
        reason = unknown or f"{name} is not recorded"
    elif made.holds is None:
        reason = f"the uncertainty of {name} is not stated, and the guard band needs it"
    else:
        reason = _reason(made, parameter, value, f"{name} of {text}")
    return Criterion(
        key=limit.parameter,
        title=title,
        found=text,
        limit=parameter.limit_text,
        holds=made.holds,
        reason=reason,
        source=parameter.source,
        certainty=parameter.certainty,
        statement=made.statement,
        risk=_risk_text(edition, limit, made),
    )


def rule_refusal(edition: MethodEdition) -> str | None:
    """Return why the edition's decision rule cannot be used with its figures, as one sentence, or None."""
    for limit in edition.decided_limits:
        low, high = edition.parameter(limit.parameter).bounds
        if low is None and high is None:
            continue
        try:
            _decision(edition, limit, low if high is None else high)
        except RecordError as refusal:
            return f"{edition.parameter(limit.parameter).title}: {refusal}"
    return None


def decision_changes(edition: MethodEdition, rule: str, agreed: Mapping[str, Change]) -> dict[str, Change]:
    """Return what an order line changes of an edition: the figures agreed, and the rule that was chosen.

    `edition` is the one the laboratory's sheet gives, `agreed` the line's own figures, read. Raises RecordError,
    with a sentence, for a rule the edition does not offer, the client's own rule without a limit of its own, and
    guard bands that close the zone; ParameterChangeError for figures the edition cannot take.
    """
    offered = [one.key for one in edition.decision_rules]
    if rule not in offered:
        raise RecordError(f"{edition.short_standard} is judged by one of these rules: {'; '.join(offered)}.")
    changes = dict(agreed)
    if not edition.decided_limits:
        return changes
    own = [limit.parameter for limit in edition.decided_limits]
    if rule == CLIENTS_OWN and not any(key in agreed for key in own):
        titles = ", ".join(edition.parameter(key).title for key in own)
        raise RecordError(f"The client's own rule needs the client's own limit: {titles}.")
    changes["decision_rule"] = {"value": rule}
    refusal = rule_refusal(changed_edition(edition, changes))
    if refusal is not None:
        raise RecordError(refusal)
    return changes


def _decision(edition: MethodEdition, limit: DecidedLimit, value: Decimal | None) -> Decision:
    """The decision on a figure that is never below zero: a guard band as wide as its upper limit leaves no zone."""
    low, high = edition.parameter(limit.parameter).bounds
    try:
        made = decide(
            value,
            low=low,
            high=high,
            rule=str(edition.parameter("decision_rule").value),
            expanded_u=_expanded_u(edition, limit),
            coverage_factor=edition.number("coverage_factor"),
            guard_factor=edition.number("guard_factor"),
        )
    except DecisionError as refusal:
        raise RecordError(str(refusal)) from refusal
    unit = edition.parameter(limit.parameter).unit
    if made.guard_band and high is not None and made.guard_band >= high and unit not in TEMPERATURES:
        raise RecordError(
            f"The guard band of {digits(printed_figure(made.guard_band))} is not below the limit of "
            f"{with_unit(high, unit)}: no figure could pass; a smaller uncertainty, another factor or another rule is "
            "needed."
        )
    return made


def _expanded_u(edition: MethodEdition, limit: DecidedLimit) -> Decimal | None:
    value = edition.parameter(limit.uncertainty).value
    return value if isinstance(value, Decimal) else None


def _reason(made: Decision, parameter: Parameter, value: Decimal, figure: str) -> str:
    low, high = parameter.bounds
    over = high is not None and value > high
    edge = f"the limit of {with_unit((high if over or low is None else low) or Decimal(0), parameter.unit)}"
    guard = with_unit(printed_figure(made.guard_band), parameter.unit)
    side = "over" if over else "under"
    return {
        "pass": f"inside the limit by the guard band of {guard} or more" if made.guard_band else "",
        "conditional pass": f"{figure} is inside the limit by less than the guard band of {guard}",
        "conditional fail": f"{figure} is {side} {edge}, by no more than the guard band of {guard}",
        "fail": f"{figure} is {side} {edge}",
        "not judged": made.reason,
    }[made.statement]


def _risk_text(edition: MethodEdition, limit: DecidedLimit, made: Decision) -> str:
    """The specific risk in words; empty where the uncertainty is not stated and nothing rests on it."""
    expanded_u = _expanded_u(edition, limit)
    if made.risk is None or expanded_u is None:
        return ""
    what = "accepting wrongly" if made.holds else "rejecting wrongly"
    given = f"U = {with_unit(printed_figure(expanded_u), edition.parameter(limit.parameter).unit)}"
    factor = printed_factor(edition.number("coverage_factor"))
    return f"risk of {what} {percent_text(made.risk)} ({given}, k = {factor}, normal distribution)"

"""What the methods of the interval review say together, in sentences with their numbers; a person decides."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from calibration.domain.drift_forecast import Forecast, forecasts
from calibration.domain.figures import signed
from calibration.domain.interval_policy import POLICY, IntervalPolicy, in_months
from calibration.domain.interval_review import Counts, Staircase, Step, Visit, counts, staircase
from calibration.domain.rounding import rounded
from calibration.domain.status import shown
from calibration.domain.units import difference_unit

_THOUSANDTH = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class Uses:
    """How often it was used since its newest calibration, and before each earlier one; `held` where that one found it
    within limits, None where that is not known. Oldest first."""

    since: int
    before: tuple[tuple[int, bool | None], ...] = ()

    @property
    def proved(self) -> int | None:
        """The most uses after which it was found within limits; None where that never was seen."""
        return max((uses for uses, held in self.before if held), default=None)


@dataclass(frozen=True, slots=True)
class Finding:
    """What one method says: `interval` in the present unit, None where nothing follows from it."""

    method: str
    says: str
    interval: int | None = None


@dataclass(frozen=True, slots=True)
class Proposal:
    """From `present` to `interval`, both in `unit`; `sentence` is the answer, `findings` what it rests on."""

    step: Step
    interval: int
    present: int
    unit: str
    sentence: str
    findings: tuple[Finding, ...]
    forecasts: tuple[Forecast, ...]

    @property
    def changes(self) -> bool:
        """Whether another interval is proposed."""
        return self.interval != self.present

    @property
    def numbers(self) -> dict[str, object]:
        """What is kept with a decision: the proposal, and what each method said when it was decided."""
        return {
            "present": f"{self.present} {self.unit}",
            "proposed": f"{self.interval} {self.unit}",
            "sentence": self.sentence,
            "methods": {finding.method: finding.says for finding in self.findings},
        }


def proposal(
    visits: Sequence[Visit], interval: int, unit: str, uses: Uses | None = None, policy: IntervalPolicy = POLICY
) -> Proposal:
    """What the history proposes for the interval of the newest visit.

    The staircase leads; a drift that reaches its limit sooner cuts it off. Uses and counts are set beside them: with
    the few calibrations of a small laboratory no statistics decide.
    """
    stairs = staircase(visits, interval, unit, policy)
    drifts = forecasts(visits, policy)
    soonest = min((one for one in drifts if one.months is not None), key=lambda one: one.months or 0, default=None)
    by_drift = None if soonest is None else _due_before(soonest, interval, unit, policy)
    proposed = stairs.interval if by_drift is None else min(stairs.interval, by_drift)
    step = Step.SHORTEN if proposed < interval else Step.LENGTHEN if proposed > interval else Step.KEEP
    if stairs.step is Step.UNKNOWN and step is Step.KEEP:
        step = Step.UNKNOWN
    drift_leads = by_drift is not None and by_drift < stairs.interval
    drift_words = _drift_words(drifts, soonest, policy)
    by_stairs = _staircase_words(stairs, visits, policy)
    why = drift_words if drift_leads else by_stairs
    findings = [
        Finding("staircase", by_stairs, None if stairs.step is Step.UNKNOWN else stairs.interval),
        Finding("control chart", drift_words, by_drift),
        *([Finding("in-use time", _use_words(uses))] if uses is not None else []),
        Finding("counts", _count_words(counts(visits, policy), policy)),
    ]
    return Proposal(
        step, proposed, interval, unit, f"{_heading(step, interval, proposed, unit)} {why}", tuple(findings), drifts
    )


def _due_before(forecast: Forecast, interval: int, unit: str, policy: IntervalPolicy) -> int:
    months = max((forecast.months or 0) - policy.margin_months, 0)
    return policy.clamped(months * in_months(unit), unit, present=interval)


def _heading(step: Step, present: int, proposed: int, unit: str) -> str:
    if step is Step.LENGTHEN:
        return f"Calibrate less often: every {proposed} {unit} in place of {present}."
    if step is Step.SHORTEN:
        return f"Calibrate more often: every {proposed} {unit} in place of {present}."
    return f"Keep {present} {unit}."


def _staircase_words(stairs: Staircase, visits: Sequence[Visit], policy: IntervalPolicy) -> str:
    newest = visits[-1] if visits else None
    place = newest.worst if newest else None
    if newest is None or place is None or place.found is None or place.permitted is None:
        return _why_unknown(newest)
    unit, on = difference_unit(place.unit), shown(newest.calibrated_on)
    at = f"at {place.reference:f} {place.unit}"
    share = f"{rounded(stairs.share or Decimal(0), _THOUSANDTH):f}"
    limit = f"{share} of the {place.permitted:f} {unit} permitted"
    told = f"On {on} it was found {abs(place.found):f} {unit} off {at}, {limit}"
    if stairs.share is not None and stairs.share > 1:
        return f"{told}, which is beyond its limit."
    if stairs.share is not None and stairs.share > policy.good_share:
        return f"{told}; that is within, and above the {policy.good_share:f} that would speak for a longer interval."
    row = f"{stairs.good_in_a_row} good result{'' if stairs.good_in_a_row == 1 else 's'} in a row"
    return f"{told}; {row} after an interval like this one, where {stairs.needed} are asked for to lengthen it."


def _why_unknown(newest: Visit | None) -> str:
    if newest is None:
        return "No accepted calibration speaks for it."
    if not any(place.found is not None for place in newest.places):
        return "The newest calibration does not say how the instrument came in, so its history cannot be judged."
    return "No permitted error is stated for what was calibrated, so its history cannot be judged."


def _drift_words(drifts: Sequence[Forecast], soonest: Forecast | None, policy: IntervalPolicy) -> str:
    if not drifts:
        return "Fewer than 3 calibrations say how it came in at the same place of its range; no line is drawn."
    said = [_forecast_words(soonest, policy)] if soonest is not None else []
    said += [
        f"At {one.reference:f} {one.unit} the {one.count} errors scatter too much for a forecast."
        for one in drifts
        if one.too_wide
    ]
    return " ".join(said) or "Nowhere does the drift reach its limit within ten years."


def _forecast_words(soonest: Forecast, policy: IntervalPolicy) -> str:
    unit, months = difference_unit(soonest.unit), soonest.months or 0
    slope = signed(rounded(soonest.line.slope * 12, _THOUSANDTH))
    return (
        f"At {soonest.reference:f} {soonest.unit} the error of {soonest.count} calibrations moves by {slope} {unit} a "
        f"year; with its expansion it stays within {soonest.permitted:f} {unit} for {months} "
        f"month{'' if months == 1 else 's'} after the newest, {max(months - policy.margin_months, 0)} with a margin."
    )


def _use_words(uses: Uses) -> str:
    since = f"{uses.since} trial{'' if uses.since == 1 else 's'} since the newest calibration"
    if not uses.since and not any(count for count, _ in uses.before):
        return "No trial has used it yet."
    if not uses.proved:
        return f"{since}; after how many it stays within limits is not known yet."
    if uses.since > uses.proved:
        return f"{since}, more than the {uses.proved} after which it was ever found within limits: calibrate early?"
    return f"{since}; it was found within limits after {uses.proved}."


def _count_words(found: Counts, policy: IntervalPolicy) -> str:
    if found.confidence is None:
        return f"{found.visits} accepted, none can be judged."
    told = f"{found.within} of {found.judged} came back within limits"
    if not found.confidence:
        return f"{told}, which does not contradict a target of {policy.target:f}. No interval follows from the count."
    sure = rounded(100 * found.confidence, Decimal("0.01"))
    contradicts = f"which contradicts a target of {policy.target:f} with {sure:f} % confidence"
    return f"{told}, {contradicts}. No interval follows from the count."

"""Decision rules: a figure against its limits with its expanded uncertainty, the statement, and the specific risk."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from statistics import NormalDist
from typing import Literal, get_args

from calibration.domain.figures import digits
from calibration.domain.student_t import held_within

type Statement = Literal["pass", "conditional pass", "conditional fail", "fail", "not judged"]
RuleKey = Literal["in the standard", "simple acceptance", "guard band", "client's own"]


@dataclass(frozen=True)
class DecisionRule:
    """A rule by which a figure is set against its limit, agreed before the work."""

    key: str
    title: str
    note: str


RULE_KEYS: tuple[RuleKey, ...] = get_args(RuleKey)
CLIENTS_OWN: RuleKey = "client's own"
IN_THE_STANDARD = DecisionRule(
    "in the standard", "Inherent in the standard", "figures are compared as measured, limits included"
)
ALL_RULES: tuple[DecisionRule, ...] = (
    IN_THE_STANDARD,
    DecisionRule("simple acceptance", "Simple acceptance", "the limit itself decides; at the limit the risk is 50 %"),
    DecisionRule(
        "guard band", "Guard band w = r U", "passes within the limit less w; between the two it passes conditionally"
    ),
    DecisionRule(CLIENTS_OWN, "The client’s own limit", "the limit agreed takes the place of the method’s"),
)
"""What a method offers that has a figure with an uncertainty; methods judged by time and by eye offer the first."""


@dataclass(frozen=True)
class GuardFactor:
    """A length of the guard band that has a name: w = `factor` x U."""

    title: str
    factor: Decimal
    note: str


GUARD_FACTORS: tuple[GuardFactor, ...] = (
    GuardFactor("Six sigma", Decimal(3), "accepting wrongly at the acceptance limit: below 1 in a million"),
    GuardFactor("Three sigma", Decimal("1.5"), "accepting wrongly at the acceptance limit: below 0.16 %"),
    GuardFactor("Full U", Decimal(1), "accepting wrongly at the acceptance limit: below 2.5 %"),
    GuardFactor("ISO 14253-1:2017", Decimal("0.83"), "accepting wrongly at the acceptance limit: below 5 %"),
    GuardFactor("None", Decimal(0), "accepting wrongly at the limit: up to 50 %"),
    GuardFactor("Uncritical", Decimal(-1), "rejected only beyond the limit plus U; rejecting wrongly: below 2.5 %"),
)
"""The named rows of ILAC-G8:09/2019; its rule names are from memory, the risks computed for k = 2."""

_SMALLEST, _TWO_DIGITS = Decimal("0.01"), 2
_UNCRITICAL = Decimal(-1)


class DecisionError(ValueError):
    """A decision that cannot be made as its figures stand; the message is one sentence fit for the screen."""


@dataclass(frozen=True)
class Decision:
    """What a rule says of one figure.

    `holds` is True for both kinds of pass, False for both kinds of fail, None where it is not judged. `accept_low` and
    `accept_high` bound the values that pass without condition. `risk` is the specific risk, a probability: that an
    accepted figure is in truth outside the limits, or a rejected one inside; None where the uncertainty is not known.
    A band with a negative factor lies outside the limits and accepts up to its far end; there is nothing conditional.
    """

    statement: Statement
    holds: bool | None
    accept_low: Decimal | None
    accept_high: Decimal | None
    guard_band: Decimal
    risk: float | None
    reason: str = ""


def decide(
    value: Decimal | None,
    *,
    low: Decimal | None = None,
    high: Decimal | None = None,
    rule: str = "in the standard",
    expanded_u: Decimal | None = None,
    coverage_factor: Decimal | None = None,
    guard_factor: Decimal = Decimal(1),
    degrees_of_freedom: int | None = None,
) -> Decision:
    """Return the statement on an unrounded value; all figures in the unit of the value, limits inclusive.

    Only the guard band w = `guard_factor` x U gives conditional statements: a pass within the limits shrunk by w, a
    conditional pass up to the limits, a conditional fail up to w beyond them, then a fail. Without U it is not judged.
    `coverage_factor` belongs to U and is never assumed; `degrees_of_freedom` are those of U where they are few.
    Raises DecisionError for an unknown rule, no limit, U without k, figures out of range and guard bands that leave no
    zone.
    Source: ILAC-G8:09/2019 for the rules, JCGM 106:2012 clause 7 for the risk; the closed boundary is common practice.
    """
    guard = _guard_band(low, high, rule, expanded_u, coverage_factor, guard_factor)
    if guard is None:
        return Decision("not judged", None, low, high, Decimal(0), None, "the guard band needs the uncertainty")
    zone = (None if low is None else low + guard, None if high is None else high - guard)
    if value is None:
        return Decision("not judged", None, *zone, guard, None, "the value is not recorded")
    inside = _within(value, *zone) if guard < 0 else _within(value, low, high)
    beyond = (None if low is None else low - guard, None if high is None else high + guard)
    if _within(value, *zone):
        statement: Statement = "pass"
    elif inside:
        statement = "conditional pass"
    else:
        statement = "conditional fail" if guard > 0 and _within(value, *beyond) else "fail"
    risk = None
    if expanded_u is not None and coverage_factor is not None:
        outside = nonconformance_probability(value, low, high, expanded_u / coverage_factor, degrees_of_freedom)
        risk = outside if inside else 1 - outside
    return Decision(statement, inside, *zone, guard, risk)


def nonconformance_probability(
    value: Decimal,
    low: Decimal | None,
    high: Decimal | None,
    standard_u: Decimal,
    degrees_of_freedom: int | None = None,
) -> float:
    """Return the probability that what was measured lies outside the limits, for a normal distribution about `value`.

    `standard_u` > 0 is the standard uncertainty in the unit of the value; where it rests on few `degrees_of_freedom`,
    Student's t takes the place of the normal distribution. Source: JCGM 106:2012 clause 7.
    """
    above = 0.0 if high is None else _share_below((value - high) / standard_u, degrees_of_freedom)
    below = 0.0 if low is None else _share_below((low - value) / standard_u, degrees_of_freedom)
    return above + below


def conformance_probability(
    value: Decimal,
    low: Decimal | None,
    high: Decimal | None,
    standard_u: Decimal,
    degrees_of_freedom: int | None = None,
) -> float:
    """Return the probability that what was measured lies inside the limits, of which one may be None.

    Arguments and source as for `nonconformance_probability`.
    """
    return 1 - nonconformance_probability(value, low, high, standard_u, degrees_of_freedom)


def _share_below(distance: Decimal, degrees_of_freedom: int | None) -> float:
    """How much of the distribution lies below a distance from its middle, in standard uncertainties."""
    if degrees_of_freedom is None:
        return NormalDist().cdf(float(distance))
    beyond = (1 - held_within(abs(float(distance)), degrees_of_freedom)) / 2
    return beyond if distance < 0 else 1 - beyond


def percent_text(probability: float) -> str:
    """Return a probability (0 to 1) in percent, two significant digits rounded half up, none below 0.01 %."""
    percent = Decimal(probability) * 100
    if percent < _SMALLEST:
        return "below 0.01 %"
    rounded = _two_significant(percent)
    return f"{digits(_two_significant(rounded))} %"


def _two_significant(number: Decimal) -> Decimal:
    places = max(_TWO_DIGITS - 1 - number.adjusted(), 0)
    return number.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)


def _guard_band(
    low: Decimal | None,
    high: Decimal | None,
    rule: str,
    expanded_u: Decimal | None,
    coverage_factor: Decimal | None,
    guard_factor: Decimal,
) -> Decimal | None:
    """Return w in the unit of the limits, 0 by the rules without a guard band, None where it needs an unknown U."""
    if rule not in RULE_KEYS:
        raise DecisionError(f"There is no decision rule {rule!r}; there are {', '.join(RULE_KEYS)}.")
    if low is None and high is None:
        raise DecisionError("A decision rule needs a limit, and none is set.")
    if low is not None and high is not None and low > high:
        raise DecisionError(f"The lower limit {digits(low)} is above the upper limit {digits(high)}.")
    if expanded_u is not None and expanded_u <= 0:
        raise DecisionError(f"An expanded uncertainty is above zero, not {digits(expanded_u)}.")
    if expanded_u is not None and coverage_factor is None:
        raise DecisionError("The coverage factor k of the expanded uncertainty is missing; it is never assumed.")
    if coverage_factor is not None and coverage_factor <= 0:
        raise DecisionError(f"A coverage factor is above zero, not {digits(coverage_factor)}.")
    if guard_factor < _UNCRITICAL:
        raise DecisionError(f"A guard band is at most U beyond the limit; its factor is {digits(guard_factor)}.")
    if rule != "guard band":
        return Decimal(0)
    if expanded_u is None:
        return None
    guard = (guard_factor * expanded_u).normalize()  # its digits are the product's, nobody typed them
    if guard > 0 and low is not None and high is not None and 2 * guard >= high - low:
        raise DecisionError(
            f"The guard bands of {digits(guard)} close the zone from {digits(low)} to {digits(high)}: "
            "no figure could pass; a smaller uncertainty, another factor or another rule is needed."
        )
    return guard


def _within(value: Decimal, low: Decimal | None, high: Decimal | None) -> bool:
    return (low is None or value >= low) and (high is None or value <= high)

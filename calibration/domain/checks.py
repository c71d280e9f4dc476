"""Judging an intermediate check of each kind: the figures kept, whether it passed, and a sentence that says why."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from types import MappingProxyType

from calibration.domain.comparisons import agrees, e_n
from calibration.domain.figures import digits, signed, with_unit
from calibration.domain.rounding import rounded
from calibration.domain.units import difference_unit

SILVER_TRUE_C = Decimal("961.78")
"""Freezing point of silver, ITS-90 Table 1 (published)."""
SILVER_NOMINAL_C = Decimal(960)
"""What glow-wire practice takes for it (IEC 60695-2-10, from memory). It is no fixed-point calibration."""
FOIL_REFERENCES: Mapping[str, tuple[Decimal, str]] = MappingProxyType(
    {"nominal": (SILVER_NOMINAL_C, "the nominal figure"), "true": (SILVER_TRUE_C, "where silver melts")}
)
STANDARD_GRAVITY = Decimal("9.80665")
"""m/s², by definition (3rd CGPM, 1901)."""
COVERAGE = 2
"""Two results are compared at this coverage factor (the house's level, 95.45 %); each came with a factor of its own."""
_GRAMS = 1000


class CheckError(ValueError):
    """A check that cannot be judged; the message is a sentence, `field` names what is missing or wrong."""

    def __init__(self, sentence: str, field: str = "") -> None:
        super().__init__(sentence)
        self.field = field


@dataclass(frozen=True, slots=True)
class ErrorLimits:
    """Which errors are allowed, in the unit of the check, limits included; None is no limit. `source` says whose."""

    low: Decimal | None
    high: Decimal | None
    source: str

    def hold(self, error: Decimal) -> bool:
        """Whether an error is allowed."""
        return (self.low is None or error >= self.low) and (self.high is None or error <= self.high)

    def words(self, unit: str) -> str:
        """The limits as a clause: “−10 to +10 K are allowed (the plan)”."""
        difference = difference_unit(unit)
        if self.low is not None and self.high is not None:
            span = f"{signed(self.low)} to {signed(self.high)} {difference}"
        elif self.low is not None:
            span = f"{signed(self.low)} {difference} or more"
        else:
            span = f"up to {signed(self.high or Decimal(0))} {difference}"
        return f"{span} are allowed ({self.source})"


@dataclass(frozen=True, slots=True)
class Agreement:
    """Two independent results with expanded uncertainties of one coverage; `correction` is added to the indication."""

    correction: Decimal
    indication_expanded: Decimal
    reference_expanded: Decimal
    one_is_action: bool = False


@dataclass(frozen=True, slots=True)
class Judged:
    """What is kept of a check. Of several readings, `reference` and `indication` are those that decided."""

    reference: Decimal
    indication: Decimal
    unit: str
    passed: bool
    sentence: str
    error_low: Decimal | None = None
    error_high: Decimal | None = None
    reference_uncertainty: Decimal | None = None
    indication_uncertainty: Decimal | None = None
    e_n: Decimal | None = None
    readings: tuple[Mapping[str, str], ...] = ()

    @property
    def error(self) -> Decimal:
        """Indication minus reference."""
        return self.indication - self.reference


def error_limits(
    low: Decimal | None, high: Decimal | None, *, permitted: Decimal | None, expanded: Decimal | None, unit: str
) -> ErrorLimits:
    """Return the plan's error limits, or without them the permitted error less the expanded uncertainty of the check.

    Raises CheckError where there is neither, where the uncertainty is not known, and where it leaves nothing.
    Source: common practice (guard band of one U).
    """
    if low is not None or high is not None:
        return ErrorLimits(low, high, "the plan")
    difference = difference_unit(unit)
    if permitted is None:
        raise CheckError(
            f"There is nothing to judge by: neither a plan with error limits nor a permitted error in {difference} is "
            "entered. Plan this check first."
        )
    if expanded is None:
        raise CheckError(
            f"The check is judged by the permitted error of {with_unit(permitted, difference)} less its own "
            "uncertainty: give U and k, or plan the check with limits of its own.",
            "expanded_uncertainty",
        )
    if expanded >= permitted:
        raise CheckError(
            f"U of {with_unit(expanded, difference)} leaves nothing of the permitted error of "
            f"{with_unit(permitted, difference)}: this check cannot show that the instrument holds it.",
            "expanded_uncertainty",
        )
    allowed = permitted - expanded
    source = f"permitted {with_unit(permitted, difference)} less U {with_unit(expanded, difference)}"
    return ErrorLimits(-allowed, allowed, source)


def judge_value(
    opening: str, *, reference: Decimal, indication: Decimal, unit: str, limits: ErrorLimits, named: str = ""
) -> Judged:
    """Return a check of one reading against a reference. `opening` begins the sentence, `named` says what it is."""
    error = indication - reference
    passed = limits.hold(error)
    against = with_unit(reference, unit) + (f" ({named})" if named else "")
    sentence = (
        f"{opening} {with_unit(indication, unit)}, {signed(error)} {difference_unit(unit)} from {against}; "
        f"{limits.words(unit)}, so it {_word(passed)}."
    )
    return Judged(reference, indication, unit, passed, sentence, limits.low, limits.high)


def judge_foil(indication: Decimal, chosen: str, limits: ErrorLimits) -> Judged:
    """Return a check of a tip, in °C, by the foil of silver; `chosen` is “nominal” or “true”, as the record says."""
    reference, named = FOIL_REFERENCES[chosen]
    return judge_value(
        "The foil melted at an indicated", reference=reference, indication=indication, unit="°C", limits=limits,
        named=named,
    )  # fmt: skip


def judge_runs(runs: Sequence[Decimal], reference: Decimal, limits: ErrorLimits) -> Judged:
    """Return a flame confirmation: each run's seconds for the copper block must lie within the limits."""
    if not runs:
        raise CheckError("Give the seconds of at least one run.", "run_1")
    worst = max(runs, key=lambda run: (not limits.hold(run - reference), abs(run - reference)))
    passed = all(limits.hold(run - reference) for run in runs)
    listed = " and ".join(part for part in (", ".join(digits(run) for run in runs[:-1]), digits(runs[-1])) if part)
    sentence = (
        f"The copper block took {listed} s, {with_unit(reference, 's')} is wanted; {limits.words('s')}, so it "
        f"{_word(passed)}."
    )
    readings = tuple({"run": str(number), "seconds": digits(run)} for number, run in enumerate(runs, 1))
    return Judged(reference, worst, "s", passed, sentence, limits.low, limits.high, readings=readings)


def judge_masses(
    pairs: Sequence[tuple[Decimal, Decimal]], gravity: Decimal, limits_at: Callable[[Decimal], ErrorLimits]
) -> Judged:
    """Return a check of a force gauge: each (mass in g, reading in N) against m · g, g in m/s².

    The buoyancy of air, about 0.015 % for steel, is left out. `limits_at` gives the limits at a force in N.
    """
    if not pairs:
        raise CheckError("Give at least one mass and what the gauge read.", "mass_1")
    judged = [
        judge_value("The gauge read", reference=mass * gravity / _GRAMS, indication=reading, unit="N", limits=limits)
        for mass, reading in pairs
        for limits in [limits_at(mass * gravity / _GRAMS)]
    ]
    worst = max(judged, key=lambda one: (not one.passed, abs(one.error)))
    mass = next(mass for (mass, _), one in zip(pairs, judged, strict=True) if one is worst)
    passed = all(one.passed for one in judged)
    place = Decimal("0.0001")
    limits = ErrorLimits(worst.error_low, worst.error_high, limits_at(worst.reference).source)
    many = "1 mass" if len(pairs) == 1 else f"{len(pairs)} masses"
    sentence = (
        f"{many}, g = {digits(gravity)} m/s²: with {digits(mass)} g the gauge read {with_unit(worst.indication, 'N')}, "
        f"{signed(rounded(worst.error, place))} N from {rounded(worst.reference, place)} N; {limits.words('N')}, "
        f"so it {_word(passed)}."
    )
    readings = tuple(
        {
            "mass_g": digits(mass),
            "force_n": digits(one.reference),
            "read_n": digits(one.indication),
            "gravity_m_s2": digits(gravity),
        }
        for (mass, _), one in zip(pairs, judged, strict=True)
    )  # fmt: skip
    return replace(worst, passed=passed, sentence=sentence, readings=readings)


def judge_agreement(opening: str, *, reference: Decimal, indication: Decimal, unit: str, pair: Agreement) -> Judged:
    """Return whether an indication, corrected, agrees with a reference by E_n (`comparisons.agrees`)."""
    corrected = indication + pair.correction
    numbers = (corrected, reference, pair.indication_expanded, pair.reference_expanded)
    try:
        passed, score = agrees(*numbers, one_is_action=pair.one_is_action), e_n(*numbers)
    except ValueError as error:
        raise CheckError(f"The two cannot be compared: {error}.", "expanded_uncertainty") from None
    difference = difference_unit(unit)
    us = f"{_shown_u(pair.indication_expanded)} and {_shown_u(pair.reference_expanded)} {difference}"
    sign = "<" if pair.one_is_action else "≤"
    added = f", corrected {with_unit(corrected, unit)}" if pair.correction else ""
    sentence = (
        f"{opening} {with_unit(indication, unit)}{added}, against {with_unit(reference, unit)}: "
        f"E_n = {shown_score(score)} from U {us}; |E_n| {sign} 1 agrees, so it {_word(passed)}."
    )
    return Judged(
        reference, indication, unit, passed, sentence, e_n=rounded(score, Decimal("0.000001")),
        reference_uncertainty=pair.reference_expanded, indication_uncertainty=pair.indication_expanded,
        readings=({"correction": digits(pair.correction), "corrected": digits(corrected)},),
    )  # fmt: skip


def shown_score(score: Decimal) -> str:
    """A score to two places; to six where two would hide on which side of 1 it lies."""
    short = rounded(score, Decimal("0.01"))
    exact = abs(short) != 1 or abs(score) == 1
    return str(short if exact else rounded(score, Decimal("0.000001"))).replace("-", "−")


def _shown_u(expanded: Decimal) -> str:
    return digits(rounded(expanded, Decimal("0.0001")).normalize() if expanded else expanded)


def _word(passed: bool) -> str:
    return "passed" if passed else "failed"

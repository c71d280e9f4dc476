"""From what was typed for a check to its judgement: plan, permitted error and certificates are looked up here."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from calibration.domain.checks import (
    COVERAGE,
    FOIL_REFERENCES,
    STANDARD_GRAVITY,
    Agreement,
    CheckError,
    ErrorLimits,
    Judged,
    error_limits,
    judge_agreement,
    judge_foil,
    judge_masses,
    judge_runs,
    judge_value,
)
from calibration.domain.figures import with_unit
from calibration.domain.units import UNITS
from calibration.models import CheckKind, CheckPlan, Instrument
from calibration.queries.check_basis import Certified, NotCertified, certified_at
from calibration.queries.check_subjects import UNIT_OF_KIND, Subject, plan_in_force
from calibration.queries.limits import instrument_limits
from labsite.ledger.queries import the_laboratory


@dataclass(frozen=True, slots=True)
class CheckValues:
    """What was typed for a check; which of it is asked depends on the kind. U is expanded, k its coverage factor.

    `masses` are pairs of g and N. `gravity_m_s2` is the laboratory's own, with its source; None is the standard one.
    """

    indication: Decimal | None = None
    reference: Decimal | None = None
    unit: str = ""
    foil_reference: str = ""
    expanded_uncertainty: Decimal | None = None
    coverage_factor: Decimal | None = None
    runs: tuple[Decimal, ...] = ()
    masses: tuple[tuple[Decimal, Decimal], ...] = ()
    gravity_m_s2: Decimal | None = None
    gravity_source: str = ""


@dataclass(frozen=True, slots=True)
class _Case:
    """A check to be judged: `at` is when it is entered, `checked_at` when it was made."""

    subject: Subject
    kind: CheckKind
    values: CheckValues
    compared_with: Instrument | None
    at: datetime
    checked_at: datetime
    plan: CheckPlan | None

    @property
    def unit(self) -> str:
        """The unit of the kind, or the one chosen."""
        return UNIT_OF_KIND.get(self.kind, self.values.unit)

    def limits(self, reference: Decimal) -> ErrorLimits:
        """The limits of the error at a reference."""
        low, high = (self.plan.error_low, self.plan.error_high) if self.plan else (None, None)
        one = self.subject.instrument
        permitted = None if one is None else instrument_limits(one, self.at).permitted(self.unit, reference)
        return error_limits(low, high, permitted=permitted, expanded=self.expanded(), unit=self.unit)

    def expanded(self) -> Decimal | None:
        """The typed uncertainty at the house's coverage factor."""
        typed, factor = self.values.expanded_uncertainty, self.values.coverage_factor
        return None if typed is None or factor is None else COVERAGE * typed / factor


def judge_check(
    subject: Subject,
    kind: CheckKind,
    values: CheckValues,
    *,
    compared_with: Instrument | None,
    at: datetime,
    checked_at: datetime,
) -> Judged:
    """Judge a check by the plan and the limits that hold at `at` and the certificates that held at `checked_at`.

    Raises CheckError with a sentence where something is missing that it would be judged by.
    """
    _check_typed(values)
    plan = plan_in_force(subject, kind, at)
    case = _Case(subject, kind, values, compared_with, at, checked_at, plan)
    if case.unit not in UNITS:
        raise CheckError("Choose the unit.", "unit")
    if plan is not None and plan.unit != case.unit:
        raise CheckError(f"The plan of this check is in {plan.unit}; read it in {plan.unit}, or plan it anew.", "unit")
    match kind:
        case CheckKind.FOIL:
            return _foil(case)
        case CheckKind.FLAME:
            return _flame(case)
        case CheckKind.MASSES:
            return _masses(case)
        case CheckKind.COMPARISON:
            return _comparison(case)
        case CheckKind.AGREEMENT:
            return _agreement(case)
    reference, indication = _needed(values.reference, "reference"), _needed(values.indication, "indication")
    return judge_value(
        f"{subject.code} read", reference=reference, indication=indication, unit=case.unit,
        limits=case.limits(reference),
    )  # fmt: skip


def _check_typed(values: CheckValues) -> None:
    if values.expanded_uncertainty is not None and values.coverage_factor is None:
        raise CheckError("Give k with U; it is never assumed.", "coverage_factor")
    if values.coverage_factor is not None and values.expanded_uncertainty is None:
        raise CheckError("A k without U says nothing; give both or neither.", "expanded_uncertainty")
    if values.gravity_m_s2 is not None and not values.gravity_source.strip():
        raise CheckError("Write where the local g comes from.", "gravity_source")


def _needed(value: Decimal | None, field: str) -> Decimal:
    if value is None:
        raise CheckError("This is missing; the check cannot be judged without it.", field)
    return value


def _foil(case: _Case) -> Judged:
    chosen = case.values.foil_reference
    if chosen not in FOIL_REFERENCES:
        raise CheckError("Say which figure the reading is set against.", "foil_reference")
    reference, _ = FOIL_REFERENCES[chosen]
    return judge_foil(_needed(case.values.indication, "indication"), chosen, case.limits(reference))


def _flame(case: _Case) -> Judged:
    if case.plan is None or case.plan.reference is None:
        raise CheckError(
            f"No flame confirmation is planned for {case.subject.code}: its seconds and limits come from the plan. "
            "Plan it first; the methods' own figures are offered there."
        )
    return judge_runs(case.values.runs, case.plan.reference, case.limits(case.plan.reference))


def _masses(case: _Case) -> Judged:
    return judge_masses(case.values.masses, case.values.gravity_m_s2 or STANDARD_GRAVITY, case.limits)


def _comparison(case: _Case) -> Judged:
    """Two instruments side by side: by the plan's limits, else each corrected by its certificate and by E_n."""
    other, one = case.compared_with, case.subject.instrument
    if other is None or one is None:
        raise CheckError("Choose the instrument it was compared with.", "compared_with")
    indication, read = _needed(case.values.indication, "indication"), _needed(case.values.reference, "reference")
    theirs = certified_at(other, case.unit, read, case.checked_at, with_drift=True)
    reference = read + theirs.correction if isinstance(theirs, Certified) else read
    raw = f"{other.code} read {with_unit(read, case.unit)}"
    if case.plan is not None and (case.plan.error_low is not None or case.plan.error_high is not None):
        named = f"{raw}, not corrected" if isinstance(theirs, NotCertified) else f"{raw}, corrected"
        return judge_value(
            f"{one.code} read", reference=reference, indication=indication, unit=case.unit,
            limits=case.limits(reference), named=named,
        )  # fmt: skip
    ours = certified_at(one, case.unit, indication, case.checked_at, with_drift=True)
    pair = Agreement(
        _correction(ours), _expanded(ours, one.code), _expanded(theirs, other.code), the_laboratory().e_n_one_is_action
    )
    opening = f"{raw}; {one.code} read"
    return judge_agreement(opening, reference=reference, indication=indication, unit=case.unit, pair=pair)


def _agreement(case: _Case) -> Judged:
    """Today's error against the last accepted certificate's, which is the corrected reading against the reference."""
    one = case.subject.instrument
    if one is None:
        raise CheckError("Only an instrument has a certificate to agree with.")
    indication, reference = _needed(case.values.indication, "indication"), _needed(case.values.reference, "reference")
    ours = certified_at(one, case.unit, indication, case.checked_at, with_drift=False)
    theirs = _needed(case.expanded(), "expanded_uncertainty")
    pair = Agreement(_correction(ours), _expanded(ours, one.code), theirs, the_laboratory().e_n_one_is_action)
    return judge_agreement(f"{one.code} read", reference=reference, indication=indication, unit=case.unit, pair=pair)


def _correction(found: Certified | NotCertified) -> Decimal:
    return found.correction if isinstance(found, Certified) else Decimal(0)


def _expanded(found: Certified | NotCertified, code: str) -> Decimal:
    """U at the house's coverage factor; refused where the certificate does not tell it."""
    if isinstance(found, NotCertified):
        raise CheckError(f"E_n cannot be formed: {found.clause}. Plan the check with limits of its own instead.")
    if found.standard_uncertainty is None:
        raise CheckError(
            f"E_n cannot be formed: the certificate of {code} states no U or no k there, and k is never assumed. "
            "Plan the check with limits of its own instead."
        )
    return COVERAGE * found.standard_uncertainty

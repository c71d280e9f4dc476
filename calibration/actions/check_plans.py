"""Planning how and how often an instrument or a rig is checked between calibrations."""

from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from calibration.actions.calibrations import LONGEST
from calibration.domain.units import UNITS
from calibration.models import CheckKind, CheckPlan
from calibration.queries.check_subjects import UNIT_OF_KIND, Subject, locked, plan_in_force
from labsite.ledger.actions import record_entry
from labsite.ledger.models import User
from labsite.ledger.refusals import Refused


@transaction.atomic
def plan_check(
    *,
    by: User,
    at: datetime,
    subject: Subject,
    kind: str,
    every_days: int | None,
    unit: str,
    procedure: str,
    source: str,
    reference: Decimal | None = None,
    error_low: Decimal | None = None,
    error_high: Decimal | None = None,
) -> CheckPlan:
    """Plan a check of one kind; the newest plan of a kind holds. Without `every_days` the check is before use."""
    made = CheckKind(kind)
    subject = locked(subject)
    unit = UNIT_OF_KIND.get(made, unit)
    _check(subject, made, every_days=every_days, unit=unit, reference=reference, low=error_low, high=error_high)
    for field, text in (("procedure", procedure), ("source", source)):
        if not text.strip():
            raise Refused("Write it; a check is made and judged by it.", field=field)
    before = plan_in_force(subject, made, at)
    numbers: dict[str, Any] = {"reference": reference, "error_low": error_low, "error_high": error_high}
    plan = CheckPlan.objects.create(
        instrument=subject.instrument,
        rig=subject.rig,
        kind=made,
        every_days=every_days,
        **numbers,
        unit=unit,
        procedure=procedure.strip(),
        source=source.strip(),
        made_at=at,
        made_by=by,
    )
    data = {"check": plan.get_kind_display(), "plan before": _facts(before), "plan": _facts(plan)}
    record_entry(book=subject.book, act="planned a check", by=by, at=at, data=data)
    return plan


@transaction.atomic
def end_plan(*, by: User, at: datetime, subject: Subject, kind: str, reason: str) -> CheckPlan:
    """End the plan of one kind: from now on this check is neither due nor has limits of its own."""
    subject = locked(subject)
    plan = plan_in_force(subject, kind, at)
    if plan is None:
        raise Refused(f"No check of this kind is planned for {subject.code}.")
    if not reason.strip():
        raise Refused("Write the reason; it stands in the ledger.", field="reason")
    before = _facts(plan)
    plan.pk, plan.ended, plan.made_at, plan.made_by = None, True, at, by
    plan.save(force_insert=True)
    data = {"check": plan.get_kind_display(), "plan before": before, "reason": reason.strip()}
    record_entry(book=subject.book, act="ended the plan of a check", by=by, at=at, data=data)
    return plan


def _check(
    subject: Subject,
    kind: CheckKind,
    *,
    every_days: int | None,
    unit: str,
    reference: Decimal | None,
    low: Decimal | None,
    high: Decimal | None,
) -> None:
    if kind not in subject.kinds:
        raise Refused(f"“{kind.label}” is no check of {subject.code}.")
    if unit not in UNITS:
        raise Refused("Choose the unit.", field="unit")
    if every_days is not None and not 1 <= every_days <= LONGEST["days"]:
        raise Refused(f"A check every {every_days} days is outside 1 to {LONGEST['days']} days.", field="every_days")
    if low is not None and high is not None and low > high:
        raise Refused("The lowest error allowed is above the highest.", field="error_low")
    if kind == CheckKind.AGREEMENT and (low is not None or high is not None):
        raise Refused("Agreement is judged by E_n; leave the error limits empty.", field="error_low")
    if kind == CheckKind.FLAME and reference is None:
        raise Refused("Write the seconds the copper block is to take.", field="reference")
    if (kind == CheckKind.FLAME or subject.rig is not None) and low is None and high is None:
        raise Refused("A rig has no permitted error of its own: write which errors are allowed.", field="error_low")


def _facts(plan: CheckPlan | None) -> dict[str, Any]:
    if plan is None:
        return {}
    numbers = {"reference": plan.reference, "error low": plan.error_low, "error high": plan.error_high}
    return {
        "every days": plan.every_days,
        "unit": plan.unit,
        "procedure": plan.procedure,
        "source": plan.source,
    } | {name: f"{value:f}" for name, value in numbers.items() if value is not None}

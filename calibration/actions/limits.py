"""Setting what is permitted of an instrument, and ending it; the newest row of a unit holds."""

from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from calibration.domain.conformity import RULES
from calibration.domain.units import UNITS
from calibration.models import Instrument, InstrumentLimit
from calibration.queries.limits import error_limit, limits_of
from labsite.ledger.actions import record_entry
from labsite.ledger.models import User
from labsite.ledger.refusals import Refused


@transaction.atomic
def set_limit(
    *,
    by: User,
    at: datetime,
    instrument: Instrument,
    unit: str,
    source: str,
    absolute: Decimal | None = None,
    relative: Decimal | None = None,
    low: Decimal | None = None,
    high: Decimal | None = None,
    drift_allowance: Decimal | None = None,
    decision_rule: str = "simple acceptance",
    guard_factor: Decimal | None = None,
) -> InstrumentLimit:
    """State the largest error permitted in one unit from `at` on: the larger of `absolute` and `relative` x |value|."""
    instrument = Instrument.objects.select_for_update(of=("self",)).get(pk=instrument.pk)
    _check_unit_and_rule(unit, decision_rule, guard_factor)
    if absolute is None and relative is None:
        raise Refused("Write what is permitted: a figure, a share of the value, or both.", field="absolute")
    named = {"absolute": absolute, "relative_percent": relative, "drift_allowance": drift_allowance}
    for name, figure in named.items():
        if figure is not None and figure < 0:
            raise Refused("What is permitted is not below zero.", field=name)
    if low is not None and high is not None and low >= high:
        raise Refused(f"The range ends at {high}, which is not above its beginning, {low}.", field="high")
    before = limits_of([instrument.pk], at)[instrument.pk].get(unit)
    figures: dict[str, Any] = {
        "low": low,
        "high": high,
        "absolute": absolute,
        "relative": relative,
        "drift_allowance": drift_allowance,
        "guard_factor": guard_factor if decision_rule == "guard band" else None,
    }
    made = InstrumentLimit.objects.create(
        **figures,
        instrument=instrument,
        unit=unit,
        decision_rule=decision_rule,
        source=source.strip(),
        made_at=at,
        made_by=by,
    )
    data = {"unit": unit, "before": _facts(before), "after": _facts(made)}
    record_entry(book=instrument.book, act=f"set the limit in {unit}", by=by, at=at, data=data)
    return made


@transaction.atomic
def end_limit(*, by: User, at: datetime, limit: InstrumentLimit, reason: str) -> InstrumentLimit:
    """From `at` on nothing is stated as permitted in this limit's unit; what was stays in the history."""
    instrument = Instrument.objects.select_for_update(of=("self",)).get(pk=limit.instrument_id)
    present = limits_of([instrument.pk], at)[instrument.pk].get(limit.unit)
    if present is None or present.pk != limit.pk:
        raise Refused(
            f"This limit of {instrument.code} in {limit.unit} does not hold any more; look at its page again."
        )
    if not reason.strip():
        raise Refused("Write the reason; it stands in the history of the limits.", field="reason")
    made = InstrumentLimit.objects.create(
        instrument=instrument, unit=limit.unit, source=reason.strip(), ended=True, made_at=at, made_by=by
    )
    data = {"unit": limit.unit, "before": _facts(present), "after": _facts(None), "reason": made.source}
    record_entry(book=instrument.book, act=f"ended the limit in {limit.unit}", by=by, at=at, data=data)
    return made


def _check_unit_and_rule(unit: str, rule: str, guard_factor: Decimal | None) -> None:
    if unit not in UNITS:
        raise Refused(f"“{unit}” is none of the units used here: {', '.join(UNITS)}.", field="unit")
    if rule not in RULES:
        raise Refused(f"An instrument is judged by one of these rules: {', '.join(RULES)}.", field="decision_rule")
    if rule == "guard band" and guard_factor is None:
        raise Refused("A guard band needs its factor r; w = r U.", field="guard_factor")
    if guard_factor is not None and guard_factor < -1:
        raise Refused("A factor is -1 or more: a guard band is at most U beyond the limit.", field="guard_factor")


def _facts(row: InstrumentLimit | None) -> dict[str, Any]:
    """A limit as the ledger keeps it; the same names whether there is one or not."""
    if row is None:
        return dict.fromkeys(("permitted", "rule", "drift allowance", "source"), "")
    factor = "" if row.guard_factor is None else f", r = {row.guard_factor:f}"
    return {
        "permitted": error_limit(row).words,
        "rule": f"{row.decision_rule}{factor}",
        "drift allowance": "" if row.drift_allowance is None else f"{row.drift_allowance:f}",
        "source": row.source,
    }

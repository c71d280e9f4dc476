"""Whether a specimen is as thick as it is called: a result is written for a nominal thickness."""

from decimal import Decimal

from trials.domain.criteria import Criterion, digits, with_unit
from trials.domain.records import TrialRecord
from trials.domain.statements import Parameter


def thicknesses(record: TrialRecord) -> tuple[Decimal, Decimal] | None:
    """Return the nominal and the measured thickness in mm as typed; None while one of both is not recorded."""
    nominal, measured = record.figure("nominal_mm"), record.figure("thickness_mm")
    return (nominal, measured) if isinstance(nominal, Decimal) and isinstance(measured, Decimal) else None


def nominal_criterion(key: str, what: str, nominal: Decimal, measured: Decimal, allowed: Parameter) -> Criterion:
    """Return whether a specimen is as thick as it is called, by the parameter with what it may be off in mm.

    Too far off, one of the two figures is wrong and nobody knows which: unknown, until it is corrected. `what` is the
    specimen inside a sentence ("the bar").
    """
    off_mm = abs(measured - nominal)
    holds = True if allowed.admits(off_mm) else None
    thick = with_unit(measured, "mm")
    why = f"{what} measures {thick}, {digits(off_mm)} mm off its nominal {with_unit(nominal, 'mm')}"
    reason = "" if holds else f"{why}, {allowed.limit_text} is allowed; correct the one or the other"
    limit = f"{digits(nominal)} mm, off by {allowed.limit_text}"
    return Criterion(key, "As thick as it is called", thick, limit, holds, reason, allowed.source, allowed.certainty)

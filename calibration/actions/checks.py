"""Recording intermediate checks, and striking them out; one that failed takes its instrument out of service at once."""

from datetime import datetime
from typing import Any

from django.db import transaction

from calibration.actions.calibrations import EARLIEST
from calibration.actions.check_judging import CheckValues, judge_check
from calibration.actions.instruments import OUT_OF_SERVICE, change_service
from calibration.domain.checks import CheckError, Judged
from calibration.domain.status import shown
from calibration.models import CheckKind, Instrument, IntermediateCheck
from calibration.queries.check_subjects import Subject, locked, subject_of
from calibration.queries.instruments import service_history
from calibration.queries.known_facts import rig_facts
from calibration.queries.usability import usability
from labsite.ledger.actions import record_entry
from labsite.ledger.models import Role, User
from labsite.ledger.queries import laboratory_day
from labsite.ledger.refusals import Refused
from labsite.ledger.wording import mid_sentence


@transaction.atomic
def record_check(
    *,
    by: User,
    at: datetime,
    subject: Subject,
    kind: str,
    values: CheckValues,
    checked_at: datetime | None = None,
    compared_with: Instrument | None = None,
    remarks: str = "",
) -> IntermediateCheck:
    """Record a check, made now unless another moment is said; it is judged here and never changed afterwards.

    If it failed, the instrument goes out of service, or the rig out of use, in the same transaction.
    """
    made, moment, subject = CheckKind(kind), checked_at or at, locked(subject, compared_with)
    if made not in subject.kinds:
        raise Refused(f"“{made.label}” is no check of {subject.code}.")
    _check_moment(moment, at)
    if compared_with is not None:
        _check_other(subject, compared_with, moment)
    try:
        judged = judge_check(subject, made, values, compared_with=compared_with, at=at, checked_at=moment)
    except CheckError as wrong:
        raise Refused(str(wrong), field=wrong.field or None) from wrong
    check = IntermediateCheck.objects.create(
        instrument=subject.instrument,
        rig=subject.rig,
        compared_with=compared_with,
        kind=made,
        checked_at=moment,
        **_numbers(judged),
        unit=judged.unit,
        passed=judged.passed,
        sentence=judged.sentence,
        readings=[dict(reading) for reading in judged.readings],
        remarks=_remarks(remarks, values),
        entered_at=at,
        entered_by=by,
    )
    data = _facts(check, judged)
    entries = [(subject.book, "recorded a check", data)]
    if compared_with is not None:
        told = {"check": f"{subject.code}, {made.label}", "checked at": data["checked at"]}
        entries.append((compared_with.book, "served a check", told))
    for book, act, facts in sorted(entries, key=lambda entry: entry[0]):  # in one order: nobody waits in a circle
        record_entry(book=book, act=act, by=by, at=at, data=facts)
    if not judged.passed:
        _take_out(subject, check, by=by, at=at)
    return check


@transaction.atomic
def strike_check(*, by: User, at: datetime, check: IntermediateCheck, reason: str) -> IntermediateCheck:
    """Strike out a check that was recorded by mistake; it stays readable. What it took out of service stays out."""
    check = (
        IntermediateCheck.objects.select_for_update(of=("self",)).select_related("instrument", "rig").get(pk=check.pk)
    )
    if not by.may(Role.QUALITY):
        raise Refused("Only the quality keeper strikes out a check.")
    if check.struck_at is not None:
        raise Refused(f"This check was already struck out by {check.struck_by}: {check.struck_reason}")
    if not reason.strip():
        raise Refused("Write the reason; it stands beside the check from now on.", field="reason")
    check.struck_at, check.struck_by, check.struck_reason = at, by, reason.strip()
    check.save(update_fields=["struck_at", "struck_by", "struck_reason"])
    data = {
        "check": check.get_kind_display(),
        "checked at": check.checked_at.isoformat(),
        "sentence": check.sentence,
        "reason": check.struck_reason,
    }
    record_entry(book=subject_of(check).book, act="struck out a check", by=by, at=at, data=data)
    return check


def _check_moment(moment: datetime, at: datetime) -> None:
    if moment > at:
        raise Refused("This moment is still to come; a check is recorded after it was made.", field="checked_at")
    if laboratory_day(moment) < EARLIEST:
        day = shown(laboratory_day(moment))
        raise Refused(f"{day} is before {shown(EARLIEST)}; look at the year again.", field="checked_at")


def _check_other(subject: Subject, other: Instrument, moment: datetime) -> None:
    if subject.instrument == other:
        raise Refused(f"{other.code} cannot be compared with itself.", field="compared_with")
    answer = usability(other, moment)
    if not answer.usable:
        raise Refused(
            f"{other.code} must not be used, so nothing is checked with it: {answer.clause}.", field="compared_with"
        )


def _take_out(subject: Subject, check: IntermediateCheck, *, by: User, at: datetime) -> None:
    day = shown(laboratory_day(check.checked_at))
    reason = f"check of {day} failed: {mid_sentence(check.sentence)}"[:300]
    if subject.instrument is not None:
        last = service_history(subject.instrument, at).first()
        if last is None or last.state != OUT_OF_SERVICE:
            change_service(by=by, at=at, instrument=subject.instrument, state=OUT_OF_SERVICE, reason=reason)
    elif subject.rig is not None and subject.rig.in_use:
        rig, before = subject.rig, rig_facts(subject.rig)
        rig.in_use = False
        rig.version += 1
        rig.save(update_fields=["in_use", "version"])
        data = {"before": before, "after": rig_facts(rig), "reason": reason}
        record_entry(book=rig.book, act="took the rig out of use", by=by, at=at, data=data)


def _remarks(remarks: str, values: CheckValues) -> str:
    parts = [remarks.strip()]
    if values.gravity_m_s2 is not None:
        parts.append(f"local g from {values.gravity_source.strip()}")
    return "; ".join(part for part in parts if part)[:300]


def _facts(check: IntermediateCheck, judged: Judged) -> dict[str, Any]:
    numbers = {name.replace("_", " "): f"{value:f}" for name, value in _numbers(judged).items() if value is not None}
    return {
        "check": check.get_kind_display(),
        "checked at": check.checked_at.isoformat(),
        "unit": judged.unit,
        "compared with": check.compared_with.code if check.compared_with else "",
        "passed": judged.passed,
        "sentence": judged.sentence,
        "readings": check.readings,
        "remarks": check.remarks,
    } | numbers


def _numbers(judged: Judged) -> dict[str, Any]:
    return {
        "reference": judged.reference,
        "indication": judged.indication,
        "reference_uncertainty": judged.reference_uncertainty,
        "indication_uncertainty": judged.indication_uncertainty,
        "error_low": judged.error_low,
        "error_high": judged.error_high,
        "e_n": judged.e_n,
    }

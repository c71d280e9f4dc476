"""Letting an overdue instrument be used for some days: a named person, a reason, an end."""

from datetime import date, datetime, timedelta

from django.db import transaction

from calibration.domain.status import Status, shown
from calibration.models import Instrument, UsePermit
from calibration.queries.usability import usability
from labsite.ledger.actions import record_entry
from labsite.ledger.models import Role, User
from labsite.ledger.queries import laboratory_day
from labsite.ledger.refusals import Refused

LONGEST_DAYS = 14
"""How far ahead a permit may end. Ours: longer than that, the instrument is calibrated or replaced."""


@transaction.atomic
def permit_use(*, by: User, at: datetime, instrument: Instrument, until_on: date, reason: str) -> UsePermit:
    """Let an overdue instrument be used to the end of a day; every trial with it says so, with the reason.

    Only a lead or the quality keeper does, and only for an instrument whose accepted calibration ran out: one that is
    out of service, rejected, never calibrated or awaiting verification is not helped by a permit.
    """
    instrument = Instrument.objects.select_for_update(of=("self",)).get(pk=instrument.pk)
    if not (by.may(Role.LEAD) or by.may(Role.QUALITY)):
        raise Refused("A lead or the quality keeper permits the use of an overdue instrument.")
    answer = usability(instrument, at)
    if answer.status not in (Status.OVERDUE, Status.PERMITTED) or answer.calibration_id is None:
        raise Refused(f"A permit is for an overdue instrument only. {instrument.code}: {answer.clause}.")
    if not reason.strip():
        raise Refused("Write the reason; every certificate that rests on it prints it.", field="reason")
    today = laboratory_day(at)
    if not today <= until_on <= today + timedelta(days=LONGEST_DAYS):
        last = shown(today + timedelta(days=LONGEST_DAYS))
        raise Refused(f"A permit ends between today and {last}; {shown(until_on)} is outside.", field="until_on")
    permit = UsePermit.objects.create(
        instrument=instrument,
        calibration_id=answer.calibration_id,
        reason=" ".join(reason.split()),
        until_on=until_on,
        given_at=at,
        given_by=by,
    )
    data = {"after": {"permit": permit.pk, "until": until_on.isoformat(), "reason": permit.reason}}
    record_entry(book=instrument.book, act="permitted use although overdue", by=by, at=at, data=data)
    return permit

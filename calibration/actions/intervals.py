"""Deciding on the interval of a calibration, with the numbers of the review kept beside the decision."""

from datetime import date, datetime

from django.db import transaction

from calibration.actions.calibrations import LONGEST
from calibration.domain.due import due_on, usable_until
from calibration.domain.status import shown
from calibration.models import Calibration, Instrument, IntervalDecision
from calibration.queries.instruments import calibration_history
from calibration.queries.interval_review import interval_review
from calibration.queries.usability import usability
from labsite.ledger.actions import record_entry
from labsite.ledger.models import User
from labsite.ledger.queries import laboratory_zone
from labsite.ledger.refusals import Refused


@transaction.atomic
def decide_interval(
    *, by: User, at: datetime, calibration: Calibration, interval: int, interval_unit: str, reason: str
) -> IntervalDecision:
    """From `at` on the calibration's interval is the decided one; a decision to keep it is one too.

    Refused for a calibration that does not speak for its instrument, and for a longer interval where the due day is
    already over: what was overdue is not made good afterwards.
    """
    instrument = Instrument.objects.select_for_update(of=("self",)).get(pk=calibration.instrument_id)
    answer = usability(instrument, at)
    review = interval_review(instrument, calibration_history(instrument, at), answer.calibration_id, at)
    if review is None or review.calibration.pk != calibration.pk:
        raise Refused(
            f"The calibration of {shown(calibration.calibrated_on)} does not speak for {instrument.code}: "
            f"{answer.clause}. An interval is decided on the calibration in force."
        )
    before = review.calibration.due_on
    after = _checked_due(review.calibration, interval, interval_unit)
    if not reason.strip():
        raise Refused("Write the reason; it stands beside the numbers from now on.", field="reason")
    if after > before and at >= usable_until(before, laboratory_zone()):
        raise Refused(
            f"{instrument.code} is overdue since {shown(before)}. A longer interval does not make that good: "
            "enter its next calibration.",
            field="interval",
        )
    decision = IntervalDecision.objects.create(
        calibration=calibration,
        interval=interval,
        interval_unit=interval_unit,
        reason=reason.strip(),
        numbers=review.proposal.numbers,
        at=at,
        by=by,
    )
    data = {
        "calibrated on": calibration.calibrated_on.isoformat(),
        "before": {"interval": f"{review.proposal.present} {review.proposal.unit}", "due on": before.isoformat()},
        "after": {"interval": f"{interval} {interval_unit}", "due on": after.isoformat()},
        "proposed": review.proposal.sentence,
        "reason": decision.reason,
    }
    record_entry(book=instrument.book, act="decided on the interval", by=by, at=at, data=data)
    return decision


def _checked_due(calibration: Calibration, interval: int, unit: str) -> date:
    longest = LONGEST.get(unit)
    if longest is None:
        raise Refused("The interval is in months or in days.", field="interval_unit")
    if not 1 <= interval <= longest:
        raise Refused(f"An interval of {interval} {unit} is outside 1 to {longest} {unit}.", field="interval")
    return due_on(calibration.calibrated_on, interval, unit)

"""The due days that lie before the laboratory, for reminders and calendars."""

from dataclasses import dataclass
from datetime import date, datetime

from calibration.domain.status import Status
from calibration.models import Instrument
from calibration.queries.usability import usabilities


@dataclass(frozen=True, slots=True)
class DueDay:
    """When the calibration an instrument rests on falls due."""

    instrument: Instrument
    calibration_id: int
    due_on: date
    status: Status


def due_days(at: datetime) -> list[DueDay]:
    """The due day of each instrument in service at `at`, as known then, soonest first; four reads.

    Left out is what has no due day: never calibrated, rejected, or back from calibration and not decided on; and what
    is out of service, which nobody is going to calibrate until it is put back.
    """
    instruments = list(Instrument.objects.filter(registered_at__lte=at).order_by("code"))
    answers = usabilities(instruments, at)
    found = []
    for instrument in instruments:
        answer = answers[instrument.pk]
        in_service = answer.status is not Status.OUT_OF_SERVICE
        if in_service and answer.due_on is not None and answer.calibration_id is not None:
            found.append(DueDay(instrument, answer.calibration_id, answer.due_on, answer.status))
    return sorted(found, key=lambda one: (one.due_on, one.instrument.code.casefold()))

"""Whether the rig of a job and the instruments chosen for a trial may be used at this moment."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import NamedTuple

from calibration.models import Instrument, Rig
from calibration.queries.check_subjects import locked_instruments
from calibration.queries.commissioning import rig_use
from calibration.queries.usability import usabilities
from labsite.ledger.refusals import Refused
from trials.domain.methods.base import MethodEdition
from trials.models import Job


class ChosenInstrument(NamedTuple):
    """An instrument chosen for a role: the calibration it is used by, its due day, and the permit where overdue."""

    instrument: Instrument
    calibration_id: int
    due_on: date
    permit_id: int | None


def refuse_rig(job: Job, edition: MethodEdition, at: datetime) -> None:
    """Refused with a sentence unless the job's rig is of the method's kind and may be used at `at`.

    The rig stays locked, as instruments do; they come first here and wherever both are locked.
    """
    if job.rig.kind != edition.rig_kind:
        raise Refused(
            f"{job.rig.code} is a rig for {job.rig.kind}; {edition.short_standard} asks for {edition.rig_kind}."
        )
    use = rig_use([Rig.objects.select_for_update(of=("self",)).get(pk=job.rig_id)], at)[job.rig_id]
    if not use.may:
        raise Refused(f"{job.rig.code} is {use.clause}. A lead can hand the job to another rig.")


def usable_instruments(
    edition: MethodEdition, instruments: Mapping[str, Instrument | None], at: datetime
) -> dict[str, ChosenInstrument]:
    """For each role the instrument chosen, with what it is used by; refused with a sentence where it must not be.

    They stay locked to the end of the transaction: what takes one out of service comes before, or after.
    """
    answers = usabilities(locked_instruments({one.pk for one in instruments.values() if one is not None}), at)
    chosen: dict[str, ChosenInstrument] = {}
    for need in edition.instruments:
        instrument = instruments.get(need.role)
        field = role_field(need.role)
        if instrument is None:
            if need.required:
                raise Refused(f"No {need.role} is chosen; {edition.short_standard} needs one.", field=field)
            continue
        if instrument.kind != need.kind:
            raise Refused(f"{instrument.code} is no {need.kind}; it cannot be the {need.role}.", field=field)
        answer = answers[instrument.pk]
        if not answer.usable or answer.calibration_id is None or answer.due_on is None:
            raise Refused(f"{instrument.code} must not be used now. {answer.reason}", field=field)
        chosen[need.role] = ChosenInstrument(instrument, answer.calibration_id, answer.due_on, answer.permit_id)
    return chosen


def role_field(role: str) -> str:
    """The name of the form field in which the instrument of a role is chosen."""
    return f"instrument_{role.replace(' ', '_')}"

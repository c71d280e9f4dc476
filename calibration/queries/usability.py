"""May these instruments be used at a moment: a constant number of reads for any number of them."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from calibration.domain.status import (
    CalibrationFact,
    Decision,
    PermitFact,
    ServiceFact,
    Standing,
    Status,
    permitted,
    standing,
)
from calibration.models import Calibration, Instrument, ServiceChange, UsePermit
from labsite.ledger.queries import laboratory_zone

_DECISIONS = {
    Calibration.Decision.ACCEPTED: Decision.ACCEPTED,
    Calibration.Decision.REJECTED: Decision.REJECTED,
    Calibration.Decision.MISTAKEN: Decision.MISTAKEN,
}


@dataclass(frozen=True, slots=True)
class Usability:
    """The answer for one instrument. `reason` is a sentence, `clause` the same to follow a colon.

    `due_on` and `calibration_id` belong to the accepted calibration the answer rests on, None without one.
    """

    usable: bool
    reason: str
    due_on: date | None
    calibration_id: int | None
    status: Status
    clause: str
    permit_id: int | None = None


def usability(instrument: Instrument, at: datetime) -> Usability:
    """Whether `instrument` may be used at `at`, from what was known then."""
    return usabilities([instrument], at)[instrument.pk]


def usabilities(instruments: Iterable[Instrument], at: datetime) -> dict[int, Usability]:
    """The same for many, by their primary keys; three reads however many there are, four where one is overdue."""
    keys = [instrument.pk for instrument in instruments]
    zone, service, calibrations = laboratory_zone(), _service_facts(keys), _calibration_facts(keys, at)
    found = {key: standing(service[key], calibrations[key], at=at, zone=zone) for key in keys}
    overdue = [key for key, one in found.items() if one.status is Status.OVERDUE]
    permits = _permit_facts(overdue, at) if overdue else {}
    return {key: _answer(permitted(one, permits.get(key, ()), at=at, zone=zone)) for key, one in found.items()}


def _answer(found: Standing) -> Usability:
    return Usability(
        found.usable, found.reason, found.due_on, found.calibration_id, found.status, found.clause, found.permit_id
    )


def _permit_facts(keys: list[int], at: datetime) -> dict[int, list[PermitFact]]:
    facts = defaultdict(list)
    rows = UsePermit.objects.filter(instrument_id__in=keys, given_at__lte=at)
    for row in rows.select_related("given_by"):
        facts[row.instrument_id].append(
            PermitFact(row.pk, row.calibration_id, row.given_at, row.until_on, str(row.given_by), row.reason)
        )
    return facts


def _service_facts(keys: list[int]) -> dict[int, list[ServiceFact]]:
    facts = defaultdict(list)
    for row in ServiceChange.objects.filter(instrument_id__in=keys).order_by("at", "pk"):
        in_service = row.state == ServiceChange.State.IN_SERVICE
        facts[row.instrument_id].append(ServiceFact(row.at, in_service, row.reason))
    return facts


def _calibration_facts(keys: list[int], at: datetime) -> dict[int, list[CalibrationFact]]:
    facts = defaultdict(list)
    for row in Calibration.objects.with_interval_at(at).filter(instrument_id__in=keys):
        facts[row.instrument_id].append(
            CalibrationFact(
                id=row.pk,
                calibrated_on=row.calibrated_on,
                due_on=row.due_on,
                entered_at=row.entered_at,
                decision=_DECISIONS.get(Calibration.Decision(row.decision)),
                decided_at=row.decided_at,
                reason=row.decision_reason,
            )
        )
    return facts

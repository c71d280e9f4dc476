"""Entering a calibration and deciding on its figures."""

from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any, NotRequired, TypedDict, Unpack

from django.db import transaction

from calibration.actions.certificate_files import (
    DATA_MEDIA_TYPE,
    DataFile,
    Upload,
    read_certificate,
    read_data_file,
)
from calibration.domain.due import due_on
from calibration.domain.status import shown
from calibration.domain.units import UNITS
from calibration.models import Calibration, CalibrationPoint, Instrument, InstrumentKind
from calibration.queries.acceptance import Acceptance, acceptance_of
from labsite.ledger.actions import keep_file, record_entry
from labsite.ledger.models import StoredFile, User
from labsite.ledger.queries import laboratory_day
from labsite.ledger.refusals import Refused
from labsite.ledger.wording import mid_sentence

EARLIEST = date(1990, 1, 1)
LONGEST = {"months": 120, "days": 3660}
Decision = Calibration.Decision
_YES_NO = {True: "yes", False: "no", None: ""}
_ACTS = {
    Decision.ACCEPTED: "accepted the calibration",
    Decision.REJECTED: "rejected the calibration",
    Decision.MISTAKEN: "struck out a calibration entered by mistake",
}


class PointValues(TypedDict):
    """One compared point as typed."""

    kind: str
    reference: Decimal
    indication: Decimal
    unit: str
    expanded_uncertainty: Decimal | None
    coverage_factor: Decimal | None
    coverage_probability: NotRequired[Decimal | None]


class CertificateFacts(TypedDict, total=False):
    """What an incoming certificate says beside its points; what it does not say is left out, None or empty."""

    issued_on: date | None
    received_on: date | None
    route: str
    route_evidence: str
    in_scope: bool | None
    serial_on_certificate: str
    adjusted: bool | None
    chain_with: Instrument | None
    standard: Instrument | None


@transaction.atomic
def enter_calibration(
    *,
    by: User,
    at: datetime,
    instrument: Instrument,
    calibrated_on: date,
    interval: int,
    interval_unit: str,
    calibrated_by: str,
    accreditation_number: str = "",
    certificate_number: str = "",
    certificate: Upload | None = None,
    remarks: str = "",
    points: Sequence[PointValues] = (),
    data_file: DataFile | None = None,
    **certificate_facts: Unpack[CertificateFacts],
) -> Calibration:
    """Enter a calibration with its certificate. It awaits verification: until accepted, the instrument is not used."""
    instrument = Instrument.objects.select_for_update(of=("self",)).get(pk=instrument.pk)
    _check_dates(calibrated_on, interval, interval_unit, today=laboratory_day(at))
    _check_new(instrument, certificate_number)
    _check_units(points)
    _check_partners(instrument, certificate_facts)
    file = None if certificate is None else _kept(certificate, by=by, at=at)
    calibration = Calibration.objects.create(
        instrument=instrument,
        calibrated_on=calibrated_on,
        interval=interval,
        interval_unit=interval_unit,
        calibrated_by=calibrated_by,
        accreditation_number=accreditation_number,
        certificate_number=certificate_number,
        certificate=file,
        data_file=None if data_file is None else _kept_data(data_file, instrument, by=by, at=at),
        remarks=remarks,
        entered_at=at,
        entered_by=by,
        **certificate_facts,
    )
    CalibrationPoint.objects.bulk_create(CalibrationPoint(calibration=calibration, **point) for point in points)
    data = {"after": _facts(calibration, points)}
    record_entry(book=instrument.book, act="entered a calibration", by=by, at=at, data=data)
    return calibration


@transaction.atomic
def decide_calibration(
    *, by: User, at: datetime, calibration: Calibration, decision: str, reason: str = "", shown_checks: str = ""
) -> Calibration:
    """Accept a calibration's figures, reject them, or strike out an entry made by mistake; once only.

    The checks of the certificate are kept with the decision as they stand at `at`; accepting needs a reason where one
    is not ok. `shown_checks` is the fingerprint of those the person saw.
    """
    calibration = (
        Calibration.objects.select_for_update(of=("self",)).select_related("instrument").get(pk=calibration.pk)
    )
    made = Decision(decision)
    if made == Decision.AWAITS:
        raise Refused("Say whether the figures are accepted or rejected.", field="decision")
    if calibration.decision != Decision.AWAITS:
        words = mid_sentence(str(Decision(calibration.decision).label))
        raise Refused(
            f"The calibration of {shown(calibration.calibrated_on)} is already decided: {words}, "
            f"by {calibration.decided_by}. A new calibration follows it; a decision is never changed."
        )
    checks = acceptance_of(calibration, at)
    if shown_checks and shown_checks != checks.fingerprint:
        raise Refused("The checks came out otherwise since this page was opened. Look at them again, then decide.")
    _check_reason(made, reason, checks)
    calibration.acceptance = checks.as_kept
    calibration.decision, calibration.decision_reason = made, reason.strip()
    calibration.decided_at, calibration.decided_by = at, by
    calibration.save(update_fields=["decision", "decision_reason", "decided_at", "decided_by", "acceptance"])
    data = {
        "calibrated on": calibration.calibrated_on.isoformat(),
        "certificate number": calibration.certificate_number,
        "before": str(Decision.AWAITS.value),
        "after": str(made.value),
        "reason": calibration.decision_reason,
        "entered by": calibration.entered_by.username,
        "checks": {one.key: one.answer for one in checks.checks},
    }
    record_entry(book=calibration.instrument.book, act=_ACTS[made], by=by, at=at, data=data)
    return calibration


def _check_reason(made: Calibration.Decision, reason: str, checks: Acceptance) -> None:
    if reason.strip():
        return
    if made != Decision.ACCEPTED:
        raise Refused("Write the reason; it stands on the instrument's page from now on.", field="reason")
    if checks.not_ok:
        sentences = " ".join(one.sentence for one in checks.not_ok)
        raise Refused(f"Write why it is accepted all the same. {sentences}", field="reason")


def _check_dates(calibrated_on: date, interval: int, unit: str, *, today: date) -> None:
    if calibrated_on > today:
        sentence = f"{shown(calibrated_on)} is in the future; today is {shown(today)} here."
        raise Refused(sentence, field="calibrated_on")
    if calibrated_on < EARLIEST:
        sentence = f"{shown(calibrated_on)} is before {shown(EARLIEST)}; look at the year again."
        raise Refused(sentence, field="calibrated_on")
    longest = LONGEST.get(unit)
    if longest is None:
        raise Refused("The interval is in months or in days.", field="interval_unit")
    if not 1 <= interval <= longest:
        raise Refused(f"An interval of {interval} {unit} is outside 1 to {longest} {unit}.", field="interval")


def _check_units(points: Sequence[PointValues]) -> None:
    for point in points:
        if point["unit"] not in UNITS:
            raise Refused(f"“{point['unit']}” is none of the units used here: {', '.join(UNITS)}.")


def _check_partners(instrument: Instrument, facts: CertificateFacts) -> None:
    """An instrument is no standard for itself, and a chain is made with an indicator."""
    chain, standard = facts.get("chain_with"), facts.get("standard")
    if chain is not None and (chain == instrument or chain.kind != InstrumentKind.INDICATOR):
        raise Refused("A chain is calibrated with a temperature indicator, another instrument.", field="chain_with")
    if standard is not None and standard == instrument:
        raise Refused(f"{instrument.code} is no standard for itself.", field="standard")


def _check_new(instrument: Instrument, certificate_number: str) -> None:
    """The same certificate is entered once, unless the first entry was rejected or struck out."""
    if not certificate_number:
        return
    standing = (Decision.AWAITS, Decision.ACCEPTED)
    same = instrument.calibrations.filter(certificate_number__iexact=certificate_number, decision__in=standing).first()
    if same is not None:
        raise Refused(
            f"Certificate {certificate_number} is already entered for {instrument.code}, "
            f"calibrated on {shown(same.calibrated_on)}.",
            field="certificate_number",
        )


def _kept(upload: Upload, *, by: User, at: datetime) -> StoredFile:
    name, media_type, content = read_certificate(upload)
    return keep_file(name=name, media_type=media_type, content=content, by=by, at=at)


def _kept_data(data: DataFile, instrument: Instrument, *, by: User, at: datetime) -> StoredFile:
    """The digital certificate byte for byte, looked at once more: the instrument may have changed meanwhile."""
    read_data_file(data.name, data.content, serial_number=instrument.serial_number)
    return keep_file(name=data.name, media_type=DATA_MEDIA_TYPE, content=data.content, by=by, at=at)


def _facts(calibration: Calibration, points: Sequence[PointValues]) -> dict[str, Any]:
    file = calibration.certificate
    return {
        "calibrated on": calibration.calibrated_on.isoformat(),
        "interval": f"{calibration.interval} {calibration.interval_unit}",
        "due on": due_on(calibration.calibrated_on, calibration.interval, calibration.interval_unit).isoformat(),
        "calibrated by": calibration.calibrated_by,
        "accreditation number": calibration.accreditation_number,
        "certificate number": calibration.certificate_number,
        "certificate file": file.sha256 if file else "",
        "digital certificate": calibration.data_file.sha256 if calibration.data_file else "",
        "remarks": calibration.remarks,
        **_certificate_facts(calibration),
        "points": [{name: "" if value is None else str(value) for name, value in point.items()} for point in points],
    }


def _certificate_facts(calibration: Calibration) -> dict[str, str]:
    """What was said of the certificate; what was not said is left out."""
    facts = {
        "issued on": calibration.issued_on,
        "received on": calibration.received_on,
        "route": calibration.route,
        "route evidence": calibration.route_evidence,
        "in scope": _YES_NO[calibration.in_scope],
        "serial number on the certificate": calibration.serial_on_certificate,
        "adjusted": _YES_NO[calibration.adjusted],
        "calibrated with": calibration.chain_with.code if calibration.chain_with else "",
        "standard": calibration.standard.code if calibration.standard else "",
    }
    return {name: str(value) for name, value in facts.items() if value}

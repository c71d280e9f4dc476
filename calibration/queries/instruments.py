"""Instruments and their histories, as they were known at a moment."""

from collections.abc import Iterable
from datetime import datetime

from django.db.models import Q, QuerySet

from calibration.domain.status import Status
from calibration.models import Calibration, Instrument, Mounting, ServiceChange
from calibration.queries.usability import usabilities
from labsite.ledger.models import StoredFile

NEEDS_A_HAND = (Status.OVERDUE, Status.PERMITTED, Status.AWAITS, Status.REJECTED, Status.NEVER)


def all_instruments() -> QuerySet[Instrument]:
    """Every instrument with its place, by code."""
    return Instrument.objects.select_related("place", "registered_by").order_by("code")


def hands_needed_count(at: datetime) -> int:
    """How many instruments need a hand at `at`: overdue, awaiting verification, rejected or never calibrated."""
    answers = usabilities(Instrument.objects.filter(registered_at__lte=at), at)
    return sum(answer.status in NEEDS_A_HAND for answer in answers.values())


def calibration_history(instrument: Instrument, at: datetime) -> list[Calibration]:
    """The instrument's calibrations entered by `at` with people, points and the certificate's name, newest first.

    Two reads. One that was decided later awaits its decision; the rows are to look at, never to save.
    """
    rows = (
        instrument.calibrations.with_interval_at(at)
        .filter(entered_at__lte=at)
        .select_related("entered_by", "decided_by", "certificate")
    )
    history = rows.defer("certificate__content").prefetch_related("points")
    return [calibration_as_known(row, at) for row in history.order_by("-calibrated_on", "-entered_at", "-pk")]


def calibration_as_known(calibration: Calibration, at: datetime) -> Calibration:
    """The same row as it stood at `at`: a decision made later is not made yet. To look at, never to save."""
    if calibration.decided_at is not None and calibration.decided_at > at:
        calibration.decision, calibration.decision_reason = Calibration.Decision.AWAITS, ""
        calibration.decided_at, calibration.decided_by, calibration.acceptance = None, None, {}
    return calibration


def calibrations_with_instruments() -> QuerySet[Calibration]:
    """Calibrations for a page of their own."""
    return Calibration.objects.select_related("instrument", "entered_by", "decided_by").prefetch_related("points")


def awaiting_decision(calibrations: list[Calibration]) -> Calibration | None:
    """Of a history, the newest calibration nobody has decided on."""
    return next((calibration for calibration in calibrations if calibration.awaits), None)


def certificate_file(calibration_id: int) -> QuerySet[StoredFile]:
    """The certificate kept with a calibration, if any."""
    return StoredFile.objects.filter(pk__in=Calibration.objects.filter(pk=calibration_id).values("certificate"))


def data_file(calibration_id: int) -> QuerySet[StoredFile]:
    """The digital certificate kept with a calibration, if any."""
    return StoredFile.objects.filter(pk__in=Calibration.objects.filter(pk=calibration_id).values("data_file"))


def service_history(instrument: Instrument, at: datetime) -> QuerySet[ServiceChange]:
    """When the instrument was taken out of service and put back up to `at`, latest first."""
    return instrument.service_changes.filter(at__lte=at).select_related("by").order_by("-at", "-pk")


def mountings_of(instrument: Instrument, at: datetime) -> list[Mounting]:
    """Where the instrument was mounted up to `at`, latest first; rows to look at, never to save."""
    rows = instrument.mountings.filter(mounted_at__lte=at).select_related("rig", "mounted_by", "removed_by")
    return [mounting_as_known(row, at) for row in rows.order_by("-mounted_at", "-pk")]


def mounting_as_known(mounting: Mounting, at: datetime) -> Mounting:
    """The same row as it stood at `at`: what was taken off later is still on. To look at, never to save."""
    if mounting.removed_at is not None and mounting.removed_at > at:
        mounting.removed_at, mounting.removed_by = None, None
    return mounting


def mountings_at(at: datetime) -> QuerySet[Mounting]:
    """What was mounted where at `at`."""
    mounted = Mounting.objects.filter(mounted_at__lte=at).exclude(removed_at__lte=at)
    return mounted.select_related("rig", "instrument").order_by("instrument__code")


def instruments_called(numbers: Iterable[str], rig_code: str, at: datetime) -> list[Instrument]:
    """The instruments with these numbers and those on this rig at `at`, by code; one read."""
    mounted = mountings_at(at).filter(rig__code=rig_code).order_by().values("instrument")
    return list(all_instruments().filter(Q(number__in=list(numbers)) | Q(pk__in=mounted)))

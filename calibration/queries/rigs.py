"""Rigs, what is mounted on them, and whether they stand ready."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from calibration.models import Instrument, Mounting, Rig
from calibration.queries.entries import LedgerLine, ledger_lines
from calibration.queries.instruments import mountings_at
from calibration.queries.usability import Usability, usabilities


@dataclass(frozen=True, slots=True)
class MountedInstrument:
    """An instrument on a rig and whether it may be used."""

    mounting: Mounting
    instrument: Instrument
    usability: Usability


@dataclass(frozen=True, slots=True)
class RigReadiness:
    """Whether a rig stands ready, with the record that blocks it as a sentence."""

    ready: bool
    reason: str
    mounted: tuple[MountedInstrument, ...]


def all_rigs() -> QuerySet[Rig]:
    """Every rig with its place, those in use first."""
    return Rig.objects.select_related("place").order_by("-in_use", "code")


def rigs_of_kind(kind: str) -> list[Rig]:
    """The rigs in use of one kind, by code."""
    return list(Rig.objects.filter(kind=kind, in_use=True).select_related("place").order_by("code"))


def instruments_on_rig(rig: Rig, at: datetime) -> list[Instrument]:
    """The instruments mounted on `rig` at `at`, by code."""
    return [mounting.instrument for mounting in mountings_at(at).filter(rig=rig)]


def rig_readiness(rigs: Iterable[Rig], at: datetime) -> dict[int, RigReadiness]:
    """Whether each rig stands ready at `at`, by primary key; four reads however many there are."""
    rigs = list(rigs)
    mountings = list(mountings_at(at).filter(rig__in=[rig.pk for rig in rigs]))
    answers = usabilities([mounting.instrument for mounting in mountings], at)
    by_rig = defaultdict(list)
    for mounting in mountings:
        by_rig[mounting.rig_id].append(
            MountedInstrument(mounting, mounting.instrument, answers[mounting.instrument_id])
        )
    return {rig.pk: _readiness(rig, tuple(by_rig[rig.pk])) for rig in rigs}


def past_mountings(rig: Rig) -> QuerySet[Mounting]:
    """What was taken off the rig, latest first."""
    taken_off = rig.mountings.filter(removed_at__isnull=False)
    return taken_off.select_related("instrument", "mounted_by", "removed_by").order_by("-removed_at", "-pk")


def mountings_on(rig: Rig) -> QuerySet[Mounting]:
    """What is or was mounted on the rig."""
    return rig.mountings.select_related("instrument", "rig")


def unmounted_instruments() -> QuerySet[Instrument]:
    """Instruments that are on no rig now, by code."""
    return Instrument.objects.exclude(mountings__in=Mounting.objects.filter(removed_at=None)).order_by("code")


def _readiness(rig: Rig, mounted: tuple[MountedInstrument, ...]) -> RigReadiness:
    blocking = [one for one in mounted if not one.usability.usable]
    if not rig.in_use:
        return RigReadiness(False, "It is taken out of use.", mounted)
    if not mounted:
        return RigReadiness(False, "No instrument is mounted on it.", mounted)
    if blocking:
        first = f"{blocking[0].instrument.code}: {blocking[0].usability.clause}"
        more = f"; {len(blocking) - 1} more of its instruments must not be used" if len(blocking) > 1 else ""
        return RigReadiness(False, f"{first}{more}.", mounted)
    many = "Its instrument is" if len(mounted) == 1 else f"All {len(mounted)} instruments are"
    return RigReadiness(True, f"{many} in calibration.", mounted)


@dataclass(frozen=True, slots=True)
class RigPage:
    """What the page of one rig shows."""

    rig: Rig
    readiness: RigReadiness
    past: tuple[Mounting, ...]
    entries: list[LedgerLine]


def rig_page(rig: Rig, at: datetime) -> RigPage:
    """A rig with what is and was mounted on it, the last fifty, and its entries."""
    return RigPage(rig, rig_readiness([rig], at)[rig.pk], tuple(past_mountings(rig)[:50]), ledger_lines(rig.book))

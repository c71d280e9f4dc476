"""Rigs, what is mounted on them, and whether they stand ready."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime

from django.db.models import QuerySet

from calibration.models import Commissioning, Instrument, Mounting, Rig
from calibration.queries.check_page import CheckSummary, check_summary
from calibration.queries.check_subjects import Subject
from calibration.queries.checks_due import check_warnings
from calibration.queries.commissioning import RigUse, commissionings_of, restrictions_of, rig_use
from calibration.queries.entries import LedgerLine, ledger_lines
from calibration.queries.instruments import mountings_at
from calibration.queries.known_facts import instruments_as_known, rigs_as_known
from calibration.queries.usability import Usability, usabilities


@dataclass(frozen=True, slots=True)
class MountedInstrument:
    """An instrument on a rig and whether it may be used."""

    mounting: Mounting
    instrument: Instrument
    usability: Usability


@dataclass(frozen=True, slots=True)
class RigReadiness:
    """Whether a rig stands ready, with the record that blocks it as a sentence; `use` answers for the rig itself.

    `warnings` are planned checks that are overdue, as lines; they block nothing.
    """

    ready: bool
    reason: str
    mounted: tuple[MountedInstrument, ...]
    use: RigUse
    warnings: tuple[str, ...] = ()


def all_rigs() -> QuerySet[Rig]:
    """Every rig with its place, those in use first."""
    return Rig.objects.select_related("place").order_by("-in_use", "code")


def rigs_known_at(at: datetime) -> list[Rig]:
    """Every rig its book knew by `at`, with its facts of then, those in use first; three reads."""
    known = [one.thing for one in rigs_as_known(all_rigs(), at).values() if one.sure]
    return sorted(known, key=lambda rig: (not rig.in_use, rig.code))


def rigs_of_kind(kind: str) -> list[Rig]:
    """The rigs in use of one kind, by code."""
    return list(Rig.objects.filter(kind=kind, in_use=True).select_related("place").order_by("code"))


def instruments_on_rig(rig: Rig, at: datetime) -> list[Instrument]:
    """The instruments mounted on `rig` at `at`, by code."""
    return [mounting.instrument for mounting in mountings_at(at).filter(rig=rig)]


def rig_readiness(rigs: Iterable[Rig], at: datetime, *, past: bool = False) -> dict[int, RigReadiness]:
    """Whether each rig stands ready at `at`, by primary key; five reads however many there are.

    With `past`, `at` is a moment gone by, and the instruments' facts changed since are taken back; two reads more.
    """
    rigs = list(rigs)
    mountings = list(mountings_at(at).filter(rig__in=[rig.pk for rig in rigs]))
    if past:
        _as_known_then(mountings, at)
        mountings.sort(key=lambda mounting: mounting.instrument.code)
    answers = usabilities([mounting.instrument for mounting in mountings], at)
    by_rig = defaultdict(list)
    for mounting in mountings:
        by_rig[mounting.rig_id].append(
            MountedInstrument(mounting, mounting.instrument, answers[mounting.instrument_id])
        )
    use = rig_use(rigs, at)
    overdue = check_warnings(rigs, mountings, at)
    return {
        rig.pk: replace(_readiness(use[rig.pk], tuple(by_rig[rig.pk])), warnings=overdue.get(rig.pk, ()))
        for rig in rigs
    }


def _as_known_then(mountings: Iterable[Mounting], at: datetime) -> None:
    mountings = list(mountings)
    known = instruments_as_known([mounting.instrument for mounting in mountings], at)
    for mounting in mountings:
        mounting.instrument = known[mounting.instrument_id].thing


def past_mountings(rig: Rig, at: datetime) -> QuerySet[Mounting]:
    """What was taken off the rig up to `at`, latest first."""
    taken_off = rig.mountings.filter(removed_at__lte=at)
    return taken_off.select_related("instrument", "mounted_by", "removed_by").order_by("-removed_at", "-pk")


def mountings_on(rig: Rig) -> QuerySet[Mounting]:
    """What is or was mounted on the rig."""
    return rig.mountings.select_related("instrument", "rig")


def unmounted_instruments() -> QuerySet[Instrument]:
    """Instruments that are on no rig now, by code."""
    return Instrument.objects.exclude(mountings__in=Mounting.objects.filter(removed_at=None)).order_by("code")


def _readiness(use: RigUse, mounted: tuple[MountedInstrument, ...]) -> RigReadiness:
    blocking = [one for one in mounted if not one.usability.usable]
    if not use.may:
        return RigReadiness(False, f"It is {use.clause}.", mounted, use)
    if not mounted:
        return RigReadiness(False, "No instrument is mounted on it.", mounted, use)
    if blocking:
        first = f"{blocking[0].instrument.code}: {blocking[0].usability.clause}"
        more = f"; {len(blocking) - 1} more of its instruments must not be used" if len(blocking) > 1 else ""
        return RigReadiness(False, f"{first}{more}.", mounted, use)
    many = "Its instrument is" if len(mounted) == 1 else f"All {len(mounted)} instruments are"
    return RigReadiness(True, f"{many} in calibration.", mounted, use)


@dataclass(frozen=True, slots=True)
class RigPage:
    """What the page of one rig shows."""

    rig: Rig
    readiness: RigReadiness
    past: tuple[Mounting, ...]
    entries: list[LedgerLine]
    lists: list[Commissioning]
    restrictions: tuple[str, ...]
    checks: CheckSummary


def rig_page(rig: Rig, at: datetime, *, past: bool = False) -> RigPage:
    """A rig with what is and was mounted on it, the last fifty, and its entries; `past` as in `rig_readiness`."""
    taken_off = tuple(past_mountings(rig, at)[:50])
    if past:
        _as_known_then(taken_off, at)
    return RigPage(
        rig,
        rig_readiness([rig], at, past=past)[rig.pk],
        taken_off,
        ledger_lines(rig.book, at),
        commissionings_of(rig, at),
        restrictions_of(rig, at),
        check_summary(Subject(rig), at),
    )

"""What is checked: an instrument or a rig, the kinds of check that fit it, and its checks and plans as known then."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q, QuerySet

from calibration.models import CheckKind, CheckPlan, Instrument, InstrumentKind, IntermediateCheck, Rig, RigKind
from calibration.queries.known_facts import instrument_then, rig_then

_TEMPERATURE = (CheckKind.FOIL, CheckKind.COMPARISON, CheckKind.AGREEMENT, CheckKind.OTHER)
_INSTRUMENTS = {
    InstrumentKind.THERMOCOUPLE: _TEMPERATURE,
    InstrumentKind.INDICATOR: _TEMPERATURE,
    InstrumentKind.FORCE_GAUGE: (CheckKind.MASSES, CheckKind.COMPARISON, CheckKind.AGREEMENT, CheckKind.OTHER),
}
_RIGS = {
    RigKind.GLOW_WIRE: (CheckKind.FOIL, CheckKind.OTHER),
    RigKind.NEEDLE_FLAME: (CheckKind.FLAME, CheckKind.OTHER),
    RigKind.SMALL_BURNER: (CheckKind.FLAME, CheckKind.OTHER),
}
UNIT_OF_KIND = {CheckKind.FOIL: "°C", CheckKind.FLAME: "s", CheckKind.MASSES: "N"}
"""Kinds that are read in one unit only."""


@dataclass(frozen=True, slots=True)
class Subject:
    """An instrument or a rig, as the checks see it. `name` begins its addresses' names, `key` is their argument."""

    thing: Instrument | Rig

    @property
    def instrument(self) -> Instrument | None:
        """The instrument, or None for a rig."""
        return self.thing if isinstance(self.thing, Instrument) else None

    @property
    def rig(self) -> Rig | None:
        """The rig, or None for an instrument."""
        return self.thing if isinstance(self.thing, Rig) else None

    @property
    def code(self) -> str:
        """What people call it."""
        return self.thing.code

    @property
    def book(self) -> str:
        """Its book in the ledger."""
        return self.thing.book

    @property
    def key(self) -> str:
        """The argument of its addresses."""
        return self.thing.number if isinstance(self.thing, Instrument) else self.thing.code

    @property
    def name(self) -> str:
        """The beginning of the names of its addresses."""
        return "instrument" if isinstance(self.thing, Instrument) else "rig"

    @property
    def checks_address(self) -> str:
        """The name of the address of its checks."""
        return f"calibration:{self.name}_checks"

    @property
    def kinds_address(self) -> str:
        """The name of the address where a kind of check is chosen."""
        return f"calibration:{self.name}_check_kinds"

    @property
    def new_address(self) -> str:
        """The name of the address where a check is recorded."""
        return f"calibration:{self.name}_check_new"

    @property
    def plan_address(self) -> str:
        """The name of the address where a check is planned."""
        return f"calibration:{self.name}_check_plan"

    @property
    def kinds(self) -> tuple[CheckKind, ...]:
        """The kinds of check that fit it, the usual one first."""
        if isinstance(self.thing, Instrument):
            plain = (CheckKind.AGREEMENT, CheckKind.COMPARISON, CheckKind.OTHER)
            return _INSTRUMENTS.get(InstrumentKind(self.thing.kind), plain)
        return _RIGS.get(RigKind(self.thing.kind), (CheckKind.OTHER,))


def locked(subject: Subject, other: Instrument | None = None) -> Subject:
    """The same, read anew and locked until the end of the transaction, with the instrument it is compared with.

    Instruments are locked in one order, before a rig: two people who check each against the other wait, not both.
    """
    keys = {one.pk for one in (subject.instrument, other) if one is not None}
    instruments = {one.pk: one for one in locked_instruments(keys)}
    if subject.instrument is not None:
        return Subject(instruments[subject.instrument.pk])
    return Subject(Rig.objects.select_for_update(of=("self",)).get(pk=subject.thing.pk))


def locked_instruments(keys: Iterable[int]) -> QuerySet[Instrument]:
    """Instruments locked until the end of the transaction, in one order, so that nobody waits in a circle."""
    return Instrument.objects.select_for_update(of=("self",)).filter(pk__in=keys).order_by("pk")


def subject_of(row: IntermediateCheck | CheckPlan) -> Subject:
    """What was checked, or is to be; the database holds that there is one."""
    thing = row.instrument or row.rig
    if thing is None:
        raise ValueError("a check is of an instrument or of a rig")
    return Subject(thing)


def subject_then(subject: Subject, at: datetime) -> Subject:
    """The same with the facts of then, to look at and never to save; two reads."""
    thing = subject.thing
    return Subject(instrument_then(thing, at) if isinstance(thing, Instrument) else rig_then(thing, at))


def checks_of(subject: Subject, at: datetime) -> QuerySet[IntermediateCheck]:
    """Its checks as entered by `at`, newest first; one struck out later still counts then, see `struck_by`."""
    rows = IntermediateCheck.objects.filter(instrument=subject.instrument, rig=subject.rig, entered_at__lte=at)
    people = ("compared_with", "entered_by", "struck_by")
    return rows.select_related(*people).order_by("-checked_at", "-pk")


def standing_checks(at: datetime) -> QuerySet[IntermediateCheck]:
    """All checks entered by `at` that were not struck out by then."""
    return IntermediateCheck.objects.filter(Q(struck_at=None) | Q(struck_at__gt=at), entered_at__lte=at)


def struck_by(check: IntermediateCheck, at: datetime) -> bool:
    """Whether a check had been struck out by `at`."""
    return check.struck_at is not None and check.struck_at <= at


def plans_of(subject: Subject, at: datetime) -> list[CheckPlan]:
    """Its plans that held at `at`, one of a kind at most, in the order of its kinds; one read."""
    rows = CheckPlan.objects.filter(instrument=subject.instrument, rig=subject.rig, made_at__lte=at)
    newest = {row.kind: row for row in rows.select_related("made_by").order_by("made_at", "pk")}
    return [newest[kind] for kind in CheckKind if kind in newest and not newest[kind].ended]


def plan_in_force(subject: Subject, kind: str, at: datetime) -> CheckPlan | None:
    """Its plan of one kind that held at `at`, or None."""
    return next((plan for plan in plans_of(subject, at) if plan.kind == kind), None)


def checks_with_subjects() -> QuerySet[IntermediateCheck]:
    """Checks for a page of their own."""
    return IntermediateCheck.objects.select_related("instrument", "rig", "entered_by", "struck_by")


def comparable_instruments(subject: Subject) -> QuerySet[Instrument]:
    """Instruments another reading may come from: all but the one that is checked, by code."""
    others = Instrument.objects.order_by("code")
    return others if subject.instrument is None else others.exclude(pk=subject.instrument.pk)

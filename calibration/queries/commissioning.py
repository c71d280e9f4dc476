"""The lists worked off before a rig goes into service: which are open, what was found, whether a rig may be used."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.conf import settings
from django.db.models import Q, QuerySet
from django.utils.module_loading import import_string

from calibration.domain.commissioning import (
    LineAnswer,
    ListLine,
    Requirement,
    list_lines,
    release_obstacle,
    restrictions,
)
from calibration.models import Commissioning, CommissioningFinding, CommissioningLine, Instrument, Rig
from labsite.ledger.models import Role, StoredFile, User

RELEASERS = frozenset({Role.QUALITY, Role.LEAD})
"""Who puts a rig into service."""
WORKERS = RELEASERS | {Role.TECHNICIAN}
"""Who works the list off."""


_KINDS = list(CommissioningLine.Kind.values)


@dataclass(frozen=True, slots=True)
class RigUse:
    """Whether work may be done on a rig; `clause` says why not, to follow “GW-1: ”, and is empty where it may."""

    may: bool
    clause: str
    commissioning: Commissioning | None = None


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line of a sheet with what was found, the last finding first."""

    row: CommissioningLine
    line: ListLine
    answer: LineAnswer
    findings: tuple[CommissioningFinding, ...]

    @property
    def sources(self) -> list[str]:
        """Where the line comes from, as texts that may stand on lines of their own."""
        return self.row.source.split(", ")

    @property
    def last(self) -> CommissioningFinding | None:
        """The finding that holds."""
        return self.findings[0] if self.findings else None


@dataclass(frozen=True, slots=True)
class Sheet:
    """One list with its lines. `obstacle` says what keeps the rig from being released, empty where nothing does."""

    commissioning: Commissioning
    lines: tuple[SheetLine, ...]
    obstacle: str
    restrictions: tuple[str, ...]

    @property
    def looked_at(self) -> int:
        """How many lines have a finding."""
        return sum(one.answer.holds is not None for one in self.lines)


def rig_use(rigs: Iterable[Rig], at: datetime) -> dict[int, RigUse]:
    """Whether each rig may be used at `at`, by primary key; one read. A rig without any list stays in use."""
    rigs = list(rigs)
    rows = Commissioning.objects.filter(rig__in=[rig.pk for rig in rigs], opened_at__lte=at)
    rows = rows.filter(Q(released_at=None) | Q(released_at__gt=at)).order_by("opened_at", "pk")
    waiting = {row.rig_id: row for row in rows}
    return {rig.pk: _use(rig, waiting.get(rig.pk)) for rig in rigs}


def usable_rigs(rigs: Iterable[Rig], at: datetime) -> list[Rig]:
    """Those of the rigs that may be used at `at`, in their order."""
    rigs = list(rigs)
    use = rig_use(rigs, at)
    return [rig for rig in rigs if use[rig.pk].may]


def may_work(person: object) -> bool:
    """Whether the person works lists off."""
    return isinstance(person, User) and person.may(*WORKERS)


def may_release(person: object) -> bool:
    """Whether the person puts rigs into service."""
    return isinstance(person, User) and person.may(*RELEASERS)


def lines_for(rig: Rig, at: datetime, *, repaired: bool = False) -> tuple[ListLine, ...]:
    """The lines of a new list for a rig; what the methods ask of it comes from a higher app, named in settings."""
    found: tuple[Requirement, ...] = import_string(settings.APPARATUS_REQUIREMENTS)(rig.kind, at)
    return list_lines(rig.kind, found, repaired=repaired)


def commissionings() -> QuerySet[Commissioning]:
    """Every list with its rig and people."""
    return Commissioning.objects.select_related("rig__place", "opened_by", "released_by")


def commissionings_of(rig: Rig, at: datetime) -> list[Commissioning]:
    """The lists of a rig opened up to `at`, latest first; a release after that moment is not known yet."""
    rows = list(commissionings().filter(rig=rig, opened_at__lte=at).order_by("-opened_at", "-pk"))
    for row in rows:
        _forget_later(row, at)
    return rows


def sheet(commissioning: Commissioning, at: datetime) -> Sheet:
    """One list as known at `at`; two reads."""
    _forget_later(commissioning, at)
    rows = list(commissioning.lines.exclude(added_at__gt=at).order_by("position"))
    found: dict[int, list[CommissioningFinding]] = defaultdict(list)
    findings = CommissioningFinding.objects.filter(line__commissioning=commissioning, at__lte=at).order_by("-pk")
    for one in findings.select_related("by", "measured_with", "file").defer("file__content"):
        found[one.line_id].append(one)
    rows.sort(key=lambda row: _KINDS.index(row.kind))  # what was added by hand stands with its kind
    lines = tuple(_sheet_line(row, found[row.pk]) for row in rows)
    answers = [one.answer for one in lines]
    return Sheet(commissioning, lines, release_obstacle(answers), restrictions(answers))


def restrictions_of(rig: Rig, at: datetime) -> tuple[str, ...]:
    """How the rig is used while parts or papers are missing, as its last release before `at` had it."""
    last = commissionings().filter(rig=rig, released_at__lte=at).order_by("-released_at", "-pk").first()
    return () if last is None else sheet(last, at).restrictions


def list_line(row: CommissioningLine) -> ListLine:
    """A stored line as the domain judges it."""
    kind = CommissioningLine.Kind(row.kind).value
    return ListLine(kind, row.title, row.limit_text, row.low, row.high, row.unit, row.source)  # type: ignore[arg-type]  # the choices are these words


def measuring_instruments() -> QuerySet[Instrument]:
    """Instruments a requirement can be verified with, by code."""
    return Instrument.objects.order_by("code")


def finding_file(pk: int) -> QuerySet[StoredFile]:
    """The file kept with a finding."""
    return StoredFile.objects.filter(pk__in=CommissioningFinding.objects.filter(pk=pk).values("file"))


def _forget_later(row: Commissioning, at: datetime) -> None:
    if row.released_at is not None and row.released_at > at:
        row.released_at, row.released_by, row.release_note = None, None, ""


def _use(rig: Rig, waiting: Commissioning | None) -> RigUse:
    if not rig.in_use:
        return RigUse(False, "taken out of use", waiting)
    if waiting is not None:
        why = {"new": "new here", "repaired": "back from repair", "moved": "moved"}[waiting.occasion]
        return RigUse(False, f"{why} and not released for use yet", waiting)
    return RigUse(True, "")


def _sheet_line(row: CommissioningLine, findings: Sequence[CommissioningFinding]) -> SheetLine:
    last = findings[0] if findings else None
    answer = LineAnswer(row.kind, row.title, None if last is None else last.holds, "" if last is None else last.note)
    return SheetLine(row, list_line(row), answer, tuple(findings))

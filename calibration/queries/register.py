"""The register: every instrument by what it needs, with what its record lacks."""

from dataclasses import dataclass
from datetime import date, datetime

from calibration.domain.record_completeness import Completeness
from calibration.domain.status import Status
from calibration.models import Instrument, Rig
from calibration.queries.completeness import completeness_of
from calibration.queries.instruments import NEEDS_A_HAND, all_instruments, mountings_at
from calibration.queries.known_facts import instruments_as_known
from calibration.queries.usability import Usability, usabilities

_GROUPS = (
    ("hand", NEEDS_A_HAND),
    ("soon", (Status.DUE_SOON,)),
    ("rest", (Status.USABLE,)),
    ("out", (Status.OUT_OF_SERVICE,)),
)
_TO_DO = {
    Status.OVERDUE: "Calibrate {}",
    Status.PERMITTED: "Calibrate {}, used by permit",
    Status.AWAITS: "Decide on {}",
    Status.REJECTED: "Calibrate {} again",
    Status.NEVER: "Calibrate {} for the first time",
    Status.DUE_SOON: "Plan the calibration of {}",
    Status.USABLE: "{} may be used",
    Status.OUT_OF_SERVICE: "{} is out of service",
}


@dataclass(frozen=True, slots=True)
class InstrumentRow:
    """One line of the list."""

    instrument: Instrument
    usability: Usability
    rig: Rig | None
    record: Completeness

    @property
    def to_do(self) -> str:
        """What the row asks for."""
        return _TO_DO[self.usability.status].format(self.instrument.code)


@dataclass(frozen=True, slots=True)
class InstrumentGroup:
    """Rows that belong together, soonest first; `key` is hand, soon, rest or out."""

    key: str
    rows: tuple[InstrumentRow, ...]


def instruments_by_due(at: datetime, *, past: bool = False) -> tuple[InstrumentGroup, ...]:
    """Every instrument registered by `at`, in four groups, each by due date; sixteen reads.

    With `past`, `at` is a moment gone by, and facts changed since are taken back; two reads more.
    """
    instruments = list(all_instruments().filter(registered_at__lte=at))
    if past:
        instruments = [known.thing for known in instruments_as_known(instruments, at).values()]
    answers = usabilities(instruments, at)
    records = completeness_of(instruments, answers, at)
    rigs = {mounting.instrument_id: mounting.rig for mounting in mountings_at(at)}
    rows = sorted(
        (InstrumentRow(one, answers[one.pk], rigs.get(one.pk), records[one.pk]) for one in instruments),
        key=lambda row: (row.usability.due_on or date.min, row.instrument.code.casefold()),
    )
    return tuple(
        InstrumentGroup(key, tuple(row for row in rows if row.usability.status in statuses))
        for key, statuses in _GROUPS
    )


def with_record(groups: tuple[InstrumentGroup, ...], *, complete: bool) -> tuple[InstrumentGroup, ...]:
    """The same groups with those rows only whose record is complete, or lacks something."""
    return tuple(
        InstrumentGroup(group.key, tuple(row for row in group.rows if row.record.complete is complete))
        for group in groups
    )

"""What the page of somebody's checks shows: the answer, what is planned, a chart of each kind, every check."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.conf import settings
from django.db.models import Q
from django.utils.module_loading import import_string

from calibration.domain.check_chart import ChartPoint, CheckChart, check_chart
from calibration.domain.check_figures import CheckFigures
from calibration.domain.units import difference_unit
from calibration.models import CheckKind, IntermediateCheck
from calibration.queries.check_basis import Certified, certified_at
from calibration.queries.check_subjects import Subject, checks_of, struck_by
from calibration.queries.checks_due import PlannedCheck, planned_checks

MOST_SHOWN = 200


@dataclass(frozen=True, slots=True)
class CheckRow:
    """One check; struck out as far as it had been by the moment asked for."""

    check: IntermediateCheck
    struck: bool

    @property
    def readings(self) -> list[str]:
        """Single readings, each as a line of text."""
        return [_reading(reading) for reading in self.check.readings if isinstance(reading, dict)]


@dataclass(frozen=True, slots=True)
class KindChart:
    """The chart of one kind; `what` says what is drawn."""

    kind: CheckKind
    what: str
    chart: CheckChart


@dataclass(frozen=True, slots=True)
class CheckPage:
    """Everything of one instrument or rig; `last` is the newest check that counts."""

    subject: Subject
    planned: tuple[PlannedCheck, ...]
    charts: tuple[KindChart, ...]
    rows: tuple[CheckRow, ...]

    @property
    def last(self) -> IntermediateCheck | None:
        """The newest check that was not struck out."""
        return next((row.check for row in self.rows if not row.struck), None)

    @property
    def overdue(self) -> tuple[PlannedCheck, ...]:
        """Planned checks whose day is over."""
        return tuple(one for one in self.planned if one.due.overdue)

    @property
    def next(self) -> PlannedCheck | None:
        """The planned check that is due first."""
        return next((one for one in self.planned if one.due.due_on is not None), None)


def check_page(subject: Subject, at: datetime) -> CheckPage:
    """The checks of an instrument or a rig as known at `at`, the newest two hundred."""
    rows = tuple(CheckRow(check, struck_by(check, at)) for check in checks_of(subject, at)[:MOST_SHOWN])
    planned = planned_checks(at, Q(instrument=subject.instrument, rig=subject.rig))
    return CheckPage(subject, tuple(planned), tuple(_charts(subject, rows, at)), rows)


@dataclass(frozen=True, slots=True)
class CheckSummary:
    """What another page says of the checks: the newest that counts, and what is planned."""

    subject: Subject
    last: IntermediateCheck | None
    planned: tuple[PlannedCheck, ...]


def check_summary(subject: Subject, at: datetime) -> CheckSummary:
    """The checks of one instrument or rig in short, as known at `at`; four reads at most."""
    planned = planned_checks(at, Q(instrument=subject.instrument, rig=subject.rig))
    return CheckSummary(subject, last_check(subject, at), tuple(planned))


def last_check(subject: Subject, at: datetime) -> IntermediateCheck | None:
    """The newest check that counts at `at`; one read."""
    return checks_of(subject, at).filter(Q(struck_at=None) | Q(struck_at__gt=at)).first()


def offered_figures(subject: Subject, kind: str) -> list[CheckFigures]:
    """Figures of the methods that fit a check of this kind; of a rig's own kind only."""
    figures: tuple[CheckFigures, ...] = import_string(settings.CHECK_FIGURES)()
    rig = subject.rig
    return [one for one in figures if one.kind == kind and (rig is None or one.rig_kind == rig.kind)]


def _charts(subject: Subject, rows: tuple[CheckRow, ...], at: datetime) -> list[KindChart]:
    """One chart for each kind with its unit; a check judged by E_n is not drawn beside errors."""
    groups: dict[tuple[str, str, bool], list[CheckRow]] = {}
    for row in rows:
        groups.setdefault((row.check.kind, row.check.unit, row.check.e_n is not None), []).append(row)
    return [
        _chart(subject, CheckKind(kind), unit, by_score, group, at) for (kind, unit, by_score), group in groups.items()
    ]


def _chart(
    subject: Subject, kind: CheckKind, unit: str, by_score: bool, rows: list[CheckRow], at: datetime
) -> KindChart:
    points = [_point(row, by_score) for row in rows]
    newest = next((row.check for row in rows if not row.struck), rows[0].check)
    if by_score:
        chart = check_chart(points, unit="", low=Decimal(-1), high=Decimal(1))
        return KindChart(kind, "E_n", chart)
    expected, doubt = _certificate(subject, newest, at)
    chart = check_chart(
        points, unit=difference_unit(unit), low=newest.error_low, high=newest.error_high,
        expected=expected, standard_uncertainty=doubt,
    )  # fmt: skip
    return KindChart(kind, f"error = indication minus reference, in {difference_unit(unit)}", chart)


def _point(row: CheckRow, by_score: bool) -> ChartPoint:
    check = row.check
    value = check.e_n if by_score and check.e_n is not None else check.indication - check.reference
    return ChartPoint(check.checked_at, value, check.passed, row.struck)


def _certificate(subject: Subject, check: IntermediateCheck, at: datetime) -> tuple[Decimal | None, Decimal | None]:
    """The error the certificate leads to expect at the last reading, and its standard uncertainty."""
    if subject.instrument is None:
        return None, None
    found = certified_at(subject.instrument, check.unit, check.indication, at, with_drift=True)
    return (-found.correction, found.standard_uncertainty) if isinstance(found, Certified) else (None, None)


def _reading(reading: dict[str, str]) -> str:
    if "mass_g" in reading:
        return f"{reading['mass_g']} g: read {reading['read_n']} N"
    if "seconds" in reading:
        return f"run {reading['run']}: {reading['seconds']} s"
    return f"correction {reading['correction']}" if reading.get("correction") else ""

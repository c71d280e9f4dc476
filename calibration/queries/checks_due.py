"""Planned checks and when they are due: a constant number of reads for any number of instruments and rigs."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Max, Q

from calibration.domain.check_due import CheckDue, check_due
from calibration.models import CheckPlan, Mounting, Rig
from calibration.queries.check_subjects import Subject, standing_checks, subject_of
from calibration.queries.instruments import mountings_at
from labsite.ledger.queries import laboratory_zone
from labsite.ledger.wording import mid_sentence


@dataclass(frozen=True, slots=True)
class PlannedCheck:
    """A plan that holds, what it is of, the last check of its kind, and when the next one is due."""

    plan: CheckPlan
    subject: Subject
    last_at: datetime | None
    due: CheckDue

    @property
    def warning(self) -> str:
        """The line for a page that is about something else: “TC-01, silver foil melts at the tip: check overdue …”."""
        return f"{self.subject.code}, {mid_sentence(self.plan.get_kind_display())}: check {self.due.clause}"


def planned_checks(at: datetime, of: Q | None = None) -> list[PlannedCheck]:
    """Every plan that held at `at`, soonest due first, those before use last; `of` narrows the plans. Three reads."""
    rows = CheckPlan.objects.filter(of or Q(), made_at__lte=at).select_related("instrument", "rig", "made_by")
    newest = {(row.instrument_id, row.rig_id, row.kind): row for row in rows.order_by("made_at", "pk")}
    plans = [row for row in newest.values() if not row.ended]
    if not plans:
        return []
    last, zone = _last_checks(plans, at), laboratory_zone()
    found = []
    for plan in plans:
        last_at = last.get((plan.instrument_id, plan.rig_id, plan.kind))
        due = check_due(plan.every_days, last_at, plan.made_at, at, zone)
        found.append(PlannedCheck(plan, subject_of(plan), last_at, due))
    return sorted(found, key=_order)


def checks_to_make(at: datetime) -> list[PlannedCheck]:
    """The planned checks that are overdue or due within days, soonest first."""
    return [one for one in planned_checks(at) if one.due.overdue or one.due.soon]


def check_warnings(rigs: Iterable[Rig], mountings: Iterable[Mounting], at: datetime) -> dict[int, tuple[str, ...]]:
    """By rig, which checks of it and of what is mounted on it are overdue at `at`, as lines; three reads at most.

    A missed check warns and blocks nothing: whether it matters is judged by people.
    """
    keys = [rig.pk for rig in rigs]
    on_rig = {mounting.instrument_id: mounting.rig_id for mounting in mountings}
    found: defaultdict[int, list[str]] = defaultdict(list)
    for one in planned_checks(at, Q(rig__in=keys) | Q(instrument__in=on_rig)):
        rig = one.plan.rig_id or on_rig[one.plan.instrument_id or 0]
        if one.due.overdue:
            found[rig].append(one.warning)
    return {key: tuple(lines) for key, lines in found.items()}


def rig_check_warnings(rig: Rig, at: datetime) -> tuple[str, ...]:
    """The same for one rig; four reads at most."""
    return check_warnings([rig], mountings_at(at).filter(rig=rig), at).get(rig.pk, ())


def _last_checks(plans: list[CheckPlan], at: datetime) -> dict[tuple[int | None, int | None, str], datetime]:
    of = Q(instrument__in={plan.instrument_id for plan in plans}) | Q(rig__in={plan.rig_id for plan in plans})
    rows = standing_checks(at).filter(of).values_list("instrument", "rig", "kind").annotate(Max("checked_at"))
    return {(instrument, rig, kind): last for instrument, rig, kind, last in rows}


def _order(one: PlannedCheck) -> tuple[bool, object, str]:
    return (one.due.due_on is None, one.due.due_on or 0, one.subject.code.casefold())

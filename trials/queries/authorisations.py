"""Authorisations: who may perform, check or sign by which method edition, now or on any day."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from labsite.ledger.models import Role, User
from labsite.ledger.queries import laboratory_day, laboratory_zone
from labsite.ledger.refusals import Refused
from trials.domain.authority import ACTIVITIES, Grant, standing_grant, why_not_authorised
from trials.domain.methods.registry import EDITIONS
from trials.models import Authorisation
from trials.queries.methods import method_words

PERFORM, CHECK, SIGN = Authorisation.Activity.PERFORM, Authorisation.Activity.CHECK, Authorisation.Activity.SIGN
ROLES_FOR = {PERFORM: {Role.TECHNICIAN, Role.LEAD}, CHECK: {Role.CHECKER}, SIGN: {Role.SIGNATORY}}
"""The roles of which a person needs one besides the authorisation."""
GRANTERS = frozenset({Role.LEAD, Role.QUALITY})
"""The roles that grant and end authorisations, never their own."""


@dataclass(frozen=True, slots=True)
class MatrixCell:
    """One person's grants for one activity by one edition that stand on the day, and those that come later."""

    activity: str
    label: str
    standing: tuple[Authorisation, ...]
    coming: tuple[Authorisation, ...]


@dataclass(frozen=True, slots=True)
class MatrixRow:
    """One person with one cell for each activity, for one edition."""

    person: User
    cells: tuple[MatrixCell, ...]


@dataclass(frozen=True, slots=True)
class MatrixPart:
    """One method edition with everybody who may do something by it."""

    key: str
    title: str
    standard: str
    rows: tuple[MatrixRow, ...]


def grants_for(method_keys: Collection[str], activity: str | None = None) -> list[Grant]:
    """All authorisations ever granted to people who still sign in, for these editions; one query."""
    rows = Authorisation.objects.filter(method_key__in=list(method_keys), person__is_active=True)
    if activity is not None:
        rows = rows.filter(activity=activity)
    return [_grant(row) for row in rows.select_related("person").order_by("pk")]


def authorisation_for(person: User, method_key: str, activity: str, at: datetime) -> Authorisation | None:
    """The authorisation by which `person` may act at `at`, or None."""
    rows = Authorisation.objects.filter(person=person, method_key=method_key, activity=activity).select_related(
        "person"
    )
    by_key = {row.pk: row for row in rows}
    found = standing_grant(
        [_grant(row) for row in by_key.values()],
        person=person.pk,
        method_key=method_key,
        activity=activity,
        at=at,
        day=laboratory_day(at),
    )
    return None if found is None else by_key[found.row]


def authorisation_needed(
    person: User, method_key: str, activity: str, at: datetime, field: str | None = None
) -> Authorisation:
    """The authorisation by which `person` acts at `at`; refused with the dates and with who may instead."""
    found = authorisation_for(person, method_key, activity, at)
    if found is None:
        title, standard = method_words(method_key)
        sentence = why_not_authorised(
            grants_for([method_key], activity),
            person=person.pk,
            name=str(person),
            method=standard or title,
            method_key=method_key,
            activity=activity,
            at=at,
            day=laboratory_day(at),
        )
        raise Refused(sentence, field=field)
    return found


def authorised_people(method_keys: Collection[str], activity: str, at: datetime) -> dict[str, list[User]]:
    """Active people with the role and a standing authorisation, by edition and by name; two queries."""
    day = laboratory_day(at)
    rows = Authorisation.objects.filter(
        method_key__in=list(method_keys),
        activity=activity,
        person__is_active=True,
        person__role_holdings__role__in=ROLES_FOR[Authorisation.Activity(activity)],
    ).select_related("person")
    people: dict[str, dict[int, User]] = {key: {} for key in method_keys}
    for row in rows:
        if _grant(row).stands(at, day):
            people[row.method_key][row.person_id] = row.person
    return {key: sorted(found.values(), key=lambda person: person.full_name) for key, found in people.items()}


def standing_authorisations(at: datetime) -> list[Authorisation]:
    """All authorisations that hold at `at`, by person; one query."""
    day = laboratory_day(at)
    rows = (
        Authorisation.objects.filter(person__is_active=True)
        .select_related("person")
        .order_by("person__full_name", "pk")
    )
    return [row for row in rows if _grant(row).stands(at, day)]


def authorisation_matrix(at: datetime) -> list[MatrixPart]:
    """Everybody's authorisations as they stood at `at`, by edition, those nobody may use last; one query.

    A past moment shows what was on record then: grants made later are left out, and so are ends made later.
    """
    day = laboratory_day(at)
    rows = list(
        Authorisation.objects.filter(granted_at__lte=at)
        .select_related("person", "granted_by", "ended_by")
        .order_by("person__full_name", "from_on", "pk")
    )
    keys = list(dict.fromkeys([*EDITIONS, *(row.method_key for row in rows)]))
    parts = []
    for key in keys:
        of_key = [row for row in rows if row.method_key == key]
        title, standard = method_words(key)
        people = list(dict.fromkeys(row.person for row in of_key))
        shown = [
            MatrixRow(person, _cells([r for r in of_key if r.person_id == person.pk], at, day)) for person in people
        ]
        kept = tuple(row for row in shown if any(cell.standing or cell.coming for cell in row.cells))
        parts.append(MatrixPart(key, title, standard, kept))
    newest_first = parts[::-1]
    return sorted(newest_first, key=lambda part: not part.rows)


def end_of_day(day: date, zone: ZoneInfo) -> datetime:
    """The last instant of a day at the laboratory."""
    return datetime.combine(day + timedelta(days=1), time.min, zone) - timedelta(microseconds=1)


def moment_of_view(on: date | None, now: datetime) -> datetime:
    """The moment for which the matrix is asked: now, or the end of a day; today is now."""
    if on is None or on == laboratory_day(now):
        return now
    return end_of_day(on, laboratory_zone())


def today(now: datetime) -> date:
    """The day at the laboratory."""
    return laboratory_day(now)


def may_grant(person: object) -> bool:
    """Whether the person's roles include granting authorisations."""
    return isinstance(person, User) and person.may(*GRANTERS)


def granters() -> list[User]:
    """Active people who may grant, by name."""
    rows = User.objects.filter(is_active=True, role_holdings__role__in=GRANTERS)
    return list(rows.distinct().order_by("full_name"))


def words_of(row: Authorisation) -> str:
    """What an authorisation lets its person do, in words."""
    title, standard = method_words(row.method_key)
    return f"{ACTIVITIES[row.activity]} by {standard or title}"


def authorisations() -> QuerySet[Authorisation]:
    """All authorisations with their person."""
    return Authorisation.objects.select_related("person", "granted_by")


def people_with_role(activity: str) -> QuerySet[User]:
    """Active people with a role for the activity, authorised or not, by name."""
    roles = ROLES_FOR[Authorisation.Activity(activity)]
    return User.objects.filter(is_active=True, role_holdings__role__in=roles).distinct().order_by("full_name")


def people_to_authorise() -> QuerySet[User]:
    """Active people by name."""
    return User.objects.filter(is_active=True).order_by("full_name")


def _cells(rows: list[Authorisation], at: datetime, day: date) -> tuple[MatrixCell, ...]:
    cells = []
    for activity in Authorisation.Activity:
        own = [row for row in rows if row.activity == activity]
        standing = tuple(row for row in own if _grant(row).stands(at, day))
        coming = tuple(row for row in own if row.from_on > day and (row.ended_at is None or row.ended_at > at))
        cells.append(MatrixCell(activity.value, activity.label, standing, coming))
    return tuple(cells)


def _grant(row: Authorisation) -> Grant:
    return Grant(
        row=row.pk,
        person=row.person_id,
        name=str(row.person),
        method_key=row.method_key,
        activity=row.activity,
        from_on=row.from_on,
        until_on=row.until_on,
        ended_at=row.ended_at,
    )

"""Granting and ending authorisations (ISO/IEC 17025 6.2.6): always by somebody else, always on record."""

from datetime import date, datetime
from typing import Any

from django.db import transaction

from labsite.ledger.actions import record_entry
from labsite.ledger.models import User
from labsite.ledger.queries import laboratory_day
from labsite.ledger.refusals import Refused
from trials.domain.authority import ACTIVITIES, day_text
from trials.models import Authorisation
from trials.queries.authorisations import GRANTERS
from trials.queries.methods import edition_by_key


@transaction.atomic
def grant_authorisation(
    *, person: User, method_key: str, activity: str, from_on: date, until_on: date | None, by: User, at: datetime
) -> Authorisation:
    """Let `person` do `activity` by one method edition from one day to another, both included."""
    _refuse_others(by)
    edition = edition_by_key(method_key)
    person = User.objects.select_for_update().get(pk=person.pk)
    if person.pk == by.pk:
        raise Refused("Nobody authorises themselves; another lead or the quality keeper grants this.", field="person")
    if not person.is_active:
        raise Refused(f"{person} no longer signs in here, so nothing can be granted.", field="person")
    today = laboratory_day(at)
    if from_on < today:
        raise Refused(
            f"{day_text(from_on)} is over. An authorisation begins today, {day_text(today)}, or later, so that no "
            "earlier act is allowed after the fact.",
            field="from_on",
        )
    if until_on is not None and until_on < from_on:
        raise Refused(
            f"The last day, {day_text(until_on)}, lies before the first, {day_text(from_on)}.", field="until_on"
        )
    _refuse_double(person, method_key, activity, from_on, until_on, edition.short_standard)
    row = Authorisation.objects.create(
        person=person,
        method_key=method_key,
        activity=activity,
        from_on=from_on,
        until_on=until_on,
        granted_at=at,
        granted_by=by,
    )
    record_entry(book=_book(person), act="granted an authorisation", by=by, at=at, data={"after": _facts(row)})
    return row


@transaction.atomic
def end_authorisation(*, authorisation: Authorisation, reason: str, by: User, at: datetime) -> Authorisation:
    """End an authorisation now, before its last day; what was done under it stays done."""
    _refuse_others(by)
    row = Authorisation.objects.select_for_update().select_related("person").get(pk=authorisation.pk)
    if row.ended_at is not None:
        raise Refused(f"This authorisation was already ended by {row.ended_by}.")
    if row.until_on is not None and row.until_on < laboratory_day(at):
        raise Refused(f"This authorisation ran out on {day_text(row.until_on)}; there is nothing to end.")
    if not reason.strip():
        raise Refused("Say why the authorisation ends.", field="reason")
    before = _facts(row)
    row.ended_at, row.ended_by = at, by
    row.save(update_fields=["ended_at", "ended_by"])
    data = {"before": before, "after": _facts(row), "reason": reason.strip()}
    record_entry(book=_book(row.person), act="ended an authorisation", by=by, at=at, data=data)
    return row


def _refuse_others(by: User) -> None:
    if not by.may(*GRANTERS):
        raise Refused("Only a lead or the quality keeper grants and ends authorisations.")


def _refuse_double(
    person: User, method_key: str, activity: str, from_on: date, until_on: date | None, method: str
) -> None:
    rows = Authorisation.objects.filter(person=person, method_key=method_key, activity=activity, ended_at=None)
    for row in rows.order_by("from_on"):
        starts_in_time = until_on is None or row.from_on <= until_on
        if starts_in_time and (row.until_on is None or row.until_on >= from_on):
            until = "without a last day" if row.until_on is None else f"until {day_text(row.until_on)}"
            raise Refused(
                f"{person} may already {ACTIVITIES[activity]} by {method} from {day_text(row.from_on)} {until}. End "
                "that authorisation first, or let this one begin after it.",
                field="from_on",
            )


def _facts(row: Authorisation) -> dict[str, Any]:
    return {
        "authorisation": row.pk,
        "method edition": row.method_key,
        "activity": row.activity,
        "from": row.from_on.isoformat(),
        "until": "" if row.until_on is None else row.until_on.isoformat(),
        "ended": "" if row.ended_at is None else row.ended_at.isoformat(),
    }


def _book(person: User) -> str:
    return f"person:{person.username}"

"""Reminding people by mail of what falls due; each reminder reaches a person once."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from smtplib import SMTPException

from django.conf import settings
from django.core.mail import EmailMessage, InvalidMailer
from django.db import transaction
from django.urls import reverse

from calibration.domain.reminders import reminders_reached
from calibration.models import Reminder
from calibration.queries.due_days import DueDay, due_days
from calibration.rendering.reminder_mail import MailLine, mail_subject, mail_text
from labsite.ledger.actions import record_entry
from labsite.ledger.models import Laboratory, Role, User
from labsite.ledger.queries import laboratory_day, people_in_role, the_laboratory


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a run did: mails sent, reminders in them, and a sentence for each mail that could not be sent."""

    mails: int
    reminders: int
    failures: tuple[str, ...]


def send_reminders(*, at: datetime) -> Outcome:
    """Send each quality keeper with a mail address one mail with all they have not been told, if there is anything.

    What could not be sent is not marked and goes out on the next run. Runs may overlap: they wait for each other.
    """
    falling_due = due_days(at)
    today = laboratory_day(at)
    people = list(people_in_role(Role.QUALITY).exclude(email=""))
    if not people and any(reminders_reached(one.due_on, today) for one in falling_due):
        return Outcome(0, 0, ("Nobody can be reminded: no active quality keeper has a mail address.",))
    told, failures = [], []
    for person in people:
        try:
            told.append(_remind(person, falling_due, today=today, at=at))
        except (OSError, SMTPException, InvalidMailer) as error:
            failures.append(_failure(person, error))
    sent = [count for count in told if count]
    return Outcome(len(sent), sum(sent), tuple(failures))


@transaction.atomic
def _remind(person: User, falling_due: Sequence[DueDay], *, today: date, at: datetime) -> int:
    """One mail with what is new to the person; how many instruments it names.

    The rows are written first and the mail sent last, inside the transaction: a mail that fails takes its marks with
    it. Only where the database is lost between the two does a mail go out again.
    """
    Laboratory.objects.select_for_update().get(pk=1)  # two runs at once would send twice
    new = _new_to(person, falling_due, today)
    if not new:
        return 0
    for due, distances in sorted(new, key=lambda pair: pair[0].instrument.book):  # as checks do, which lock two books
        for days in distances:
            reminder, _ = Reminder.objects.get_or_create(
                calibration_id=due.calibration_id, due_on=due.due_on, days_before=days, defaults={"sent_at": at}
            )
            reminder.sent_to = [*reminder.sent_to, person.username]
            reminder.save(update_fields=["sent_to"])
        data = {"due on": due.due_on.isoformat(), "days before": list(distances), "mail": person.email}
        record_entry(book=due.instrument.book, act="was reminded of the due day", by=person, at=at, data=data)
    _send(person, [due for due, _ in new], today)
    return len(new)


def _new_to(person: User, falling_due: Sequence[DueDay], today: date) -> list[tuple[DueDay, tuple[int, ...]]]:
    told: defaultdict[tuple[int, date], set[int]] = defaultdict(set)
    for row in Reminder.objects.filter(calibration_id__in=[due.calibration_id for due in falling_due]):
        if person.username in row.sent_to:
            told[row.calibration_id, row.due_on].add(row.days_before)
    pairs = [(due, reminders_reached(due.due_on, today, told[due.calibration_id, due.due_on])) for due in falling_due]
    return [(due, distances) for due, distances in pairs if distances]


def _send(person: User, falling_due: Sequence[DueDay], today: date) -> None:
    laboratory = the_laboratory()
    lines = [
        MailLine(
            code=due.instrument.code,
            description=due.instrument.description,
            due_on=due.due_on,
            address=settings.SITE_ADDRESS + reverse("calibration:instrument", args=[due.instrument.number]),
        )
        for due in falling_due
    ]
    body = mail_text(lines, name=person.full_name, laboratory=laboratory.name, zone=laboratory.zone, today=today)
    message = EmailMessage(mail_subject(lines), body, to=[person.email], headers={"Auto-Submitted": "auto-generated"})
    message.send(using="default")


def _failure(person: User, error: Exception) -> str:
    why = " ".join(str(error).split()) or type(error).__name__
    return f"The mail to {person.full_name} ({person.email}) was not sent: {why}. The next run tries again."

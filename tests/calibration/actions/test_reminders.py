"""Reminders by mail: one mail a person, each reminder once, nothing marked that was not sent."""

import smtplib
import threading
from datetime import UTC, date, datetime, timedelta

import pytest
from django.core import mail
from django.core.mail.backends.locmem import EmailBackend
from django.core.management import CommandError, call_command
from django.db import connections

from calibration.actions.reminders import send_reminders
from calibration.models import Calibration, IntervalDecision, Reminder, ServiceChange
from labsite.ledger.models import Entry
from labsite.ledger.queries import ledger_faults
from tests.factories.calibration import REGISTERED, CalibrationFactory
from tests.factories.ledger import UserFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("lab")]

TODAY = datetime(2026, 3, 10, 7, 0, tzinfo=UTC)


class BrokenServer(EmailBackend):
    """A mail server that turns some people away; told in `REFUSED`."""

    def send_messages(self, messages):
        for message in messages:
            if REFUSED & set(message.to):
                raise smtplib.SMTPRecipientsRefused({message.to[0]: (550, b"no such mailbox")})
        return super().send_messages(messages)


REFUSED: set[str] = set()


@pytest.fixture
def broken(settings):
    settings.MAILERS = {"default": {"BACKEND": f"{__name__}.BrokenServer"}}
    yield REFUSED
    REFUSED.clear()


@pytest.fixture
def hugo():
    return UserFactory.create(username="hugo", full_name="Hugo Keeper", email="hugo@lab.example", roles=["quality"])


def due(day: date, **more) -> Calibration:
    """An accepted calibration that falls due on a day."""
    return CalibrationFactory.create(
        accepted=True, calibrated_on=day - timedelta(days=300), interval=300, interval_unit="days",
        entered_at=REGISTERED + timedelta(days=1), **more,
    )  # fmt: skip


def in_days(days: int, **more) -> Calibration:
    return due(date(2026, 3, 10) + timedelta(days=days), **more)


def test_one_mail_with_all_that_is_new(hugo, settings):
    settings.SITE_ADDRESS = "https://lab.example"
    later = in_days(30, instrument__code="TC-02", instrument__description="type K")
    soon = in_days(7, instrument__code="TC-01", instrument__description="type K")
    in_days(61, instrument__code="TC-03")
    outcome = send_reminders(at=TODAY)
    assert (outcome.mails, outcome.reminders, outcome.failures) == (1, 2, ())
    (sent,) = mail.outbox
    assert (sent.to, sent.subject) == (["hugo@lab.example"], "Calibration: TC-01 due on 17 Mar 2026, and 1 more")
    assert sent.body == (
        "Hugo Keeper,\n\n"
        "2 calibrations fall due:\n\n"
        "17 Mar 2026, in 7 days: TC-01, type K\n"
        f"https://lab.example/instruments/{soon.instrument.number}/\n\n"
        "9 Apr 2026, in 30 days: TC-02, type K\n"
        f"https://lab.example/instruments/{later.instrument.number}/\n\n"
        "Days are those of Testbench Laboratory (Europe/Berlin); an instrument may be used to the end of its due day.\n"
        "You are reminded 60, 30 and 7 days ahead, once each.\n"
    )
    rows = Reminder.objects.order_by("calibration", "-days_before")
    assert [(row.calibration, row.days_before, row.due_on, row.sent_to) for row in rows] == [
        (later, 60, date(2026, 4, 9), ["hugo"]),
        (later, 30, date(2026, 4, 9), ["hugo"]),
        (soon, 60, date(2026, 3, 17), ["hugo"]),
        (soon, 30, date(2026, 3, 17), ["hugo"]),
        (soon, 7, date(2026, 3, 17), ["hugo"]),
    ]
    entry = Entry.objects.get(book__name=later.instrument.book)
    assert (entry.by, entry.act, entry.data["due on"]) == (hugo, "was reminded of the due day", "2026-04-09")
    assert list(ledger_faults()) == []


def test_a_run_a_day_reminds_three_times(hugo):
    in_days(62)
    told = [day for day in range(70) if send_reminders(at=TODAY + timedelta(days=day)).mails]
    assert told == [2, 32, 55]


def test_missed_days_are_caught_up_in_one_mail(hugo):
    in_days(60)
    counts = [send_reminders(at=TODAY + timedelta(days=day)).mails for day in (58, 59, 60, 61)]
    assert counts == [1, 0, 0, 0]
    assert "in 2 days" in mail.outbox[0].body


def test_the_repeated_hour_of_the_clock_change_sends_once(hugo):
    """02:30 in Berlin comes twice on 25 Oct 2026 (EU rules): 00:30 and 01:30 UTC."""
    due(date(2026, 11, 1))  # seven days ahead
    twice = [datetime(2026, 10, 25, hour, 30, tzinfo=UTC) for hour in (0, 1)]
    assert [send_reminders(at=at).mails for at in twice] == [1, 0]
    assert len(mail.outbox) == 1


@pytest.mark.parametrize(
    ("zone", "before", "on"),
    [
        # The day begins at the laboratory, not where the server stands (IANA offsets).
        ("Pacific/Auckland", "2026-03-09T10:59:59+00:00", "2026-03-09T11:00:00+00:00"),
        ("America/Los_Angeles", "2026-03-10T06:59:59+00:00", "2026-03-10T07:00:00+00:00"),
    ],
)
def test_the_day_is_the_laboratorys(lab, hugo, zone, before, on):
    lab.zone = zone
    lab.save()
    due(date(2026, 3, 10) + timedelta(days=60))
    assert [send_reminders(at=datetime.fromisoformat(at)).mails for at in (before, on)] == [0, 1]


def test_whom_it_reaches(hugo):
    in_days(7)
    UserFactory.create(roles=["quality"])  # no address
    UserFactory.create(roles=["quality"], email="gone@lab.example", is_active=False)
    UserFactory.create(roles=["technician"], email="oren@lab.example")
    UserFactory.create(username="petra", roles=["quality", "lead"], email="petra@lab.example")
    send_reminders(at=TODAY)
    assert sorted(message.to for message in mail.outbox) == [["hugo@lab.example"], ["petra@lab.example"]]
    assert {tuple(sorted(row.sent_to)) for row in Reminder.objects.all()} == {("hugo", "petra")}


def test_somebody_new_is_told_what_lies_ahead_once(hugo):
    in_days(20)
    send_reminders(at=TODAY)
    UserFactory.create(username="ada", roles=["quality"], email="ada@lab.example")
    counts = [send_reminders(at=TODAY + timedelta(days=day)).mails for day in (1, 2)]
    assert counts == [1, 0]
    assert mail.outbox[-1].to == ["ada@lab.example"]
    assert {tuple(row.sent_to) for row in Reminder.objects.all()} == {("hugo", "ada")}


def test_an_interval_decided_on_moves_the_reminders(hugo):
    calibration = in_days(200)
    IntervalDecision.objects.create(
        calibration=calibration, interval=107, interval_unit="days", reason="Hard use.", at=TODAY, by=hugo
    )  # 193 days less than 300: due in 7 days
    assert [send_reminders(at=TODAY - timedelta(seconds=1)).mails, send_reminders(at=TODAY).mails] == [0, 1]
    assert "17 Mar 2026, in 7 days" in mail.outbox[0].body


def test_an_interval_lengthened_brings_its_own_reminders_later(hugo):
    calibration = in_days(7)
    send_reminders(at=TODAY)
    IntervalDecision.objects.create(
        calibration=calibration, interval=400, interval_unit="days", reason="Good.", at=TODAY, by=hugo
    )  # due in 107 days
    assert [send_reminders(at=TODAY + timedelta(days=day)).mails for day in (1, 46, 47)] == [0, 0, 1]


def test_what_is_out_of_service_or_back_from_calibration_is_left_out(hugo):
    out = in_days(7)
    ServiceChange.objects.create(instrument=out.instrument, state="out of service", reason="dropped", at=TODAY, by=hugo)
    CalibrationFactory.create(instrument=in_days(7).instrument, calibrated_on=date(2026, 3, 9), entered_at=TODAY)
    assert send_reminders(at=TODAY).mails == 0
    ServiceChange.objects.create(
        instrument=out.instrument, state="in service", reason="sound", at=TODAY + timedelta(hours=1), by=hugo
    )
    assert send_reminders(at=TODAY + timedelta(hours=1)).mails == 1


def test_names_that_would_break_a_mail_stay_on_one_line(hugo):
    in_days(7, instrument__code="TC-01", instrument__description="type K\r\nBcc: all@lab.example\n\n.\n")
    hugo.full_name = "Hugo\r\nBcc: all@lab.example"
    hugo.save()
    send_reminders(at=TODAY)
    (sent,) = mail.outbox
    assert sent.recipients() == ["hugo@lab.example"]
    assert "TC-01, type K Bcc: all@lab.example .\n" in sent.body
    assert "\n" not in sent.subject
    assert sent.message()["Subject"] == "Calibration: TC-01 due on 17 Mar 2026"


def test_a_mail_that_fails_marks_nothing_and_goes_out_later(hugo, broken):
    in_days(7)
    broken.add("hugo@lab.example")
    outcome = send_reminders(at=TODAY)
    assert (outcome.mails, outcome.reminders) == (0, 0)
    (failure,) = outcome.failures
    assert failure == (
        "The mail to Hugo Keeper (hugo@lab.example) was not sent: {'hugo@lab.example': (550, b'no such mailbox')}. "
        "The next run tries again."
    )
    assert not Reminder.objects.exists()
    assert not Entry.objects.exists()
    broken.clear()
    assert send_reminders(at=TODAY).mails == 1


def test_one_failing_mail_keeps_no_other_back_and_is_not_sent_twice(hugo, broken):
    in_days(7)
    UserFactory.create(username="zoe", full_name="Zoe", roles=["quality"], email="zoe@lab.example")
    broken.add("hugo@lab.example")
    outcome = send_reminders(at=TODAY)
    assert (outcome.mails, len(outcome.failures)) == (1, 1)
    assert {tuple(row.sent_to) for row in Reminder.objects.all()} == {("zoe",)}
    broken.clear()
    assert send_reminders(at=TODAY).mails == 1
    assert [message.to for message in mail.outbox] == [["zoe@lab.example"], ["hugo@lab.example"]]


def test_nobody_to_remind_is_said_only_when_there_is_something(lab):
    assert send_reminders(at=TODAY).failures == ()
    in_days(7)
    assert send_reminders(at=TODAY).failures == (
        "Nobody can be reminded: no active quality keeper has a mail address.",
    )


def test_the_command_ends_with_status_1_where_a_mail_failed(hugo, settings, capsys):
    due(date.today() + timedelta(days=7))  # noqa: DTZ011  (the command asks the clock)
    settings.MAILERS = {}
    with pytest.raises(CommandError) as failed:
        call_command("remind")
    assert failed.value.returncode == 1
    assert "was not sent: " in str(failed.value)
    assert capsys.readouterr().out == "0 mails with 0 reminders were sent.\n"
    assert not Reminder.objects.exists()


def test_the_command_says_what_it_sent(hugo, capsys):
    due(date.today() + timedelta(days=5))  # noqa: DTZ011  (the command asks the clock)
    call_command("remind")
    call_command("remind")
    assert capsys.readouterr().out.splitlines() == [
        "1 mails with 1 reminders were sent.",
        "0 mails with 0 reminders were sent.",
    ]


def test_without_a_laboratory_the_command_says_so(db):
    from labsite.ledger.models import Laboratory

    Laboratory.objects.all().delete()
    with pytest.raises(CommandError, match="The laboratory is not set up yet"):
        call_command("remind")


@pytest.mark.django_db(transaction=True)
def test_two_runs_at_once_send_once(hugo):
    in_days(7)
    outcomes = []

    def run() -> None:
        outcomes.append(send_reminders(at=TODAY))
        connections.close_all()

    runs = [threading.Thread(target=run) for _ in range(3)]
    for one in runs:
        one.start()
    for one in runs:
        one.join()
    assert sorted(outcome.mails for outcome in outcomes) == [0, 0, 1]
    assert len(mail.outbox) == 1
    assert Reminder.objects.count() == 3

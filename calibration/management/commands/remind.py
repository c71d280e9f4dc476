"""Send what is to be sent today: reminders of calibrations that fall due."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from calibration.actions.reminders import send_reminders
from labsite.ledger.queries import laboratory_or_none


class Command(BaseCommand):
    """`manage.py remind`, once a day or as often as one likes: nothing is sent twice."""

    help = "Mail the quality keepers what falls due in 60, 30 and 7 days; each reminder once. Status 1 if a mail fails."

    def handle(self, *args: object, **options: Any) -> None:
        """Send, say what was sent, and end with status 1 where a mail failed."""
        if laboratory_or_none() is None:
            raise CommandError("The laboratory is not set up yet; its first page asks for name and zone.")
        outcome = send_reminders(at=timezone.now())
        self.stdout.write(f"{outcome.mails} mails with {outcome.reminders} reminders were sent.")
        if outcome.failures:
            raise CommandError("\n".join(outcome.failures))

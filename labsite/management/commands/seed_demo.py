"""Fill an empty database with the invented laboratory."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from labsite.demo.scenario import tell
from labsite.ledger.models import User
from labsite.ledger.queries import laboratory_or_none
from specimens.models import Order


class Command(BaseCommand):
    """Seed the demo scenario; refused where real records could be."""

    help = "Fill an empty database with an invented laboratory; its dates move with today."

    def add_arguments(self, parser: CommandParser) -> None:
        """`--if-empty` makes a filled database no fault."""
        parser.add_argument("--if-empty", action="store_true", help="do nothing when the database is in use")

    def handle(self, *args: Any, **options: Any) -> None:
        """Refuse in production settings and on a database that is in use."""
        if not settings.DEMO_ALLOWED:
            raise CommandError("The demo is not seeded under production settings: its passwords are printed.")
        if Order.objects.exists() or laboratory_or_none() is not None or User.objects.exists():
            if options["if_empty"]:
                return
            raise CommandError("This database already holds a laboratory’s records; the demo needs an empty one.")
        self.stdout.write("Inventing a laboratory …", ending=" ")
        self.stdout.flush()
        tell(now=timezone.now())
        self.stdout.write("done.")

"""Find any changed, missing or swapped entry of the ledger, and name it."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from labsite.ledger.append_only import missing_guards
from labsite.ledger.queries import ledger_faults


class Command(BaseCommand):
    """Verify every chain; exit status 1 when something is wrong."""

    help = "Verify the hash chains of the ledger and the triggers that keep it append-only."

    def handle(self, *args: Any, **options: Any) -> None:
        """Print each fault on its own line."""
        faults = [*ledger_faults(), *(f"The trigger {name} is missing from the database." for name in missing_guards())]
        for fault in faults:
            self.stdout.write(fault)
        if faults:
            raise CommandError(f"{len(faults)} faults found in the ledger.")
        self.stdout.write("The ledger is whole: every entry follows the one before it, none is changed or missing.")

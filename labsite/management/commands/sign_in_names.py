"""Print who may sign in, and with which password where it is the demo's."""

from typing import Any

from django.core.management.base import BaseCommand

from labsite.demo.people import LABORATORY, PASSWORD
from labsite.ledger.queries import laboratory_or_none
from labsite.ledger.wording import mid_sentence
from labsite.queries import people_with_roles


class Command(BaseCommand):
    """List the people of this installation."""

    help = "Print the sign-in names of this installation."

    def handle(self, *args: Any, **options: Any) -> None:
        """One line for each active person; the password only where it is the demo's own."""
        laboratory = laboratory_or_none()
        if laboratory is None:
            self.stdout.write("Nobody is entered yet: the first page asks for the laboratory and its administrator.")
            return
        demo = laboratory.name == LABORATORY["name"]
        for person in people_with_roles().filter(is_active=True):
            roles = ", ".join(
                sorted(mid_sentence(holding.get_role_display()) for holding in person.role_holdings.all())
            )
            self.stdout.write(f"  {person.username:<12} {person.full_name}: {roles}")
        if demo:
            self.stdout.write(f"Everybody’s password in this invented laboratory: {PASSWORD}")

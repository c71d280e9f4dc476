"""Bring the database up to date, fill an empty one with the demo scenario, and print who can sign in."""

import sys

import django
from django.core.management import call_command

# One process for all three, because starting Django is most of the time a second start takes.
django.setup()
call_command("migrate", verbosity=0, interactive=False)
if sys.argv[1] == "1":
    call_command("seed_demo", "--if-empty")
call_command("sign_in_names")

"""Entries of the ledger are never changed or deleted."""

from typing import ClassVar

from django.db import migrations

from labsite.ledger.append_only import append_only


class Migration(migrations.Migration):
    """Guard the entries."""

    dependencies: ClassVar = [("ledger", "0001_initial")]
    operations: ClassVar = [append_only("ledger_entry")]

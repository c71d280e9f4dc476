"""What was observed at the bench and signed is never changed or deleted."""

from typing import ClassVar

from django.db import migrations

from labsite.ledger.append_only import append_only


class Migration(migrations.Migration):
    """Guard observations, set-up values and signed verdicts."""

    dependencies: ClassVar = [("trials", "0001_initial")]
    operations: ClassVar = [
        append_only("trials_observation"),
        append_only("trials_setupvalue"),
        append_only("trials_signedverdict"),
    ]

"""With which instrument and calibration a trial was made is never changed: the database refuses it."""

from typing import ClassVar

from django.db import migrations

from labsite.ledger.append_only import append_only


class Migration(migrations.Migration):
    """What a reverse trace rests on."""

    dependencies: ClassVar = [("trials", "0007_permitted_use")]
    operations: ClassVar = [append_only("trials_instrumentuse")]

"""Points of a calibration and changes of service are never changed once written: the database refuses it."""

from typing import ClassVar

from django.db import migrations

from labsite.ledger.append_only import append_only


class Migration(migrations.Migration):
    """What corrections and the gate rest on."""

    dependencies: ClassVar = [("calibration", "0006_use_permits")]
    operations: ClassVar = [append_only("calibration_calibrationpoint"), append_only("calibration_servicechange")]

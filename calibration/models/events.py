"""What happens to an instrument between calibrations: moved, lost, damaged, repaired, sent away, maintained."""

from typing import ClassVar

from django.db import models


class InstrumentEvent(models.Model):
    """One thing that happened to an instrument. What takes it out of service also has its ServiceChange."""

    class Kind(models.TextChoices):
        """What happened."""

        MOVED = "moved", "Moved"
        SENT_AWAY = "sent away", "Sent away"
        RECEIVED_BACK = "received back", "Received back"
        LOST = "lost", "Lost"
        FOUND = "found", "Found again"
        DAMAGED = "damaged", "Damaged"
        DOUBTED = "doubted", "Doubted"
        REPAIRED = "repaired", "Repaired"
        MODIFIED = "modified", "Modified or software changed"
        ADJUSTED = "adjusted", "Adjusted"
        MAINTAINED = "maintained", "Maintained"

    instrument = models.ForeignKey("calibration.Instrument", on_delete=models.PROTECT, related_name="events")
    kind = models.CharField(max_length=20, choices=Kind.choices)
    happened_on = models.DateField()
    text = models.CharField(max_length=300)
    place = models.ForeignKey("ledger.Place", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    file = models.ForeignKey("ledger.StoredFile", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    at = models.DateTimeField()
    by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    class Meta:
        """Read per instrument, latest first."""

        indexes: ClassVar = [models.Index(fields=["instrument", "-at"], name="event_by_instrument")]

    def __str__(self) -> str:
        return f"{self.instrument_id} {self.kind}"

"""Who is told what falls due: reminders by mail, and calendar addresses that can be revoked."""

from typing import ClassVar

from django.db import models


class Reminder(models.Model):
    """One reminder about one calibration, this many days before it falls due; each is sent once."""

    calibration = models.ForeignKey("calibration.Calibration", on_delete=models.PROTECT, related_name="reminders")
    due_on = models.DateField()
    days_before = models.PositiveSmallIntegerField()
    sent_at = models.DateTimeField()
    sent_to = models.JSONField(default=list)

    class Meta:
        """Once for a due day and a distance."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["calibration", "due_on", "days_before"], name="reminded_once"),
        ]

    def __str__(self) -> str:
        return f"{self.calibration_id} {self.days_before} days before"


class CalendarAddress(models.Model):
    """A secret address under which a person's calendar reads the due dates, until it is revoked.

    Only the fingerprint of the secret is kept.
    """

    person = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="calendar_addresses")
    secret_sha256 = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    last_read_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    revoked_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    def __str__(self) -> str:
        return f"calendar of {self.person_id}"

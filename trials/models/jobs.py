"""An order line's work as handed to a technician and a rig."""

from typing import ClassVar

from django.db import models


class Job(models.Model):
    """A hand-out. A later one for the same order line supersedes it."""

    order_line = models.ForeignKey("specimens.OrderLine", on_delete=models.PROTECT, related_name="jobs")
    technician = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="jobs")
    rig = models.ForeignKey("calibration.Rig", on_delete=models.PROTECT, related_name="jobs")
    handed_at = models.DateTimeField()
    handed_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")
    superseded_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        """One standing hand-out for each order line."""

        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["order_line"], condition=models.Q(superseded_at=None), name="one_standing_job"
            ),
        ]

    def __str__(self) -> str:
        return f"line {self.order_line_id} to {self.technician_id}"

"""A new or returned rig: what is looked at before it goes into service. And the wires fitted to it."""

from typing import ClassVar

from django.db import models

from labsite.ledger.fields import DigitsField


class Commissioning(models.Model):
    """The list worked off before a rig goes into service: new, after a repair or after a move.

    While it is open, and after it ended without release, the rig is not used.
    """

    class Occasion(models.TextChoices):
        """Why the rig is looked at."""

        NEW = "new", "New rig"
        REPAIRED = "repaired", "Back from repair"
        MOVED = "moved", "Moved"

    rig = models.ForeignKey("calibration.Rig", on_delete=models.PROTECT, related_name="commissionings")
    occasion = models.CharField(max_length=10, choices=Occasion.choices)
    reason = models.CharField(max_length=300, blank=True, default="")
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    release_note = models.CharField(max_length=300, blank=True, default="")

    class Meta:
        """One open list for a rig."""

        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["rig"], condition=models.Q(released_at=None), name="one_open_commissioning"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.rig_id} {self.occasion}"


class CommissioningLine(models.Model):
    """One thing to look at: a part counted, a transport lock, a requirement with value and limit, a paper filed."""

    class Kind(models.TextChoices):
        """What is looked at."""

        PART = "part", "Part or accessory"
        LOCK = "lock", "Transport lock"
        REQUIREMENT = "requirement", "Requirement of the apparatus"
        PAPER = "paper", "Paper"

    commissioning = models.ForeignKey("calibration.Commissioning", on_delete=models.PROTECT, related_name="lines")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=12, choices=Kind.choices)
    title = models.CharField(max_length=200)
    limit_text = models.CharField(max_length=120, blank=True, default="")
    low = DigitsField(null=True, blank=True)
    high = DigitsField(null=True, blank=True)
    unit = models.CharField(max_length=12, blank=True, default="")
    source = models.CharField(max_length=200, blank=True, default="")
    added_at = models.DateTimeField(null=True, blank=True)
    """When it was added by hand; None for a line the list was opened with."""

    class Meta:
        """In the order of the list."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["commissioning", "position"], name="commissioning_place_once"),
        ]

    def __str__(self) -> str:
        return self.title


class CommissioningFinding(models.Model):
    """What was found for one line; a later finding replaces an earlier one and both stay."""

    line = models.ForeignKey("calibration.CommissioningLine", on_delete=models.PROTECT, related_name="findings")
    holds = models.BooleanField()
    value = DigitsField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True, default="")
    measured_with = models.ForeignKey(
        "calibration.Instrument", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    file = models.ForeignKey("ledger.StoredFile", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    at = models.DateTimeField()
    by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"{self.line_id} {self.holds}"


class GlowWire(models.Model):
    """One glow-wire fitted to a rig, from its first heating to its replacement."""

    rig = models.ForeignKey("calibration.Rig", on_delete=models.PROTECT, related_name="wires")
    code = models.CharField(max_length=20)
    lot = models.CharField(max_length=60, blank=True, default="")
    first_tip_mm = DigitsField(null=True, blank=True)
    """The measure of the new tip that wear is compared with."""
    fitted_at = models.DateTimeField()
    fitted_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")
    removed_at = models.DateTimeField(null=True, blank=True)
    removed_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    removed_reason = models.CharField(max_length=300, blank=True, default="")

    class Meta:
        """A rig carries one wire at a time, and a wire's code is its own on that rig."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["rig"], condition=models.Q(removed_at=None), name="one_wire_on_a_rig"),
            models.UniqueConstraint(fields=["rig", "code"], name="wire_code_once"),
        ]

    def __str__(self) -> str:
        return self.code


class WireCare(models.Model):
    """A wire cleaned, or its tip measured."""

    class Kind(models.TextChoices):
        """What was done."""

        CLEANED = "cleaned", "Cleaned"
        MEASURED = "measured", "Tip measured"

    wire = models.ForeignKey("calibration.GlowWire", on_delete=models.PROTECT, related_name="care")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    tip_mm = DigitsField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True, default="")
    at = models.DateTimeField()
    by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"{self.wire_id} {self.kind}"

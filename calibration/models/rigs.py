"""Test apparatus and the instruments mounted on it."""

from typing import ClassVar

from django.db import models


class RigKind(models.TextChoices):
    """What a rig is built for; methods ask for a rig by these words."""

    GLOW_WIRE = "glow wire", "Glow wire"
    NEEDLE_FLAME = "needle flame", "Needle flame"
    SMALL_BURNER = "small burner", "Small burner flame"
    BALL_PRESSURE = "ball pressure", "Ball pressure"
    TRACKING = "tracking", "Tracking current"
    OTHER = "other", "Other apparatus"


class Rig(models.Model):
    """A test apparatus."""

    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=40, choices=RigKind.choices)
    place = models.ForeignKey("ledger.Place", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    in_use = models.BooleanField(default=True)
    version = models.PositiveIntegerField(default=1)

    def __str__(self) -> str:
        return self.code

    @property
    def book(self) -> str:
        """The rig's book in the ledger."""
        return f"rig:{self.code}"


class Mounting(models.Model):
    """An instrument on a rig, from a moment until it is taken off."""

    rig = models.ForeignKey("calibration.Rig", on_delete=models.PROTECT, related_name="mountings")
    instrument = models.ForeignKey("calibration.Instrument", on_delete=models.PROTECT, related_name="mountings")
    mounted_at = models.DateTimeField()
    mounted_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")
    removed_at = models.DateTimeField(null=True, blank=True)
    removed_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        """An instrument is on one rig at a time."""

        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["instrument"], condition=models.Q(removed_at=None), name="instrument_on_one_rig"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.rig_id}: {self.instrument_id}"

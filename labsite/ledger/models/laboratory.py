"""What differs between laboratories: name, address, zone, places."""

from typing import ClassVar
from zoneinfo import ZoneInfo

from django.db import models


class Language(models.TextChoices):
    """Languages of certificates."""

    ENGLISH = "en", "English"
    GERMAN = "de", "Deutsch"


class Laboratory(models.Model):
    """The one laboratory this installation serves."""

    name = models.CharField(max_length=120)
    address = models.TextField()
    zone = models.CharField(max_length=60)
    language = models.CharField(max_length=10, choices=Language.choices, default="en")
    accreditation_number = models.CharField(max_length=60, blank=True, default="")
    accreditation_body = models.CharField(max_length=120, blank=True, default="")
    accreditation_mark = models.ForeignKey(
        "ledger.StoredFile", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    e_n_one_is_action = models.BooleanField(default=False)
    """Whether E_n of exactly 1 calls for action (ISO 13528) instead of being satisfactory (ISO/IEC 17043)."""
    version = models.PositiveIntegerField(default=1)

    class Meta:
        """There is one row, or none before the first run is finished."""

        constraints: ClassVar = [models.CheckConstraint(condition=models.Q(pk=1), name="one_laboratory")]

    def __str__(self) -> str:
        return self.name

    @property
    def zone_info(self) -> ZoneInfo:
        """The zone in which moments are shown and days end."""
        return ZoneInfo(self.zone)


class Place(models.Model):
    """Somewhere a thing can be: a shelf, a conditioning chamber, a room, a bench."""

    class Kind(models.TextChoices):
        """What kind of place."""

        SHELF = "shelf", "Shelf"
        CHAMBER = "chamber", "Conditioning chamber or room"
        BENCH = "bench", "Bench"
        OTHER = "other", "Other place"

    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=10, choices=Kind.choices)
    in_use = models.BooleanField(default=True)

    def __str__(self) -> str:
        return self.code

"""What the client sent, the pieces that are tested, where they are, and what was wrong with them."""

from typing import ClassVar

from django.db import models

from labsite.ledger.fields import DigitsField


class Receipt(models.Model):
    """A parcel that came in at the counter."""

    class Outside(models.TextChoices):
        """The parcel from outside."""

        SOUND = "sound", "Sound"
        OPENED = "opened", "Opened"
        WET = "wet", "Wet"
        CRUSHED = "crushed", "Crushed"

    order = models.ForeignKey("specimens.Order", on_delete=models.PROTECT, related_name="receipts")
    came_at = models.DateTimeField()
    brought_by = models.CharField(max_length=120)
    parcels = models.PositiveSmallIntegerField(default=1)
    outside = models.CharField(max_length=10, choices=Outside.choices)
    received_at = models.DateTimeField()
    received_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"{self.order_id} {self.came_at:%Y-%m-%d}"


class Item(models.Model):
    """What the client sent: so many of one thing."""

    number = models.CharField(max_length=10, unique=True)
    receipt = models.ForeignKey("specimens.Receipt", on_delete=models.PROTECT, related_name="items")
    order_line = models.ForeignKey("specimens.OrderLine", on_delete=models.PROTECT, related_name="items")
    description = models.CharField(max_length=200)
    client_name_for_it = models.CharField(max_length=200, blank=True, default="")
    material = models.CharField(max_length=120)
    colour = models.CharField(max_length=60)
    stated_count = models.PositiveSmallIntegerField(null=True, blank=True)
    counted = models.PositiveSmallIntegerField()
    condition = models.CharField(max_length=200)

    def __str__(self) -> str:
        return self.number


class Specimen(models.Model):
    """One piece that is tested."""

    number = models.CharField(max_length=10, unique=True)
    item = models.ForeignKey("specimens.Item", on_delete=models.PROTECT, related_name="specimens")
    order_line = models.ForeignKey("specimens.OrderLine", on_delete=models.PROTECT, related_name="specimens")
    thickness_mm = DigitsField(null=True, blank=True)
    surface = models.CharField(max_length=200, blank=True, default="")
    made_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.number


class Photo(models.Model):
    """A picture of an item as it came in; the original is kept as it is."""

    item = models.ForeignKey("specimens.Item", on_delete=models.PROTECT, related_name="photos")
    file = models.ForeignKey("ledger.StoredFile", on_delete=models.PROTECT, related_name="+")
    shown = models.ForeignKey("ledger.StoredFile", on_delete=models.PROTECT, related_name="+")
    caption = models.CharField(max_length=200, blank=True, default="")
    at = models.DateTimeField()
    by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"Photo of {self.item_id}"


class Custody(models.Model):
    """An item or a specimen handed to a place or a person. The latest row holds."""

    specimen = models.ForeignKey(
        "specimens.Specimen", on_delete=models.PROTECT, null=True, blank=True, related_name="custody"
    )
    item = models.ForeignKey("specimens.Item", on_delete=models.PROTECT, null=True, blank=True, related_name="custody")
    place = models.ForeignKey("ledger.Place", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    person = models.ForeignKey("ledger.User", on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    at = models.DateTimeField()
    by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=200, blank=True, default="")

    class Meta:
        """One piece, with a place or with a person, not both."""

        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(specimen__isnull=True) ^ models.Q(item__isnull=True), name="custody_of_one_piece"
            ),
            models.CheckConstraint(
                condition=models.Q(place__isnull=True) ^ models.Q(person__isnull=True), name="custody_place_or_person"
            ),
        ]
        indexes: ClassVar = [
            models.Index(fields=["specimen", "-at"], name="custody_by_specimen"),
            models.Index(fields=["item", "-at"], name="custody_by_item"),
        ]

    def __str__(self) -> str:
        return f"{self.specimen_id or self.item_id} at {self.at:%Y-%m-%d %H:%M}"

    @property
    def holder(self) -> str:
        """The place's code and name, or the person's name."""
        return f"{self.place.code}, {self.place.name}" if self.place is not None else str(self.person)


class Deviation(models.Model):
    """Something found at receipt that differs from the order (ISO/IEC 17025 7.4.3)."""

    item = models.ForeignKey("specimens.Item", on_delete=models.PROTECT, related_name="deviations")
    text = models.TextField()
    raised_at = models.DateTimeField()
    raised_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return self.text[:60]


class DeviationAnswer(models.Model):
    """The client's answer to a deviation."""

    class Decision(models.TextChoices):
        """What the client decided."""

        TEST_ANYWAY = "test anyway", "Test anyway; the certificate says so"
        REPLACE = "replace", "Do not test these; the client sends others"
        CANCEL = "cancel", "Do not test; cancel the line"

    deviation = models.OneToOneField("specimens.Deviation", on_delete=models.PROTECT, related_name="answer")
    decision = models.CharField(max_length=12, choices=Decision.choices)
    answered_by = models.CharField(max_length=120)
    answer = models.TextField()
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"{self.deviation_id}: {self.decision}"

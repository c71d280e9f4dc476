"""Who may do what by which method edition, and which editions the laboratory has confirmed."""

from typing import ClassVar

from django.db import models


class Authorisation(models.Model):
    """A named person may do a named activity on a method edition from one day to another (ISO/IEC 17025 6.2.6)."""

    class Activity(models.TextChoices):
        """What the person may do."""

        PERFORM = "perform", "Perform trials"
        CHECK = "check", "Check trials"
        SIGN = "sign", "Sign certificates"

    person = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="authorisations")
    method_key = models.CharField(max_length=80)
    activity = models.CharField(max_length=10, choices=Activity.choices)
    from_on = models.DateField()
    until_on = models.DateField(null=True, blank=True)
    granted_at = models.DateTimeField()
    granted_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        """Asked for by person, method and activity; granted by somebody else."""

        indexes: ClassVar = [models.Index(fields=["method_key", "activity"], name="authorisation_by_method")]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(until_on=None) | models.Q(until_on__gte=models.F("from_on")),
                name="authorisation_from_before_until",
            ),
            models.CheckConstraint(
                condition=~models.Q(person=models.F("granted_by")), name="authorisation_granted_by_another"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person_id} {self.activity} {self.method_key}"


class ParameterSheet(models.Model):
    """One revision of the laboratory's own figures for an edition; the newest holds for trials opened after it.

    `changes` is everything that differs from the edition as delivered, which is revision 0 and has no row:
    {"force_n": {"tolerance": "0.05"}}; numbers are texts.
    """

    method_key = models.CharField(max_length=80)
    revision = models.PositiveIntegerField()
    changes = models.JSONField()
    reason = models.CharField(max_length=300)
    parameters_sha256 = models.CharField(max_length=64)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    class Meta:
        """Revisions are counted from 1, each once."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["method_key", "revision"], name="sheet_revision_once"),
            models.CheckConstraint(condition=models.Q(revision__gte=1), name="sheet_revision_from_one"),
        ]

    def __str__(self) -> str:
        return f"{self.method_key} revision {self.revision}"


class EditionConfirmation(models.Model):
    """A lead compared an edition's figures with the laboratory's own copy of the standard."""

    method_key = models.CharField(max_length=80)
    parameters_sha256 = models.CharField(max_length=64)
    confirmed_at = models.DateTimeField()
    confirmed_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=300, blank=True, default="")

    def __str__(self) -> str:
        return f"{self.method_key} confirmed"

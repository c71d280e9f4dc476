"""The laboratory's uncertainty budgets for the quantities its methods report."""

from typing import ClassVar

from django.db import models

from labsite.ledger.fields import DigitsField


class UncertaintyBudget(models.Model):
    """One version of the budget of one quantity of a method; the newest holds for what is tested after it.

    `rows` are the contributions as typed, numbers as texts; the figures beside are what they came to when it was made,
    unrounded.
    """

    method_slug = models.CharField(max_length=60)
    quantity_key = models.CharField(max_length=60)
    version = models.PositiveIntegerField()
    unit = models.CharField(max_length=12)
    rows = models.JSONField()
    level = models.CharField(max_length=12)
    shape = models.CharField(max_length=12, default="t")
    standard_uncertainty = DigitsField()
    effective_degrees = DigitsField(null=True, blank=True)
    coverage_factor = DigitsField()
    expanded_uncertainty = DigitsField()
    reason = models.CharField(max_length=300)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")

    class Meta:
        """Versions are counted from 1, each once."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["method_slug", "quantity_key", "version"], name="budget_version_once"),
        ]

    def __str__(self) -> str:
        return f"{self.method_slug} {self.quantity_key} version {self.version}"

"""Counters that never give a number twice, and forms that never count twice."""

from django.db import models


class Series(models.Model):
    """A counter. Its row is locked while a number is taken."""

    name = models.CharField(max_length=60, unique=True)
    last = models.PositiveBigIntegerField(default=0)

    def __str__(self) -> str:
        return self.name


class Submission(models.Model):
    """A form that was sent: sending it again leads to what the first sending made."""

    key = models.UUIDField(unique=True)
    by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(auto_now_add=True)
    outcome = models.CharField(max_length=500, blank=True, default="")

    def __str__(self) -> str:
        return str(self.key)

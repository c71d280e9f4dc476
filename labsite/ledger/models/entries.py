"""The append-only record of who did what, when; one hash chain per book."""

from typing import ClassVar

from django.db import models


class Book(models.Model):
    """The chain of one thing: an order, an instrument, a person. Its row is what a writer locks."""

    name = models.CharField(max_length=80, unique=True)
    length = models.PositiveBigIntegerField(default=0)
    head = models.CharField(max_length=64, blank=True, default="")

    def __str__(self) -> str:
        return self.name


class Entry(models.Model):
    """One act. The database itself refuses to change or delete it."""

    book = models.ForeignKey("ledger.Book", on_delete=models.PROTECT, related_name="entries")
    sequence = models.PositiveBigIntegerField()
    at = models.DateTimeField()
    by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="entries")
    act = models.CharField(max_length=80)
    data = models.JSONField(default=dict)
    previous_hash = models.CharField(max_length=64, blank=True)
    hash = models.CharField(max_length=64)

    class Meta:
        """Each place in a chain is taken once."""

        constraints: ClassVar = [models.UniqueConstraint(fields=["book", "sequence"], name="entry_place_taken_once")]
        indexes: ClassVar = [models.Index(fields=["-at"], name="entry_by_moment")]

    def __str__(self) -> str:
        return f"{self.book_id}/{self.sequence} {self.act}"

"""One agreed piece of business: what to test, how, by when, under which decision rule."""

from typing import ClassVar

from django.db import models

from labsite.ledger.fields import DigitsField
from specimens.domain.order_lines import CLIENTS_OWN_RULE, RULES


class DecisionRule(models.TextChoices):
    """How a measured value is compared with a limit (ISO/IEC 17025 7.1.3)."""

    IN_STANDARD = "in the standard", RULES["in the standard"]
    SIMPLE = "simple acceptance", RULES["simple acceptance"]
    GUARD_BAND = "guard band", RULES["guard band"]
    CLIENT = CLIENTS_OWN_RULE, RULES[CLIENTS_OWN_RULE]


class Order(models.Model):
    """One order. A line added or withdrawn makes a new version, which a signed contract review no longer covers."""

    number = models.CharField(max_length=7, unique=True)
    client = models.ForeignKey("specimens.Client", on_delete=models.PROTECT, related_name="orders")
    contact = models.ForeignKey("specimens.Contact", on_delete=models.PROTECT, related_name="orders")
    purchase_order = models.CharField(max_length=60, blank=True, default="")
    promised_on = models.DateField(null=True, blank=True)
    leftovers = models.CharField(max_length=200, blank=True, default="")
    handling = models.TextField(blank=True, default="")
    taken_at = models.DateTimeField()
    taken_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")
    version = models.PositiveIntegerField(default=1)

    class Meta:
        """Newest first, paged by moment and key."""

        indexes: ClassVar = [models.Index(fields=["-taken_at", "-id"], name="order_newest_first")]

    def __str__(self) -> str:
        return self.number

    @property
    def book(self) -> str:
        """The order's book in the ledger."""
        return f"order:{self.number}"


class OrderLine(models.Model):
    """One method edition and severity on a set of specimens: the unit that gets a verdict."""

    order = models.ForeignKey("specimens.Order", on_delete=models.PROTECT, related_name="lines")
    position = models.PositiveSmallIntegerField()
    method_key = models.CharField(max_length=80)
    severity = DigitsField(null=True, blank=True)
    """The level ordered; None where the order is open: an index is searched for, or the best class."""
    start_severity = DigitsField(null=True, blank=True)
    """The level agreed to begin a search at."""
    believed_severity = DigitsField(null=True, blank=True)
    """What the client believes the index to be, from a data sheet; never judged, used to plan a search."""
    believed_spread = DigitsField(null=True, blank=True)
    """How far the believed index may be off, one standard deviation, in the unit of the severity."""
    agreed_parameters = models.JSONField(default=dict, blank=True)
    """Figures agreed in place of the edition's, by parameter: {"limit_mm": {"high": "1.8"}}; numbers are texts."""
    specimens_ordered = models.PositiveSmallIntegerField()
    decision_rule = models.CharField(max_length=20, choices=DecisionRule.choices)
    decision_rule_note = models.CharField(max_length=300, blank=True, default="")
    product_standard = models.CharField(max_length=120, blank=True, default="")
    subject = models.CharField(max_length=200)
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        """Positions are taken once."""

        constraints: ClassVar = [models.UniqueConstraint(fields=["order", "position"], name="line_position_once")]

    def __str__(self) -> str:
        return f"{self.order_id}/{self.position}"


class ContractReview(models.Model):
    """A lead has reviewed the request, and who agreed at the client's (ISO/IEC 17025 7.1)."""

    order = models.ForeignKey("specimens.Order", on_delete=models.PROTECT, related_name="reviews")
    order_version = models.PositiveIntegerField()
    signed_at = models.DateTimeField()
    signed_by = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="+")
    agreed_with = models.CharField(max_length=120)
    agreed_on = models.DateField()
    note = models.TextField(blank=True, default="")

    class Meta:
        """One signed review for each version of the order."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["order", "order_version"], name="review_once_per_version"),
        ]

    def __str__(self) -> str:
        return f"{self.order_id} reviewed"

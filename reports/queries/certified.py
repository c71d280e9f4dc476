"""Order lines that stand in an issued certificate."""

from django.db.models import QuerySet

from reports.models import Certificate


def certified_line_ids() -> QuerySet[Certificate, int]:
    """The keys of all order lines in any certificate, as a query that a lower app may put into its own."""
    return Certificate.objects.exclude(lines=None).values_list("lines", flat=True)

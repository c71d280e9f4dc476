"""Reads of the site's own pages."""

from django.db.models import QuerySet

from labsite.ledger.models import Place, User


def people_with_roles() -> QuerySet[User]:
    """Everybody ever entered, active first, with their roles."""
    return User.objects.prefetch_related("role_holdings").order_by("-is_active", "full_name")


def all_places() -> QuerySet[Place]:
    """Every place, those in use first."""
    return Place.objects.order_by("-in_use", "code")

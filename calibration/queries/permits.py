"""Permits to use overdue instruments: of one instrument, or all of them for review."""

from datetime import datetime

from django.db.models import Count, QuerySet

from calibration.models import Instrument, UsePermit


def permits_known(at: datetime) -> QuerySet[UsePermit]:
    """Every permit given by `at`, latest first, with instrument, person and how many trials used it."""
    rows = UsePermit.objects.filter(given_at__lte=at).select_related("instrument", "given_by", "calibration")
    return rows.annotate(trials=Count("uses__trial", distinct=True)).order_by("-given_at", "-pk")


def permits_of(instrument: Instrument, at: datetime) -> QuerySet[UsePermit]:
    """Those of one instrument."""
    return permits_known(at).filter(instrument=instrument)

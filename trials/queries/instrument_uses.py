"""How often an instrument was used in trials."""

from collections.abc import Sequence
from datetime import datetime

from django.db.models import Count, Q

from trials.models import InstrumentUse


def uses_between(instrument_id: int, periods: Sequence[tuple[datetime, datetime]]) -> list[int]:
    """In how many trials the instrument was used in each period (begin included, end not); one read.

    An instrument in two roles of one trial was used once.
    """
    if not periods:
        return []
    counted = InstrumentUse.objects.filter(instrument_id=instrument_id).aggregate(
        **{
            f"period_{place}": Count("trial", distinct=True, filter=Q(at__gte=begin, at__lt=end))
            for place, (begin, end) in enumerate(periods)
        }
    )
    return [counted[f"period_{place}"] for place in range(len(periods))]

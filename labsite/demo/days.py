"""Moments of the demo: on earlier days in working hours, today shortly before now."""

from datetime import datetime, time, timedelta

from labsite.ledger.queries import laboratory_day, laboratory_zone


def working_hour(now: datetime, days_ago: int, hour: int, minute: int = 0) -> datetime:
    """That hour at the laboratory on a day so long ago; for today, as far before now as the hour is before 18:00."""
    if days_ago == 0:
        return now - timedelta(minutes=(18 - hour) * 30 - minute // 2)
    day = laboratory_day(now) - timedelta(days=days_ago)
    return datetime.combine(day, time(hour, minute), tzinfo=laboratory_zone())

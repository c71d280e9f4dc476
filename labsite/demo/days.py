"""Moments of the demo: on earlier working days in working hours, today shortly before now."""

from datetime import datetime, time, timedelta

from labsite.ledger.queries import laboratory_day, laboratory_zone

SATURDAY = 5


def working_hour(now: datetime, days_ago: int, hour: int, minute: int = 0) -> datetime:
    """That hour at the laboratory so many working days ago; for today, the earlier the hour the longer before now."""
    if days_ago == 0:
        return now - timedelta(minutes=(18 - hour) * 30 - minute // 2)
    day = laboratory_day(now)
    while days_ago:
        day -= timedelta(days=1)
        days_ago -= day.weekday() < SATURDAY
    return datetime.combine(day, time(hour, minute), tzinfo=laboratory_zone())

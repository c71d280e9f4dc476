"""Say from the command line when a calibration falls due."""

import re
from argparse import ArgumentParser
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from django.core.management.base import BaseCommand

from calibration.domain.due import DAYS, MONTHS, due_on, usable_until
from calibration.management.answers import Refused, as_json

_WRITTEN = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


class Command(BaseCommand):
    """`manage.py due_date 2024-02-29 --months 12`; needs no database."""

    help = (
        "Print the day on which a calibration falls due, and with --zone the instant at which that day ends, as JSON."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the day of the calibration and the interval, in months or in days."""
        parser.add_argument("calibrated_on", metavar="DAY", help="the day of the calibration, as year-month-day")
        interval = parser.add_mutually_exclusive_group(required=True)
        interval.add_argument("--months", help="the interval in months; a month without that day ends on its last one")
        interval.add_argument("--days", help="the interval in days")
        parser.add_argument("--zone", help="the laboratory's time zone, like Europe/Berlin")

    def handle(self, *args: object, **options: Any) -> None:
        """Compute and print, or refuse."""
        calibrated_on = _day(options["calibrated_on"])
        unit = DAYS if options["months"] is None else MONTHS
        interval = _whole(options[unit])
        try:
            due = due_on(calibrated_on, interval, unit)
        except ValueError as refusal:
            raise Refused(f"There is no due day: {refusal}.") from refusal
        answer = {
            "calibrated_on": calibrated_on.isoformat(),
            "interval": f"{interval} {unit}",
            "due_on": due.isoformat(),
        }
        if options["zone"] is not None:
            answer["usable_before"] = _end(due, options["zone"])
        self.stdout.write(as_json(answer))


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text if _WRITTEN.fullmatch(text) else "")  # weeks of ISO 8601 are read by nobody here
    except ValueError as error:
        raise Refused(f"“{text}” is no day; write it as year-month-day, for example 2024-02-29.") from error


def _whole(text: str) -> int:
    if not (text.isascii() and text.lstrip("-").isdigit() and len(text) <= 9):
        raise Refused(f"“{text}” is no interval; write a whole number like 12.")
    return int(text)


def _end(due: date, zone: str) -> str:
    if zone not in available_timezones():
        raise Refused(f"“{zone}” is not a time zone; write one like Europe/Berlin.")
    try:
        return usable_until(due, ZoneInfo(zone)).isoformat()
    except OverflowError as error:
        raise Refused(f"{due} is the calendar's last day; its end cannot be told.") from error

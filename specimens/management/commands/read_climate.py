"""Print as JSON what the importer makes of a recorder's file, and how many hours of it are in band."""

import json
from argparse import ArgumentParser
from dataclasses import fields
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import BaseCommand

from specimens.domain.atmospheres import ATMOSPHERES
from specimens.domain.climate_answers import CHOICES, Answers, ClimateRefused

_HELP = {
    "separator": "character between columns; “tab” for a tab",
    "utc_offset": "offset of the recorder's clock, such as +01:00 (or a zone's name)",
    "device": "which of several recorders in the file",
    "started_at": "when a record that counts from zero began, such as 2026-11-17T08:00",
}


class Command(BaseCommand):
    """Exit status 0 with the reading on standard output; 2 with one sentence on standard error when it is refused.

    A refusal that questions could settle prints them, and what was understood so far, as JSON on standard output.
    The format is described in fixtures/worked/climate/README.md.
    """

    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", metavar="FILE", help="the file as it came from the recorder")
        parser.add_argument("--atmosphere", metavar="KEY", help=f"one of: {'; '.join(ATMOSPHERES)}")
        parser.add_argument("--zone", default="UTC", help="the laboratory's time zone, such as Europe/Berlin")
        parser.add_argument("--from", dest="from_at", metavar="MOMENT", help="count from here (first reading)")
        parser.add_argument("--until", dest="until_at", metavar="MOMENT", help="count up to here (last reading)")
        parser.add_argument("--longest-gap", type=float, metavar="SECONDS", help="other than the default")
        parser.add_argument("--recorder-zone", metavar="ZONE", help="answer: the zone of the recorder's clock")
        for field in fields(Answers):
            if field.name == "zone":
                continue
            option = "--" + field.name.replace("_", "-").removesuffix("s" if field.name.endswith("_tokens") else "")
            settings: dict[str, Any] = {"dest": field.name, "help": _HELP.get(field.name, "answer")}
            if field.name.endswith("_column"):
                settings |= {"type": int, "metavar": "N", "help": "answer: column number, from 1"}
            elif field.name.endswith("_tokens"):
                settings |= {"action": "append", "metavar": "TEXT", "help": "answer; may be given several times"}
            elif field.name in CHOICES and field.name != "separator":
                settings["choices"] = CHOICES[field.name]
            parser.add_argument(option, **settings)

    def handle(self, *args: Any, **options: Any) -> None:
        from specimens.domain.climate_json import refusal_data

        try:
            result = self._result(options)
        except ClimateRefused as refusal:
            if refusal.questions or refusal.understood:
                self.stdout.write(json.dumps(refusal_data(refusal), ensure_ascii=False, indent=2))
            self.stderr.write(" ".join(refusal.sentence.split()))
            raise SystemExit(2) from None
        self.stdout.write(json.dumps(result, ensure_ascii=False, indent=2))

    def _result(self, options: dict[str, Any]) -> dict[str, Any]:
        from specimens.domain.climate_file import read_climate_file
        from specimens.domain.climate_json import in_band_data, reading_data
        from specimens.domain.conditioning import hours_in_band, longest_gap

        key = options["atmosphere"]
        if key is not None and key not in ATMOSPHERES:
            raise ClimateRefused(f"There is no atmosphere “{key}”; there are: {'; '.join(ATMOSPHERES)}.")
        path = Path(options["file"])
        try:
            data = path.read_bytes()
        except OSError as fault:
            raise ClimateRefused(f"{path.name} cannot be opened: {fault.strerror}.") from fault
        reading = read_climate_file(data, file_name=path.name, zone=options["zone"], answers=_answers(options))
        result = reading_data(reading)
        if key is None:
            return result
        if reading.interval is None:
            raise ClimateRefused(f"{path.name} holds a single reading; no time lies between readings.")
        seconds = options["longest_gap"]
        from_at = _moment(options["from_at"], options["zone"]) or reading.first_at
        until_at = _moment(options["until_at"], options["zone"]) or reading.last_at
        if until_at < from_at:
            raise ClimateRefused("The window ends before it begins.")
        in_band = hours_in_band(
            reading.times_utc,
            reading.temperature_c,
            reading.humidity_percent,
            atmosphere=ATMOSPHERES[key],
            from_at=from_at,
            until_at=until_at,
            longest_gap=longest_gap(reading.interval) if seconds is None else timedelta(seconds=seconds),
        )
        return result | {"in_band": in_band_data(in_band, ATMOSPHERES[key])}


def _answers(options: dict[str, Any]) -> Answers:
    given = {field.name: options.get(field.name) for field in fields(Answers) if field.name != "zone"}
    given["zone"] = options["recorder_zone"]
    if given["separator"] in ("tab", "\\t"):
        given["separator"] = "\t"
    return Answers.from_json({name: value for name, value in given.items() if value is not None})


def _moment(text: str | None, zone: str) -> datetime | None:
    """A moment given on the command line; without an offset it is meant in the laboratory's zone."""
    if text is None:
        return None
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise ClimateRefused(f"“{text}” is not a date and time such as 2026-11-17T08:00.") from None
    return moment if moment.tzinfo else moment.replace(tzinfo=ZoneInfo(zone))

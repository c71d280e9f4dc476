"""List everything an instrument in doubt touched, judged again; nothing is kept."""

import json
from argparse import ArgumentParser
from dataclasses import asdict
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from calibration.queries.find import instrument_called
from labsite.ledger.refusals import Refused
from reports.domain.trace_rows import facts_to_json, tally_sentence
from reports.queries.trace import trace_of
from reports.queries.trace_cases import shown_now
from reports.queries.trace_judging import judged_rows


class Command(BaseCommand):
    """`manage.py trace TC-07 --from 2026-05-14 --to 2026-11-12`; JSON out, exit status 2 with a sentence on refusal."""

    help = "List trials, stays, certificates and instruments an instrument touched, each verdict judged again."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which instrument, and the window; without days, the one that the records say."""
        parser.add_argument("instrument", help="its code or number: TC-07")
        parser.add_argument("--from", dest="from_on", default="", help="first day: 2026-05-14")
        parser.add_argument("--to", dest="until_on", default="", help="last day: 2026-11-12")

    def handle(self, *args: object, **options: Any) -> None:
        """Search, judge again, write JSON."""
        try:
            answer = _answer(options["instrument"], _asked(options["from_on"], options["until_on"]))
        except Refused as refusal:
            raise CommandError(refusal.sentence, returncode=2) from refusal
        self.stdout.write(json.dumps(answer, ensure_ascii=False, indent=2))


def _asked(first: str, last: str) -> tuple[date, date] | None:
    if not first and not last:
        return None
    if not first or not last:
        raise Refused("A window has two ends: give --from and --to, or neither.")
    return _day(first), _day(last)


def _day(text: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise Refused(f"“{text}” is no day; write year, month, day: 2026-11-25.") from None
    if not 1990 <= day.year <= 2199:
        raise Refused(f"“{text}”: look at the year again.")
    return day


def _answer(name: str, asked: tuple[date, date] | None) -> dict[str, Any]:
    instrument = instrument_called(name)
    if instrument is None:
        raise Refused(f"No instrument has the number or code “{name}”.")
    trace = trace_of(instrument, timezone.now(), asked=asked)
    shown = shown_now(trace, judged_rows(trace))
    bad = trace.doubt.calibration
    return {
        "instrument": instrument.code,
        "window": {
            "from": trace.doubt.window.from_at.isoformat(),
            "until": trace.doubt.window.until_at.isoformat(),
            "sentence": trace.doubt.window.sentence,
        },
        "judged_with": None if bad is None else {"calibration": bad.pk, "calibrated_on": bad.calibrated_on.isoformat()},
        "says": tally_sentence(shown.tally),
        "counts": asdict(shown.tally),
        "lines": [
            {
                "kind": row.kind,
                "finding": row.finding,
                "why": row.sentence,
                "at": row.at.isoformat(),
                "through": row.through,
                **facts_to_json(row.facts),
            }
            for row in shown.rows
        ],
    }

"""Judge stored trials again and list every verdict that would change."""

import json
from argparse import ArgumentParser, ArgumentTypeError
from collections.abc import Iterator
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from labsite.ledger.numbering import grouped
from labsite.ledger.refusals import Refused
from specimens.forms.fields import FIRST_YEAR, LAST_YEAR
from trials.domain.methods.registry import EDITIONS
from trials.domain.rejudging import Difference
from trials.models import SignedVerdict
from trials.queries.rejudging import Asked, changed_verdicts, rebuilt_differences, verdicts_that_hold


class Command(BaseCommand):
    """`manage.py rejudge --since DATE`; changes nothing, exit status 1 when any verdict would change."""

    help = "Judge stored trials again from their records and list every verdict that would change, with what differs."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which verdicts, by which figures, and how the answer is written."""
        parser.add_argument("--since", type=_day, help="signed on this day or later: 2026-11-25")
        parser.add_argument("--method", default="", help="one method edition: glow-wire-end-product@2021")
        figures = parser.add_mutually_exclusive_group()
        figures.add_argument("--revision", type=int, help="by this revision of the laboratory's figures; 0 = delivered")
        figures.add_argument("--newest", action="store_true", help="by the newest revision of the laboratory's figures")
        parser.add_argument("--rows", action="store_true", help="also build each record again from the rows; slow")
        parser.add_argument(
            "--json", dest="as_json", action="store_true", help="one JSON object a line in place of words"
        )

    def handle(self, *args: object, **options: Any) -> None:
        """List what would change; progress goes to the error stream."""
        asked = Asked(options["since"], options["method"], options["revision"], options["newest"])
        if asked.method_key and asked.method_key not in EDITIONS:
            raise CommandError(f"There is no method edition {asked.method_key}.", returncode=2)
        if asked.revision is not None and not asked.method_key:
            raise CommandError("A revision belongs to one method edition: name it with --method.", returncode=2)
        total, found = verdicts_that_hold(asked).count(), 0
        try:
            for line in self._lines(asked, total, **options):
                found += 1
                self.stdout.write(line)
        except Refused as refusal:
            raise CommandError(refusal.sentence, returncode=2) from refusal
        if found:
            verb = "verdict would" if found == 1 else "verdicts would"
            what = "change or rests on other rows" if options["rows"] else "change"
            raise CommandError(f"{found} of {total} {verb} {what}.", returncode=1)
        self.stderr.write(f"{total} verdicts judged again: the same, byte for byte.")

    def _lines(self, asked: Asked, total: int, *, as_json: bool, rows: bool, **_: Any) -> Iterator[str]:
        def progress(done: int) -> None:
            self.stderr.write(f"{done} of {total}", ending="\r" if done < total else "\n")

        write = _json_line if as_json else _words
        for one in changed_verdicts(asked, progress):
            after = one.after.sentence if one.after is not None else f"Cannot be judged. {one.fault}"
            yield write(one.stored, after, one.differences)
        for stored, differences in rebuilt_differences(asked) if rows else ():
            yield write(stored, "The rows as recorded give another record.", differences)


def _day(text: str) -> date:
    try:
        day = date.fromisoformat(text)
        if not FIRST_YEAR <= day.year <= LAST_YEAR:
            raise ValueError
        return day
    except ValueError:
        raise ArgumentTypeError(f"“{text}” is no day; write year, month, day: 2026-11-25.") from None


def _words(stored: SignedVerdict, after: str, differences: tuple[Difference, ...]) -> str:
    specimen = "-".join(grouped(stored.trial.specimen.number))
    signed = f"signed {stored.signed_at:%Y-%m-%d %H:%M} UTC by {stored.signed_by}"
    head = f"Specimen {specimen}, trial {stored.trial_id}, {signed}: {stored.sentence} → {after}"
    return "\n".join([head, *(f"    {one.words}" for one in differences if one.what != "Sentence")])


def _json_line(stored: SignedVerdict, after: str, differences: tuple[Difference, ...]) -> str:
    plain = {
        "verdict": stored.pk,
        "trial": stored.trial_id,
        "specimen": stored.trial.specimen.number,
        "method": stored.trial.method_key,
        "signed_at": stored.signed_at.isoformat(),
        "signed_by": str(stored.signed_by),
        "before": stored.sentence,
        "after": after,
        "differences": [{"what": one.what, "before": one.before, "after": one.after} for one in differences],
    }
    return json.dumps(plain, ensure_ascii=False)

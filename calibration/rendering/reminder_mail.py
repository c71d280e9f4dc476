"""The mail that reminds of due days: one line of subject, plain text with an address for each instrument."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from calibration.domain.reminders import DAYS_BEFORE, days_left_in_words
from calibration.domain.status import shown
from labsite.ledger.fields import one_line

LONGEST_SUBJECT = 120


@dataclass(frozen=True, slots=True)
class MailLine:
    """One instrument in the mail."""

    code: str
    description: str
    due_on: date
    address: str


def mail_subject(lines: Sequence[MailLine]) -> str:
    """“TC-01 falls due on 3 Dec 2026, and 2 more”; always one line."""
    first = lines[0]
    more = f", and {len(lines) - 1} more" if len(lines) > 1 else ""
    return one_line(f"Calibration: {first.code} due on {shown(first.due_on)}{more}")[:LONGEST_SUBJECT]


def mail_text(lines: Sequence[MailLine], *, name: str, laboratory: str, zone: str, today: date) -> str:
    """The mail's text; `lines` come soonest first."""
    head = "1 calibration falls due:" if len(lines) == 1 else f"{len(lines)} calibrations fall due:"
    listed = [
        f"{shown(line.due_on)}, {days_left_in_words(line.due_on, today)}: {one_line(line.code)}, "
        f"{one_line(line.description)}\n{line.address}"
        for line in lines
    ]
    far, middle, near = DAYS_BEFORE
    foot = (
        f"Days are those of {one_line(laboratory)} ({zone}); an instrument may be used to the end of its due day.\n"
        f"You are reminded {far}, {middle} and {near} days ahead, once each."
    )
    return "\n\n".join([f"{one_line(name)},", head, *listed, foot]) + "\n"

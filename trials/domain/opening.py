"""The level a trial is opened at: the one ordered, the one the rule calls for next, or another one with a reason."""

from dataclasses import dataclass
from decimal import Decimal

from labsite.ledger.wording import mid_sentence
from trials.domain.line_result import LineResult, NextStep
from trials.domain.methods.base import MethodEdition
from trials.domain.statements import Severity


class LevelError(ValueError):
    """A level no trial can be opened at as it was asked for; the message is one sentence fit for the screen."""


@dataclass(frozen=True)
class OpeningLevels:
    """What a trial of an open order can be opened at; `proposed` None once the order came to its end."""

    proposed: Decimal | None
    levels: tuple[Severity, ...]


def opening_levels(edition: MethodEdition, ordered: Decimal | None, result: LineResult) -> OpeningLevels | None:
    """Return the levels to choose from; None where the level is ordered, or the edition's trials have none."""
    proposed = None if result.next is None else result.next.severity
    if ordered is not None or (proposed is None and not edition.open_start):
        return None
    return OpeningLevels(proposed, edition.severities)


def opening_level(
    edition: MethodEdition, ordered: Decimal | None, result: LineResult, chosen: Decimal | None, departure: str
) -> tuple[Decimal | None, str]:
    """Return the level a trial is opened at, and why it departs from the rule; LevelError when it cannot be.

    `chosen` None takes what the rule calls for. Another level needs its reason in `departure`.
    """
    offered = opening_levels(edition, ordered, result)
    if offered is None:
        if chosen is not None and chosen != ordered:
            raise LevelError(f"The level of this line is {edition.severity_text(ordered)}; no other one can be chosen.")
        return ordered, ""
    level = offered.proposed if chosen is None else chosen
    if level is None:
        raise LevelError(f"Nothing more is called for. {result.sentence} Choose a level and write why it is tested.")
    if edition.severity(level) is None:
        raise LevelError(f"{edition.severity_text(level)} is not a level of {edition.short_standard}.")
    if level == offered.proposed:
        return level, ""
    if not departure:
        called = "nothing more" if result.next is None else next_level_text(edition, result.next)
        raise LevelError(f"The rule calls for {called}. Write why {edition.severity_text(level)} is tested instead.")
    return level, departure


def next_level_text(edition: MethodEdition, following: NextStep) -> str:
    """Return what is tested next in a few words: "3 specimens at 800 °C", "5 specimens, from the oven"."""
    number = f"{following.specimens} specimen{'' if following.specimens == 1 else 's'}"
    at = "" if following.severity is None else f" at {edition.severity_text(following.severity)}"
    title = edition.conditioning_called(following.plan).title if following.plan else ""
    return f"{number}{at}{f', {mid_sentence(title)}' if title else ''}"


def next_sentence(edition: MethodEdition, result: LineResult) -> str:
    """Return what is tested next and why, as one sentence or two; empty when nothing is."""
    following = result.next
    if following is None:
        return ""
    what, why = next_level_text(edition, following), following.reason.strip()
    if not why:
        return f"Next: {what}."
    return f"Next: {what}. {why}" if why.endswith(".") else f"Next: {what}, because {why}."

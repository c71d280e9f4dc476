"""The most specimens a search by levels can take, found by walking through it for every material there could be."""

from decimal import Decimal
from functools import lru_cache

from trials.domain.line_result import Asked, LineTrial, NextStep
from trials.domain.methods.base import MethodEdition
from trials.domain.verdicts import Quantity, Verdict

MOST_STEPS = 200


@lru_cache(maxsize=64)
def most_specimens(edition: MethodEdition, start: Decimal | None = None) -> int | None:
    """Return the most specimens the search of an open order takes, `start` being the level agreed to begin at.

    One walk for each material: it passes every level up to its own, and above it the last specimen of a level fails.
    None where the edition knows no search, or its rule needs more than passed or failed to go on.
    """
    if not edition.open_start:
        return None
    grid = sorted(level.value for level in edition.severities)
    walks = [_walk(edition, highest, start) for highest in (None, *grid)]
    known = [walk for walk in walks if walk is not None]
    return max(known) if len(known) == len(walks) else None


def _walk(edition: MethodEdition, highest: Decimal | None, start: Decimal | None) -> int | None:
    """How many specimens one material takes: it passes up to `highest`, None where it passes nowhere."""
    trials: list[LineTrial] = []
    before: NextStep | None = None
    for _ in range(MOST_STEPS):
        try:
            following = edition.judge_line(Asked(None, 1, start), trials).next
        except ValueError:
            return None
        if following is None:
            return len(trials)
        if following == before or following.severity is None:
            return None
        passes = highest is not None and following.severity <= highest
        for place in range(following.specimens):
            outcome = passes or place < following.specimens - 1
            trials.append(_trial(edition, following.severity, passed=outcome, sequence=len(trials)))
        before = following
    return None


def _trial(edition: MethodEdition, level: Decimal, *, passed: bool, sequence: int) -> LineTrial:
    verdict = Verdict(
        method_key=edition.key,
        rule_version=edition.rule_version,
        severity=edition.severity_text(level),
        outcome="pass" if passed else "fail",
        sentence="",
        reasons=(),
        criteria=(),
        setup_criteria=(),
        quantities=tuple(Quantity(k.key, k.title, k.symbol, k.unit, None, "") for k in edition.quantities),
        warnings=(),
        parameters=(),
    )
    return LineTrial(f"{sequence:03}", verdict, sequence, level)

"""The plan with the fewest specimens beside the standard's own steps, in words; the standard's steps stay the rule."""

from collections.abc import Mapping
from decimal import Decimal

from trials.domain.criteria import digits
from trials.domain.fewest_burns import BurnPlan, Burns, belief_of, fewest_burns
from trials.domain.index_search import LevelCount
from trials.domain.line_result import LineResult
from trials.domain.methods.base import MethodEdition


def fewest_plan(
    edition: MethodEdition,
    levels: Mapping[Decimal, LevelCount],
    believed: Decimal | None,
    spread: Decimal | None,
    start: Decimal | None,
) -> BurnPlan | None:
    """Return the plan of an open search from where it stands; None where it cannot be planned or has ended.

    `believed` and `spread` are an index and its standard deviation in the unit of the levels.
    """
    if edition.search is None:
        return None
    rule = edition.search.rule(edition)
    passed = None if believed is None else edition.search.highest_passed(believed)
    burns = Burns(passing=float(rule.needed), failing=1.0 if rule.first_fail_ends else float(rule.needed))
    plan = fewest_burns(rule, belief_of(rule.grid, passed, spread), dict(levels), burns, start)
    return None if plan.level is None or plan.ladder <= 0 else plan


def fewest_sentence(
    edition: MethodEdition, result: LineResult, plan: BurnPlan, believed: Decimal | None, spread: Decimal | None
) -> str:
    """Return the plan in words: what it would test next, and what either way is expected to take to the end."""
    if plan.level is None or result.next is None:
        return ""
    unit = edition.severity_unit
    if believed is None:
        basis = "With nothing believed before"
    elif spread:
        basis = f"Believing {digits(believed)} {unit}, give or take {digits(spread)} {'K' if unit == '°C' else unit}"
    else:
        basis = f"Believing {digits(believed)} {unit}"
    expected, ladder = f"{plan.expected:.1f}", f"{plan.ladder:.1f}"
    best = _best_start(edition, result, plan)
    if expected == ladder:
        return f"{basis}, {ladder} more specimens are expected by the standard's own steps; no other way takes fewer."
    if plan.level == result.next.severity:
        ways = f"{expected} more specimens are expected that way, {ladder} by the standard's own steps"
        return f"{basis}, a search with the fewest specimens goes on at the same level; {ways}.{best}"
    return (
        f"{basis}, a search that went on at {edition.severity_text(plan.level)} would be expected to take {expected} "
        f"more specimens, the standard's own steps {ladder}.{best} The standard's step stays what the bench proposes."
    )


def _best_start(edition: MethodEdition, result: LineResult, plan: BurnPlan) -> str:
    """Where the standard's own steps would begin best, before the first level, if that is somewhere else."""
    start, least = plan.ladder_start, f"{plan.ladder_from_there:.1f}"
    if start is None or result.next is None or start == result.next.severity or least == f"{plan.ladder:.1f}":
        return ""
    return f" Begun at {edition.severity_text(start)}, those would take {least}."

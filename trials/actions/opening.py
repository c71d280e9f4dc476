"""At which level and with which conditioning a trial is opened."""

from decimal import Decimal

from labsite.ledger.refusals import Refused
from specimens.domain.conditioning_state import ConditioningState
from specimens.models import OrderLine
from trials.domain.line_result import NextStep
from trials.domain.methods.base import MethodEdition
from trials.domain.opening import LevelError, opening_level
from trials.models import Trial
from trials.queries.results import line_result

DEPARTURE_CHARACTERS = 300


def level_to_open(
    line: OrderLine, edition: MethodEdition, chosen: Decimal | None, departure: str
) -> tuple[Decimal | None, str]:
    """The level of a new trial of the line and why it departs from the rule; refused with a sentence."""
    departure = " ".join(departure.split())
    if len(departure) > DEPARTURE_CHARACTERS:
        raise Refused(
            f"{DEPARTURE_CHARACTERS} characters are kept of a reason, this has {len(departure)}.", field="departure"
        )
    if line.severity is not None and chosen is None:
        return line.severity, ""
    result = line_result(line)
    try:
        level, why = opening_level(edition, line.severity, result, chosen, departure)
    except LevelError as wrong:
        raise Refused(str(wrong), field="departure") from None
    if why or result.next is None or line.severity is not None:
        return level, why
    return level, _reason_for_one_more(line, edition, result.next, departure)


def _reason_for_one_more(line: OrderLine, edition: MethodEdition, following: NextStep, departure: str) -> str:
    """Why one more is tested although all that are called for are open already; "" while one of them is missing."""
    unsigned = Trial.objects.filter(job__order_line=line, verdicts=None).values_list("severity", "conditioning_plan")
    called_for = (following.severity, following.plan)
    open_now = sum(called_for in ((severity, plan), (severity, "")) for severity, plan in unsigned)
    if open_now < following.specimens:
        return ""
    if not departure:
        at = f" at {edition.severity_text(following.severity)}" if following.severity is not None else ""
        raise Refused(
            f"As many as are called for{at} are open and not signed yet: {open_now}. Sign them first, or write why one "
            "more is tested.",
            field="departure",
        )
    return departure


def plan_of(edition: MethodEdition, state: ConditioningState | None) -> str:
    """By which of the edition's ways the specimen was conditioned; empty where it knows one or none was followed."""
    plan = getattr(state, "plan", "")
    return plan if any(need.key == plan for need in edition.conditionings) else ""

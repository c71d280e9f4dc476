"""At which level and with which conditioning a trial is opened."""

from decimal import Decimal

from labsite.ledger.refusals import Refused
from specimens.domain.conditioning_state import ConditioningState
from specimens.models import OrderLine
from trials.domain.methods.base import MethodEdition
from trials.domain.opening import LevelError, opening_level
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
    try:
        return opening_level(edition, line.severity, line_result(line), chosen, departure)
    except LevelError as wrong:
        raise Refused(str(wrong), field="departure") from None


def plan_of(edition: MethodEdition, state: ConditioningState | None) -> str:
    """By which of the edition's ways the specimen was conditioned; empty where it knows one or none was followed."""
    plan = getattr(state, "plan", "")
    return plan if any(need.key == plan for need in edition.conditionings) else ""

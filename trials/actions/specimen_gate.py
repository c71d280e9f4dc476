"""Whether a specimen can be tested now, and again at another place: each refusal is a sentence with its field."""

from datetime import datetime
from decimal import Decimal

from labsite.ledger.refusals import Refused
from specimens.domain.conditioning_state import ConditioningState
from specimens.models import Specimen
from specimens.queries.conditioning import specimen_conditioning
from trials.domain.methods.base import MethodEdition
from trials.domain.setup_criteria import SECONDS_PER_HOUR, hours_text
from trials.queries.bench import open_trial_of, places_tested, tested_before
from trials.queries.results import specimen_text


def refuse_specimen(specimen: Specimen, edition: MethodEdition, at: datetime) -> ConditioningState | None:
    """Refuse a specimen with a trial open on it, still in its chamber, or not conditioned where that is enforced.

    Returns how it is conditioned, None where nothing is recorded.
    """
    number = specimen_text(specimen.number)
    standing = open_trial_of(specimen)
    if standing is not None:
        raise Refused(
            f"{standing.opened_by} has a trial open on {number} since {standing.opened_at:%H:%M} UTC. "
            "It is signed or stopped first.",
            field="number",
        )
    state = specimen_conditioning([specimen.pk], at).get(specimen.pk)
    if state is not None and state.inside:
        raise Refused(
            f"By the record {number} is still in {state.chamber_code}. Take it out under Conditioning first.",
            field="number",
        )
    need = edition.conditioning_called("" if state is None else state.plan)
    if need.enforced and (state is None or not state.ready):
        asked = edition.parameter(need.hours).limit_text
        why = f" {state.sentence}" if state is not None else ""
        raise Refused(f"{number} is not conditioned for {asked}.{why}", field="number")
    hours = edition.parameter(need.hours)
    if need.enforced and state is not None and not hours.admits(Decimal(int(state.counted_s)) / SECONDS_PER_HOUR):
        # The counter counts by the edition as delivered; the laboratory or the order may ask for more.
        counted = hours_text(Decimal(int(state.counted_s)))
        raise Refused(f"{number} is conditioned for {counted}; its figures ask for {hours.limit_text}.", field="number")
    return state


def refuse_place(specimen: Specimen, edition: MethodEdition, again_reason: str, point: str) -> None:
    """Refuse a second trial on a specimen unless it is at another place, named, and the reason is given."""
    number = specimen_text(specimen.number)
    if tested_before(specimen) is None:
        if again_reason:
            raise Refused(f"{number} is not tested yet; no reason is needed.", field="again_reason")
        return
    if not edition.further_points:
        raise Refused(f"{number} was already tested; take another specimen of the job.", field="number")
    if len(again_reason) > 300:
        raise Refused(f"300 characters are kept of a reason, this has {len(again_reason)}.", field="again_reason")
    if not again_reason:
        raise Refused(
            f"{number} was already tested; take another specimen of the job, or write why another place of this one "
            "can be tested: what was done before must not matter there.",
            field="again_reason",
        )
    if not point:
        raise Refused("Write which place is tested this time.", field="point")
    if point.casefold() in {place.casefold() for place in places_tested(specimen, edition)}:
        raise Refused(f"“{point}” of {number} was already tested; name another place.", field="point")

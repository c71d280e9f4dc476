"""Set-up values worth offering to a technician, who takes them over or types others: each with where it comes from."""

from dataclasses import dataclass

from trials.domain.criteria import digits
from trials.domain.methods.base import MethodEdition
from trials.models import SetupValue, Trial
from trials.queries.results import line_result


@dataclass(frozen=True, slots=True)
class Offer:
    """A value as it would be typed, and where it comes from in a few words."""

    value: str
    why: str


def setup_offers(trial: Trial, edition: MethodEdition) -> dict[str, Offer]:
    """What is offered by field: from the rig's last trial, the item, and what the rule calls for, which goes first."""
    offers = {
        key: Offer(value, "in the last trial here") for key, value in values_of_last_trial(trial, edition).items()
    }
    thickness_mm = trial.specimen.thickness_mm
    for field in edition.setup_fields:
        if field.offered_from == "item thickness" and thickness_mm is not None:
            offers[field.key] = Offer(digits(thickness_mm), "as registered")
    following = line_result(trial.job.order_line).next
    if following is not None and following.severity == trial.severity:
        offers |= {key: Offer(value, "called for next") for key, value in following.setup}
    return offers


def values_of_last_trial(trial: Trial, edition: MethodEdition) -> dict[str, str]:
    """What the last trial on the same rig, of any edition of the method, had for the values that stay with a rig.

    A value that this edition does not offer to choose is left out.
    """
    fields = {field.key: field for field in edition.setup_fields if field.stays_with_rig}
    method, _, _ = trial.method_key.partition("@")
    rows = SetupValue.objects.filter(
        trial__rig=trial.rig_id, key__in=fields, trial__method_key__startswith=f"{method}@"
    )
    last = dict(rows.exclude(trial=trial).exclude(value="").order_by("pk").values_list("key", "value"))
    return {key: value for key, value in last.items() if fields[key].kind != "choice" or value in fields[key].choices}

"""Set-up values worth offering to a technician, who takes them over or types others: each with where it comes from."""

from dataclasses import dataclass

from calibration.queries.check_offers import last_reading
from labsite.ledger.queries import laboratory_zone
from trials.domain.criteria import digits
from trials.domain.methods.base import MethodEdition
from trials.models import SetupValue, Trial
from trials.queries.results import line_result

CHECKS = {"foil check": "foil", "flame check": "flame"}
"""Kinds of check by what a set-up field says it is offered from."""


@dataclass(frozen=True, slots=True)
class Offer:
    """A value as it would be typed, and where it comes from in a few words."""

    value: str
    why: str


def setup_offers(trial: Trial, edition: MethodEdition) -> dict[str, Offer]:
    """What is offered by field, the later going first: the rig's last trial, its checks, the item, the rule's call."""
    offers = {
        key: Offer(value, "in the last trial here") for key, value in values_of_last_trial(trial, edition).items()
    }
    offers |= checked_offers(trial, edition)
    thickness_mm = trial.specimen.thickness_mm
    for field in edition.setup_fields:
        if field.offered_from == "item thickness" and thickness_mm is not None:
            offers[field.key] = Offer(digits(thickness_mm), "as registered")
    following = line_result(trial.job.order_line).next
    if following is not None and following.severity == trial.severity:
        offers |= {key: Offer(value, "called for next") for key, value in following.setup}
    return offers


def checked_offers(trial: Trial, edition: MethodEdition) -> dict[str, Offer]:
    """What the last check of the rig or of the trial's instruments read, unless a trial here told it since."""
    offers: dict[str, Offer] = {}
    for source, kind in CHECKS.items():
        keys = [field.key for field in edition.setup_fields if field.offered_from == source]
        used = trial.instrument_uses.values("instrument")
        check = last_reading(kind, rig_id=trial.rig_id, instruments=used) if keys else None
        told = SetupValue.objects.filter(trial__rig=trial.rig_id, key__in=keys).exclude(trial=trial).exclude(value="")
        if check is None or told.filter(at__gt=check.checked_at).exists():
            continue
        day = check.checked_at.astimezone(laboratory_zone())
        why = f"{source} of {day.day} {day:%b %Y}"
        offers |= {key: Offer(digits(value), why) for key, value in zip(keys, check.values, strict=False)}
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

"""Whether the laboratory has the people and the rig for order lines, told before a contract review is signed."""

from collections.abc import Iterable
from datetime import datetime

from calibration.models import RigKind
from calibration.queries.commissioning import usable_rigs
from calibration.queries.rigs import all_rigs
from labsite.ledger.wording import mid_sentence
from specimens.models import OrderLine
from trials.domain.authority import ACTIVITIES
from trials.domain.methods.registry import EDITIONS
from trials.models import Authorisation
from trials.queries.authorisations import authorised_people


def capability_warnings(lines: Iterable[OrderLine], at: datetime) -> dict[int, list[str]]:
    """By line: what is missing at `at` to do it, in sentences; lines that lack nothing are left out."""
    lines = [line for line in lines if line.method_key in EDITIONS]
    keys = {line.method_key for line in lines}
    people = {activity: authorised_people(keys, activity, at) for activity in Authorisation.Activity}
    rigs = list(all_rigs().filter(in_use=True))
    in_use, usable = {rig.kind for rig in rigs}, {rig.kind for rig in usable_rigs(rigs, at)}
    found: dict[int, list[str]] = {}
    for line in lines:
        edition = EDITIONS[line.method_key]
        missing = [ACTIVITIES[activity] for activity in people if not people[activity][line.method_key]]
        told = [f"Nobody is authorised to {_any_of(missing)} by {edition.short_standard}."] if missing else []
        if edition.rig_kind not in usable:
            what = f"No rig of the kind “{mid_sentence(str(RigKind(edition.rig_kind).label))}” is"
            told.append(f"{what} released for use." if edition.rig_kind in in_use else f"{what} in use.")
        if told:
            found[line.pk] = told
    return found


def _any_of(acts: list[str]) -> str:
    return acts[0] if len(acts) == 1 else f"{', '.join(acts[:-1])} or {acts[-1]}"

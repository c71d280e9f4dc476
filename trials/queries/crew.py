"""The people and the rigs of the moment, for the margin of the queue."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from calibration.queries.rigs import all_rigs, rig_readiness
from labsite.ledger.models import Role, User
from trials.models import Authorisation
from trials.queries.authorisations import CHECK, PERFORM, SIGN, standing_authorisations
from trials.queries.methods import method_words
from trials.queries.results import TrialStanding


@dataclass(frozen=True, slots=True)
class CrewMember:
    """A person and what they are at."""

    name: str
    doing: str
    may: str


@dataclass(frozen=True, slots=True)
class RigState:
    """A rig, its state as shape and word, and why."""

    code: str
    shape: str
    word: str
    why: str


def crew(running: Sequence[TrialStanding], at: datetime) -> list[CrewMember]:
    """Everybody who works with specimens, by name, and what they are at; three queries."""
    busy = {one.trial.opened_by_id: one.trial.rig.code for one in running}
    may: dict[int, list[Authorisation]] = {}
    for row in standing_authorisations(at):
        may.setdefault(row.person_id, []).append(row)
    roles = {Role.TECHNICIAN, Role.LEAD, Role.CHECKER, Role.SIGNATORY, Role.COUNTER}
    people = User.objects.filter(is_active=True, role_holdings__role__in=roles).distinct().order_by("full_name")
    return [
        CrewMember(
            name=str(person),
            doing=f"at {busy[person.pk]}" if person.pk in busy else "free",
            may=_may_words(may.get(person.pk, [])),
        )
        for person in people.prefetch_related("role_holdings")
    ]


def _may_words(rows: Sequence[Authorisation]) -> str:
    performs = dict.fromkeys(method_words(row.method_key)[0] for row in rows if row.activity == PERFORM)
    words = [", ".join(performs)] if performs else []
    if any(row.activity == CHECK for row in rows):
        words.append("May check")
    if any(row.activity == SIGN for row in rows):
        words.append("May sign certificates")
    return ". ".join(words) or "No authorisation"


def rig_states(running: Sequence[TrialStanding], at: datetime) -> list[RigState]:
    """Every rig in use, by code, and whether it runs, stands ready or is blocked; five queries."""
    rigs = list(all_rigs().filter(in_use=True))
    ready = rig_readiness(rigs, at)
    on_rig = {one.trial.rig_id: one for one in running}
    states = []
    for rig in rigs:
        one = on_rig.get(rig.pk)
        if one is not None:
            states.append(RigState(rig.code, "run", "Running", f"{one.trial.opened_by}, {one.specimen_text}"))
        elif ready[rig.pk].ready:
            states.append(RigState(rig.code, "ready", "Ready", ready[rig.pk].reason))
        else:
            states.append(RigState(rig.code, "stop", "Blocked", ready[rig.pk].reason))
    return states

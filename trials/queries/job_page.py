"""What the page of one job shows besides the line as work: specimens, hand-outs, what may be done and where."""

from dataclasses import dataclass

from django.db.models import QuerySet
from django.urls import reverse

from labsite.ledger.models import Role, User
from specimens.models import OrderLine, Specimen
from specimens.queries.conditioning import ConditioningState
from specimens.queries.orders import unanswered_deviations
from trials.domain.blocking import Reason
from trials.models import Job
from trials.queries.jobs import WorkLine
from trials.queries.results import TrialStanding

_PLACES = {
    "wrong atmosphere": "specimens:conditioning",
    "no climate record": "specimens:conditioning",
    "conditioning": "specimens:conditioning",
    "window passed": "specimens:conditioning",
    "no technician": "trials:authorisations",
    "no rig": "calibration:rigs",
    "rigs blocked": "calibration:rigs",
}
_ON_THE_ORDER = ("not reviewed", "deviation", "not received", "too few")


@dataclass(frozen=True, slots=True)
class Step:
    """A reason with the page on which it is settled; empty where the job's own page is the place."""

    reason: Reason
    address: str


def steps_of(work: WorkLine, person: object) -> list[Step]:
    """Each reason of a line with the page on which it is settled, by `person` where it is theirs to settle."""
    return [Step(reason, _address(reason, work.line, person)) for reason in work.reasons]


def _address(reason: Reason, line: OrderLine, person: object) -> str:
    roles = person.roles if isinstance(person, User) else frozenset()
    counter = bool(roles & {Role.COUNTER, Role.LEAD, Role.TECHNICIAN})
    if reason.code == "not reviewed" and Role.LEAD in roles:
        return reverse("specimens:review_sign", args=[line.order.number])
    if reason.code == "not received" and counter:
        return reverse("specimens:receive", args=[line.order.number])
    if reason.code == "deviation" and counter:
        waiting = unanswered_deviations([line.pk]).get(line.pk, [])
        return reverse("specimens:deviation_answer", args=[waiting[0].pk]) if waiting else ""
    if reason.code in ("not conditioned", "out too early"):
        address = reverse("specimens:stay_new" if counter else "specimens:conditioning")
        return f"{address}?line={line.pk}" if counter else address
    if reason.code in _ON_THE_ORDER:
        return reverse("specimens:order", args=[line.order.number])
    if not reason.blocks or reason.code not in _PLACES:
        return ""
    return reverse(_PLACES[reason.code])


def hand_outs_of(line: OrderLine) -> QuerySet[Job]:
    """Every hand-out of a line, the one that holds first."""
    return Job.objects.filter(order_line=line).select_related("technician", "rig", "handed_by").order_by("-pk")


@dataclass(frozen=True, slots=True)
class JobSpecimen:
    """One specimen of a job with its trials and how it is conditioned."""

    specimen: Specimen
    trials: tuple[TrialStanding, ...]
    conditioning: ConditioningState | None


def job_specimens(work: WorkLine) -> list[JobSpecimen]:
    """The specimens of a job by number."""
    return [
        JobSpecimen(
            piece,
            tuple(one for one in work.standing.trials if one.trial.specimen_id == piece.pk),
            work.conditioning.get(piece.pk),
        )
        for piece in work.specimens
    ]


def rights_of(person: object, work: WorkLine) -> dict[str, bool]:
    """What the page of a job offers to `person`: hand it out, or take it while nobody has it."""
    user = person if isinstance(person, User) else None
    settled = work.facts.reviewed and not work.facts.deviations and work.standing.state not in ("signed", "checked")
    authorised = user is not None and any(one.pk == user.pk for one in work.technicians)
    return {
        "hand_out": settled and user is not None and user.may(Role.LEAD),
        "take": settled and authorised and work.job is None and bool(work.ready_rigs),
    }

"""Handing out work: to somebody who is authorised, on a rig whose instruments may be used."""

from datetime import datetime
from typing import Any

from django.db import transaction

from calibration.models import Rig
from labsite.ledger.actions import record_entry
from labsite.ledger.models import Role, User
from labsite.ledger.queries import laboratory_zone
from labsite.ledger.refusals import Refused
from specimens.models import OrderLine
from specimens.queries.orders import reviewed_lines, unanswered_deviations
from trials.domain.blocking import moment_text
from trials.models import Job, Trial
from trials.queries.authorisations import PERFORM, ROLES_FOR, authorisation_needed
from trials.queries.jobs import rig_choices, standing_job
from trials.queries.methods import edition_by_key
from trials.queries.results import line_standing, specimen_text


@transaction.atomic
def hand_out(
    *, line: OrderLine, technician: User, rig: Rig, seen_job: int | None, reason: str = "", by: User, at: datetime
) -> Job:
    """Hand a line to a technician and a rig. `seen_job` is the hand-out the lead saw: another one since is said.

    A hand-out over a standing one supersedes it and needs a reason.
    """
    if not by.may(Role.LEAD):
        raise Refused("Only a lead hands out work; a technician may take a job for themselves.")
    return _hand_out(line, technician, rig, seen_job, reason, by, at)


@transaction.atomic
def take_job(*, line: OrderLine, rig: Rig, seen_job: int | None, by: User, at: datetime) -> Job:
    """Take a line that nobody has, for oneself."""
    if not by.may(*ROLES_FOR[PERFORM]):
        raise Refused("Only a technician or a lead takes a job; their role is given by the administrator.")
    return _hand_out(line, by, rig, seen_job, "", by, at)


def _hand_out(
    line: OrderLine, technician: User, rig: Rig, seen_job: int | None, reason: str, by: User, at: datetime
) -> Job:
    # The order's line is what two leads at once wait for.
    line = OrderLine.objects.select_for_update(of=("self",)).select_related("order").get(pk=line.pk)
    standing = standing_job(line)
    _refuse_other_hand(standing, seen_job)
    _refuse_line(line)
    _refuse_technician(technician)
    authorisation_needed(technician, line.method_key, PERFORM, at, field="technician")
    _refuse_rig(line, rig, at)
    if standing is not None:
        _refuse_running(line)
        if not reason.strip():
            raise Refused(
                f"{standing.technician} has this job on {standing.rig.code}. Say why it goes to somebody or somewhere "
                "else.",
                field="reason",
            )
        if (standing.technician_id, standing.rig_id) == (technician.pk, rig.pk):
            raise Refused(f"{technician} has this job on {rig.code} already.", field="technician")
        standing.superseded_at = at
        standing.save(update_fields=["superseded_at"])
    job = Job.objects.create(order_line=line, technician=technician, rig=rig, handed_at=at, handed_by=by)
    data: dict[str, Any] = {"before": _facts(standing), "after": _facts(job), "line": line.position}
    if reason.strip():
        data["reason"] = reason.strip()
    act = "took the job" if technician.pk == by.pk and standing is None else "handed out the job"
    record_entry(book=line.order.book, act=act, by=by, at=at, data=data)
    return job


def _refuse_other_hand(standing: Job | None, seen_job: int | None) -> None:
    if standing is not None and standing.pk != seen_job:
        when = moment_text(standing.handed_at.astimezone(laboratory_zone()))
        raise Refused(
            f"{standing.technician} has this job on {standing.rig.code}: {standing.handed_by} handed it out on {when}. "
            "Your typing is kept; hand it out anew only if that must change, and say why."
        )


def _refuse_line(line: OrderLine) -> None:
    if line.withdrawn_at is not None:
        raise Refused("This line is withdrawn from the order; there is nothing to hand out.")
    if line.pk not in reviewed_lines([line.pk]):
        raise Refused(
            "The contract review of the order as it stands is not signed. A lead signs it on the order’s page."
        )
    if line.pk in unanswered_deviations([line.pk]):
        raise Refused("A deviation waits for the client’s answer. Record it on the order’s page, then hand out.")
    standing = line_standing(line)
    if standing.state in ("signed", "checked"):
        raise Refused(f"Every specimen needed is tested and signed: {standing.result.sentence}")


def _refuse_technician(technician: User) -> None:
    if not technician.is_active:
        raise Refused(f"{technician} no longer signs in here.", field="technician")
    if not technician.may(*ROLES_FOR[PERFORM]):
        raise Refused(f"{technician} has not the role of a technician; the administrator gives it.", field="technician")


def _refuse_rig(line: OrderLine, rig: Rig, at: datetime) -> None:
    edition = edition_by_key(line.method_key)
    choices = rig_choices(edition, at)
    others = [choice.rig.code for choice in choices if choice.fact.ready and choice.rig.pk != rig.pk]
    way_on = f" {' or '.join(others)} would do." if others else " No other rig of this kind is ready."
    chosen = next((choice for choice in choices if choice.rig.pk == rig.pk), None)
    if chosen is None:
        raise Refused(f"{rig.code} is not a rig for “{edition.short_title}” in use.{way_on}", field="rig")
    if not chosen.fact.ready:
        raise Refused(f"{rig.code} is blocked: {chosen.fact.why_not}.{way_on}", field="rig")


def _refuse_running(line: OrderLine) -> None:
    running = Trial.objects.filter(job__order_line=line, verdicts=None).select_related("specimen", "opened_by", "rig")
    first = running.order_by("opened_at").first()
    if first is not None:
        raise Refused(
            f"{first.opened_by} has a trial open at {first.rig.code}, on specimen "
            f"{specimen_text(first.specimen.number)}. It is signed first; then the job can go to somebody else."
        )


def _facts(job: Job | None) -> dict[str, Any]:
    if job is None:
        return {}
    return {"job": job.pk, "technician": job.technician.username, "rig": job.rig.code}

"""Two leads hand the same line out at the same moment: one of them has it, the other is told who."""

import threading
from collections.abc import Callable

import pytest
from django.db import connection

from labsite.ledger.refusals import Refused
from tests.factories.bench import Scene, bench_scene
from tests.factories.ledger import NOON, UserFactory
from tests.factories.trials import authorised
from trials.actions.jobs import hand_out
from trials.models import Job


@pytest.mark.django_db(transaction=True)
def test_one_of_two_leads_is_told_who_has_it() -> None:
    scene: Scene = bench_scene(NOON)
    scene.job.delete()
    other = UserFactory.create(full_name="Oren Example", roles=["technician"])
    authorised(other, "perform", by=scene.lead, at=NOON)
    second_lead = UserFactory.create(full_name="Liam Lead", roles=["lead"])
    gate, said = threading.Barrier(2), []

    def give(technician: object, lead: object) -> Callable[[], None]:
        def run() -> None:
            try:
                gate.wait(timeout=20)
                hand_out(line=scene.line, technician=technician, rig=scene.rig, seen_job=None, by=lead, at=NOON)  # type: ignore[arg-type]
                said.append("handed out")
            except Refused as refusal:
                said.append(refusal.sentence)
            finally:
                connection.close()

        return run

    threads = [
        threading.Thread(target=give(scene.technician, scene.lead)),
        threading.Thread(target=give(other, second_lead)),
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    winner = Job.objects.get(order_line=scene.line, superseded_at=None)
    told = (
        f"{winner.technician} has this job on GW-1: {winner.handed_by} handed it out on Tue 10 Mar 12:00. Your typing "
        "is kept; hand it out anew only if that must change, and say why."
    )
    assert sorted(said) == sorted(["handed out", told])

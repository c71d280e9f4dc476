"""Where each reason on a job's page leads."""

from django.urls import reverse

from specimens.models import Deviation
from tests.factories.ledger import NOON
from trials.queries.job_page import steps_of
from trials.queries.jobs import work_line


def test_a_client_who_was_not_rung_leads_to_the_form_for_the_answer(scene):
    item = scene.specimens[0].item
    found = Deviation.objects.create(item=item, text="cracked", raised_at=NOON, raised_by=scene.lead)
    [step] = steps_of(work_line(scene.line, NOON), scene.technician)
    assert (step.reason.act, step.address) == (
        "Ring the client", reverse("specimens:deviation_answer", args=[found.pk]),
    )  # fmt: skip


def test_too_few_specimens_lead_to_the_order_with_its_contact(scene):
    scene.line.specimens_ordered = 5
    scene.line.save()
    [step] = steps_of(work_line(scene.line, NOON), scene.technician)
    order = reverse("specimens:order", args=[scene.line.order.number])
    assert (step.reason.act, step.address) == ("Ask for more specimens", order)

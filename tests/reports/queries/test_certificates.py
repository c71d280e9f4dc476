"""The list of certificates, what is ready, and what needs a hand."""

from datetime import timedelta

import pytest

from reports.actions.issuing import amend_certificate
from reports.models import Certificate
from reports.queries.certificates import PAGE_ROWS, certificate_page, corrected_since, outdated_certificates
from reports.queries.counts import certificates_needing_a_hand
from reports.queries.ready import ready_orders
from tests.factories.reports import BURNS, ISSUED_AT, LAYER_CATCHES, certificate_scene, deviation, issued
from trials.actions.observations import correct_observation
from trials.models import Observation


def numbers(typed=""):
    """The numbers on the first page of the list."""
    return [row.certificate.number for row in certificate_page(typed).rows]


def test_checked_lines_without_a_certificate_are_ready(db):
    waiting = certificate_scene()
    certificate_scene(serial=2, check=False)
    issued(certificate_scene(serial=3), written=False)
    assert [(ready.order, ready.held) for ready in ready_orders()] == [(waiting.order, "")]
    assert certificates_needing_a_hand() == 1


def test_a_held_order_stands_last_with_its_reason(db):
    held, free = certificate_scene(), certificate_scene(serial=2)
    deviation(held)
    assert [(ready.order.number, ready.held) for ready in ready_orders()] == [
        (free.order.number, ""),
        (held.order.number, "The client has not answered: Two pieces show cracks near the hinge."),
    ]


def test_a_trial_corrected_after_the_issue_needs_a_hand(db):
    scene = certificate_scene(BURNS)
    certificate = issued(scene, written=False)
    row = Observation.objects.get(trial=scene.trials[0], kind="flame_out")
    correct_observation(
        by=scene.bench.technician,
        at=ISSUED_AT + timedelta(hours=1),
        observation=row,
        t_s=row.t_s - 1,
        value="bright",
        strike=False,
        reason="pressed late",
    )
    assert list(outdated_certificates()) == [certificate]
    assert certificates_needing_a_hand() == 1
    assert Certificate.objects.annotate(late=corrected_since()).get().late is True


@pytest.mark.parametrize("count", [1, 3])
def test_the_lists_ask_the_same_number_of_questions_for_one_and_for_three(db, count, django_assert_num_queries):
    for serial in range(1, count + 1):
        issued(certificate_scene(serial=serial), written=False)
        certificate_scene(serial=10 + serial)
    with django_assert_num_queries(1):
        assert len(certificate_page().rows) == count
    with django_assert_num_queries(5):
        assert len(ready_orders()) == count


def test_the_list_is_newest_first_and_says_where_each_stands(db):
    scene = certificate_scene()
    first = issued(scene)
    scene.order.client.address = "Sample Street 2"
    scene.order.client.save()
    amend_certificate(certificate=first, reason="Typing error.", by=scene.signatory, at=ISSUED_AT + timedelta(days=1))
    issued(certificate_scene(LAYER_CATCHES, serial=2), at=ISSUED_AT + timedelta(days=2))
    assert [(row.certificate.number, row.word, row.states) for row in certificate_page().rows] == [
        ("26-0002-C1", "valid", ("failed",)),
        ("26-0001-C2", "being written", ("passed",)),
        ("26-0001-C1", "replaced", ("passed",)),
    ]


def test_it_goes_on_after_the_last_row_of_a_page(db):
    scene = certificate_scene()
    first = issued(scene, written=False)
    rows = [
        Certificate(
            number=f"26-0001-C{count}", order=first.order, content=first.content, content_sha256="",
            issued_at=ISSUED_AT, issued_by=scene.signatory,
        )
        for count in range(2, PAGE_ROWS + 3)
    ]  # fmt: skip
    Certificate.objects.bulk_create(rows)
    page = certificate_page()
    rest = certificate_page(after=page.last)
    shown = [row.certificate.number for row in (*page.rows, *rest.rows)]
    assert (len(page.rows), [row.certificate.number for row in rest.rows], rest.last) == (
        PAGE_ROWS,
        ["26-0001-C2", "26-0001-C1"],
        None,
    )
    assert len(set(shown)) == PAGE_ROWS + 2


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("26-0001-C1", ["26-0001-C1"]),
        ("26-0001-8", ["26-0001-C1"]),
        ("2600026", ["26-0002-C1"]),
        ("old name", ["26-0001-C1"]),
        ("new NAME", ["26-0001-C1"]),
        ("plugs", ["26-0002-C1"]),
        ("nobody", []),
    ],
)
def test_it_is_searched_by_number_and_by_the_names_then_and_now(db, typed, found):
    scene = certificate_scene()
    client = scene.order.client
    client.name = "Old Name"
    client.save()
    issued(scene, written=False)
    client.name = "New Name"
    client.save()
    issued(certificate_scene(serial=2), written=False)
    assert numbers(typed) == found

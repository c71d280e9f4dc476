"""Twenty signatories press at the same moment: every certificate once, every number once."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from labsite.ledger.queries import ledger_faults
from labsite.ledger.refusals import Refused
from reports.actions.issuing import issue_certificate
from reports.models import Certificate
from tests.factories.reports import ISSUED_AT, NO_FLAME, certificate_scene, spread_over_lines

TOGETHER = 20


def at_once(work, arguments):
    """Run `work` for each argument in a thread of its own, all starting together; results in order."""
    barrier = Barrier(len(arguments))

    def run(argument):
        try:
            barrier.wait()
            return work(argument)
        finally:
            connection.close()

    with ThreadPoolExecutor(len(arguments)) as threads:
        return list(threads.map(run, arguments))


@pytest.mark.django_db(transaction=True)
def test_twenty_lines_of_one_order_get_twenty_numbers():
    scene = certificate_scene(*[NO_FLAME] * TOGETHER, check=False)
    lines = spread_over_lines(scene)

    def issue(line):
        return issue_certificate(order=scene.order, lines=[line], by=scene.signatory, at=ISSUED_AT).number

    numbers = at_once(issue, lines)
    assert sorted(numbers) == sorted(f"26-0001-C{count}" for count in range(1, TOGETHER + 1))
    assert list(ledger_faults()) == []


@pytest.mark.django_db(transaction=True)
def test_one_line_is_issued_once():
    scene = certificate_scene()

    def issue(_):
        try:
            return issue_certificate(order=scene.order, lines=[scene.line], by=scene.signatory, at=ISSUED_AT).number
        except Refused as refused:
            return refused.sentence

    answers = at_once(issue, list(range(TOGETHER)))
    assert sorted(answers) == sorted(
        ["26-0001-C1", *["Line 1 is certified by 26-0001-C1 already; amend that one if it is wrong."] * (TOGETHER - 1)]
    )
    assert Certificate.objects.count() == 1

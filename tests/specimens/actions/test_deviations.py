"""The client's answers to deviations (ISO/IEC 17025:2017 7.4.3)."""

import pytest

from labsite.ledger.queries import entries_about
from labsite.ledger.refusals import Refused
from specimens.actions.deviations import answer_deviation
from specimens.queries.orders import lines_in_work, unanswered_deviations
from specimens.queries.pieces import usable_specimen_counts, usable_specimens
from tests.factories.ledger import NOON
from tests.factories.specimens import DeviationFactory, ItemFactory, OrderLineFactory, SpecimenFactory

pytestmark = pytest.mark.django_db


def answer(by, deviation, decision):
    return answer_deviation(
        by=by, at=NOON, deviation=deviation, decision=decision, answered_by="Aoife Brannigan", answer="Go on."
    )


def test_the_line_is_on_hold_until_the_answer_and_free_after_it(person):
    deviation = DeviationFactory.create()
    line = deviation.item.order_line
    assert unanswered_deviations([line.pk]) == {line.pk: [deviation]}
    answer(person("counter"), deviation, "test anyway")
    assert unanswered_deviations([line.pk]) == {}
    assert [entry.act for entry in entries_about(line.order.book)] == ["recorded the client’s answer"]


def test_replace_leaves_the_items_specimens_out_and_no_others(person):
    line = OrderLineFactory.create()
    bad = SpecimenFactory.create(item=ItemFactory.create(order_line=line))
    good = SpecimenFactory.create(item=ItemFactory.create(order_line=line))
    answer(person("counter"), DeviationFactory.create(item=bad.item), "replace")
    assert list(usable_specimens(line)) == [good]
    assert usable_specimen_counts([line.pk]) == {line.pk: 1}


def test_cancel_withdraws_the_line_and_raises_the_version(person):
    deviation = DeviationFactory.create()
    line = deviation.item.order_line
    answer(person("counter"), deviation, "cancel")
    line.refresh_from_db()
    line.order.refresh_from_db()
    assert (line.withdrawn_at, line.order.version) == (NOON, 2)
    assert not lines_in_work().filter(pk=line.pk).exists()


def test_an_answer_is_recorded_once_and_the_second_hears_whose(person):
    deviation = DeviationFactory.create()
    answer(person("counter", full_name="Tuula Lehtinen"), deviation, "test anyway")
    with pytest.raises(Refused, match=r"Tuula Lehtinen recorded an answer already: Aoife Brannigan said “Go on.”"):
        answer(person("counter"), deviation, "cancel")
    deviation.item.order_line.refresh_from_db()
    assert deviation.item.order_line.withdrawn_at is None

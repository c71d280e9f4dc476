"""What the records of instruments lack at a moment, from their rows."""

from datetime import timedelta

import pytest

from calibration.actions.events import record_event
from calibration.models import InstrumentLimit
from calibration.queries.completeness import completeness_of
from calibration.queries.register import instruments_by_due, with_record
from calibration.queries.usability import usabilities
from labsite.ledger.models import StoredFile
from tests.factories.calibration import CalibrationFactory, InstrumentFactory
from tests.factories.ledger import NOON, PlaceFactory, UserFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("lab")]


def missing(one, at=NOON):
    return completeness_of([one], usabilities([one], at), at)[one.pk].missing


def whole():
    """An instrument with everything, and its calibration."""
    keeper = UserFactory.create()
    file = StoredFile.objects.create(
        name="c.pdf", media_type="application/pdf", size=1, sha256="0" * 64, content=b"x", by=keeper, at=NOON
    )
    calibration = CalibrationFactory.create(
        accepted=True, certificate=file, certificate_number="NM-7", adjusted=False, instrument__maker="Invented",
        instrument__model_name="T", instrument__serial_number="1", instrument__place=PlaceFactory.create(),
        instrument__maintenance_plan="none needed",
    )  # fmt: skip
    calibration.points.create(
        reference="850", indication="849", unit="°C", expanded_uncertainty="1.0", coverage_factor="2"
    )
    limit(calibration.instrument, keeper)
    return calibration.instrument


def limit(one, keeper, at=NOON - timedelta(days=30), **more):
    return InstrumentLimit.objects.create(
        instrument=one, unit="°C", absolute="3", source="ours", made_at=at, made_by=keeper, **more
    )


def test_an_instrument_with_everything_is_complete_and_a_bare_one_says_what_it_lacks():
    assert missing(whole()) == ()
    assert missing(InstrumentFactory.create()) == (
        "b: maker, type or model, serial number",
        "c: an accepted calibration",
        "d: its place",
        "e: an accepted calibration",
        "g: maintenance plan, or why there is none",
    )


def test_what_comes_later_does_not_count_yet(person):
    one, keeper = whole(), person("quality")
    limit(one, keeper, at=NOON + timedelta(hours=1), ended=True)
    record_event(by=keeper, at=NOON + timedelta(hours=1), instrument=one, kind="damaged", text="fell")
    assert missing(one) == ()
    assert missing(one, NOON + timedelta(hours=2)) == (
        "e: the limits it is judged by",
        "h: what was done after it was damaged on 10 Mar 2026",
    )
    before = one.calibrations.get().decided_at - timedelta(seconds=1)
    assert missing(one, before)[0] == "c: an accepted calibration"


@pytest.mark.parametrize("count", [1, 3])
def test_any_number_takes_as_many_reads(django_assert_num_queries, count):
    some = [whole() for _ in range(count)]
    answers = usabilities(some, NOON)
    with django_assert_num_queries(11):
        assert len(completeness_of(some, answers, NOON)) == count


def test_the_register_shows_the_one_or_the_other():
    good, bare = whole(), InstrumentFactory.create()
    groups = instruments_by_due(NOON)
    for complete, one in ((True, good), (False, bare)):
        shown = [row.instrument for group in with_record(groups, complete=complete) for row in group.rows]
        assert shown == [one]

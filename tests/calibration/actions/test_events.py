"""What happens to an instrument: each act with its ledger entry, its service change and what must follow."""

from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from calibration.actions.events import KEEPERS_KINDS, record_event
from calibration.actions.instruments import change_service
from calibration.models import InstrumentEvent, IntermediateCheck
from calibration.queries.events import HAPPENED
from calibration.queries.usability import usability
from labsite.ledger.models import Entry
from labsite.ledger.queries import ledger_faults
from labsite.ledger.refusals import Refused
from tests.factories.calibration import CalibrationFactory
from tests.factories.ledger import NOON, PlaceFactory

pytestmark = pytest.mark.django_db
Kind = InstrumentEvent.Kind
HOUR = timedelta(hours=1)


@pytest.fixture
def one():
    """An instrument in calibration."""
    return CalibrationFactory.create(accepted=True).instrument


def happened(one, kind, by, at=NOON, **more):
    return record_event(by=by, at=at, instrument=one, kind=kind, **({"text": "it fell"} | more))


def test_each_kind_has_its_words():
    assert set(HAPPENED) == set(Kind)


@pytest.mark.parametrize("kind", [Kind.LOST, Kind.DAMAGED, Kind.DOUBTED, Kind.SENT_AWAY])
@pytest.mark.parametrize("role", ["technician", "lead", "counter", "quality"])
def test_whoever_handles_it_takes_it_out_with_the_event(person, one, kind, role):
    somebody = person(role)
    event = happened(one, kind, somebody)
    assert (event.happened_on, event.at, event.by) == (NOON.date(), NOON, somebody)
    answer = usability(one, NOON)
    assert (answer.usable, answer.clause) == (
        False, f"it is out of service since 10 Mar 2026: {kind.label.lower()}: it fell"
    )  # fmt: skip
    entries = list(Entry.objects.filter(book__name=one.book).order_by("sequence"))
    assert [entry.act for entry in entries][1:] == ["took out of service"]
    assert entries[0].data == {"happened on": "2026-03-10", "reason": "it fell"}
    assert list(ledger_faults()) == []


def test_a_move_changes_the_place_and_nothing_else(person, one):
    place, keeper = PlaceFactory.create(code="S-1"), person("technician")
    happened(one, Kind.MOVED, keeper, place=place)
    one.refresh_from_db()
    assert (one.place, one.version, usability(one, NOON).usable) == (place, 2, True)
    data = Entry.objects.get(book__name=one.book).data
    assert (data["before"], data["after"]) == ({"place": ""}, {"place": "S-1"})
    with pytest.raises(Refused, match="is at S-1 already"):
        happened(one, Kind.MOVED, keeper, place=place)
    with pytest.raises(Refused, match="Say where it was moved to"):
        happened(one, Kind.MOVED, keeper)


def test_at_the_bench_a_move_takes_it_out_and_nothing_need_be_written(person, one):
    happened(one, Kind.MOVED, person("technician"), text="", take_out=True)
    assert usability(one, NOON).clause == "it is out of service since 10 Mar 2026: moved"


def test_maintenance_leaves_it_in_service(person, one):
    happened(one, Kind.MAINTAINED, person("quality"))
    assert usability(one, NOON).usable


@pytest.mark.parametrize("kind", KEEPERS_KINDS)
def test_what_is_the_keepers_is_refused_to_others(person, one, kind):
    with pytest.raises(Refused, match="Only the quality keeper records"):
        happened(one, kind, person("technician", "lead", "counter"))
    assert not InstrumentEvent.objects.exists()
    assert usability(one, NOON).usable


@pytest.mark.parametrize(
    ("gone", "here", "sentence"),
    [(Kind.LOST, Kind.FOUND, "is lost: record that it was found"),
     (Kind.SENT_AWAY, Kind.RECEIVED_BACK, "is away: record that it came back")],
)  # fmt: skip
def test_what_is_not_here_does_not_go_back(person, one, gone, here, sentence):
    keeper = person("quality")
    with pytest.raises(Refused, match="is not recorded as"):
        happened(one, here, keeper)
    happened(one, gone, keeper)
    with pytest.raises(Refused, match="on 10 Mar 2026 already"):
        happened(one, gone, keeper)
    with pytest.raises(Refused, match=sentence):
        change_service(by=keeper, at=NOON + HOUR, instrument=one, state="in service", reason="there it is")
    happened(one, here, keeper, at=NOON + HOUR)
    assert not usability(one, NOON + HOUR).usable
    change_service(by=keeper, at=NOON + 2 * HOUR, instrument=one, state="in service", reason="looked at")
    assert usability(one, NOON + 2 * HOUR).usable


@pytest.mark.parametrize("kind", [Kind.DAMAGED, Kind.DOUBTED, Kind.REPAIRED, Kind.MODIFIED, Kind.ADJUSTED])
def test_it_goes_back_only_when_a_check_or_a_calibration_has_answered(person, one, kind):
    keeper, later = person("quality"), NOON + timedelta(days=2)
    happened(one, kind, keeper)
    back = {"by": keeper, "instrument": one, "state": "in service", "reason": "looks fine"}
    sentence = (
        f"stays out of service: it {HAPPENED[kind]} on 10 Mar 2026, and since then no calibration of it was accepted"
    )
    with pytest.raises(Refused, match=sentence):
        change_service(at=later, **back)
    check = IntermediateCheck.objects.create(
        instrument=one, kind="masses", checked_at=NOON + HOUR, reference="1", indication="1", unit="N", passed=True,
        sentence="holds", entered_at=NOON + HOUR, entered_by=keeper,
    )  # fmt: skip
    check.struck_at, check.struck_by, check.struck_reason = NOON + HOUR, keeper, "the wrong gauge"
    check.save()
    with pytest.raises(Refused, match="stays out of service"):
        change_service(at=later, **back)
    CalibrationFactory.create(instrument=one, calibrated_on=later.date(), entered_at=later)
    with pytest.raises(Refused, match="stays out of service"):  # it awaits a decision
        change_service(at=later, **back)
    CalibrationFactory.create(accepted=True, instrument=one, calibrated_on=later.date(), entered_at=later)
    change_service(at=later, **back)
    assert usability(one, later + HOUR).clause == "its calibration is due on 12 Mar 2027"


def test_days_to_come_and_days_long_gone_are_refused(person, one):
    keeper = person("technician")
    for day, words in (
        (NOON.date() + timedelta(days=1), "is in the future"),
        (NOON.date().replace(1989), "look at the year"),
    ):
        with pytest.raises(Refused, match=words):
            happened(one, Kind.DAMAGED, keeper, happened_on=day)
    with pytest.raises(Refused, match="Write what happened"):
        happened(one, Kind.DAMAGED, keeper, text="  ")


def test_a_paper_is_kept_and_another_file_refused(person, one):
    keeper = person("quality")
    event = happened(one, Kind.REPAIRED, keeper, file=SimpleUploadedFile("r.pdf", b"%PDF-1.7 repaired"))
    assert bytes(event.file.content) == b"%PDF-1.7 repaired"
    with pytest.raises(Refused, match="is not a PDF, JPEG or PNG file"):
        happened(one, Kind.REPAIRED, keeper, file=SimpleUploadedFile("r.pdf", b"MZ"))
    assert InstrumentEvent.objects.count() == 1


def test_a_second_fall_while_it_is_out_is_told_and_changes_no_service(person, one):
    keeper = person("technician")
    happened(one, Kind.DOUBTED, keeper)
    happened(one, Kind.DAMAGED, keeper, at=NOON + HOUR, text="t" * 300)
    assert (one.events.count(), one.service_changes.count()) == (2, 1)


def test_long_words_fit_the_reason(person, one):
    happened(one, Kind.DAMAGED, person("technician"), text="t" * 300)
    assert len(one.service_changes.get().reason) == 300

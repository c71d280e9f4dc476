"""The list before a rig goes into service: opened, worked off, added to, released by a named person."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from calibration.actions.commissioning import (
    LineFinding,
    add_line,
    open_commissioning,
    record_findings,
    release_rig,
)
from calibration.actions.rigs import change_rig, register_rig
from calibration.models import Commissioning, CommissioningFinding
from calibration.queries.commissioning import rig_use, sheet
from labsite.ledger.models import Entry, StoredFile
from labsite.ledger.queries import ledger_faults
from labsite.ledger.refusals import Refused
from tests.factories.calibration import CalibrationFactory, InstrumentFactory, RigFactory
from tests.factories.ledger import NOON, PlaceFactory

pytestmark = pytest.mark.django_db
PDF = b"%PDF-1.7 the manual"


def in_order(commissioning, *, but=()):
    """Findings that let every line hold, save those whose titles are named."""
    findings = []
    for row in commissioning.lines.all():
        if row.title in but:
            continue
        value = row.low if row.low is not None else row.high
        findings.append(LineFinding(row.pk, value=value, answer=None if value is not None else True))
    return findings


@pytest.fixture
def lead(person):
    return person("lead", full_name="Lou Lead")


@pytest.fixture
def new(lead):
    """The open list of a new ball-pressure rig; its requirements come from the editions of that method."""
    rig = register_rig(by=lead, at=NOON, code="BP-1", name="Ball pressure", kind="ball pressure")
    return Commissioning.objects.get(rig=rig)


def line(commissioning, title):
    return commissioning.lines.get(title=title)


def test_a_new_rig_is_not_used_until_a_named_person_releases_it(new, lead, person):
    rig, technician = new.rig, person("technician")
    assert rig_use([rig], NOON)[rig.pk].clause == "new here and not released for use yet"
    record_findings(by=technician, at=NOON, commissioning=new, findings=in_order(new))
    later = NOON + timedelta(hours=1)
    release_rig(by=lead, at=later, commissioning=new, note="  all   there ")
    assert [rig_use([rig], NOON + timedelta(minutes=minute))[rig.pk].may for minute in (-1, 0, 59, 60)] == [
        True, False, False, True,
    ]  # fmt: skip
    new.refresh_from_db()
    assert (new.released_by, new.release_note) == (lead, "all there")
    acts = list(Entry.objects.filter(book__name=rig.book).order_by("sequence").values_list("act", flat=True))
    assert acts == [
        "registered the rig", "opened the list before use", "recorded findings before use", "put the rig into service",
    ]  # fmt: skip
    assert list(ledger_faults()) == []


def test_the_requirements_of_its_methods_stand_on_the_list_with_their_limits(new):
    found = [(one.title, one.limit_text, one.unit) for one in new.lines.filter(kind="requirement")]
    # Figures of the editions of IEC 60695-10-2, as the methods state them with their sources.
    assert found == [
        ("Force", "20.0 ± 0.2 N", "N"),
        ("Ball diameter", "5.00 ± 0.05 mm", "mm"),
        ("Oven: spread over 600 s at a steady setting", "at most 4 K", "K"),
    ]


def test_lines_nobody_looked_at_keep_the_rig_from_release(new, lead):
    record_findings(by=lead, at=NOON, commissioning=new, findings=in_order(new, but=("Force",)))
    with pytest.raises(Refused, match=r"BP-1 is not released. 1 line is not looked at yet: Force\."):
        release_rig(by=lead, at=NOON, commissioning=new)


@pytest.mark.parametrize(("force", "holds"), [("19.79", False), ("19.8", True), ("20.2", True), ("20.2001", False)])
def test_a_value_decides_by_its_limit_and_blocks_outside_whatever_is_noted(new, lead, force, holds):
    row = line(new, "Force")
    found = LineFinding(row.pk, value=Decimal(force), answer=True, note="we take it")
    [made] = record_findings(by=lead, at=NOON, commissioning=new, findings=[found])
    assert made.holds is holds
    record_findings(by=lead, at=NOON, commissioning=new, findings=in_order(new, but=("Force",)))
    if holds:
        release_rig(by=lead, at=NOON, commissioning=new)
    else:
        with pytest.raises(Refused, match="1 line does not hold: Force"):
            release_rig(by=lead, at=NOON, commissioning=new)


def test_a_missing_part_blocks_until_a_note_restricts_the_use(new, lead):
    title = "Vessel for the cooling water"
    record_findings(by=lead, at=NOON, commissioning=new, findings=in_order(new, but=(title,)))
    row = line(new, title)
    [first] = record_findings(by=lead, at=NOON, commissioning=new, findings=[LineFinding(row.pk, value=Decimal(0))])
    with pytest.raises(Refused, match="1 line does not hold: Vessel"):
        release_rig(by=lead, at=NOON, commissioning=new)
    noted = LineFinding(row.pk, value=Decimal(0), note="cooled in the basin of the wash place", seen=first.pk)
    record_findings(by=lead, at=NOON, commissioning=new, findings=[noted])
    release_rig(by=lead, at=NOON, commissioning=new)
    entry = Entry.objects.get(book__name=new.rig.book, act="put the rig into service")
    assert entry.data["restrictions"] == [f"{title}: cooled in the basin of the wash place"]


def test_a_later_finding_replaces_an_earlier_one_and_both_stay(new, lead, person):
    row, technician = line(new, "Force"), person("technician")
    [first] = record_findings(
        by=technician, at=NOON, commissioning=new, findings=[LineFinding(row.pk, value=Decimal("19.5"))]
    )
    again = LineFinding(row.pk, value=Decimal("20.05"), seen=first.pk)
    record_findings(by=lead, at=NOON + timedelta(minutes=5), commissioning=new, findings=[again])
    [found] = [one for one in sheet(new, NOON + timedelta(minutes=5)).lines if one.row.pk == row.pk]
    assert [one.value for one in found.findings] == [Decimal("20.05"), Decimal("19.5")]
    assert found.answer.holds is True
    [before] = [one for one in sheet(new, NOON).lines if one.row.pk == row.pk]
    assert before.answer.holds is False


def test_who_was_faster_is_not_overwritten_unseen(new, lead):
    row = line(new, "Force")
    record_findings(by=lead, at=NOON, commissioning=new, findings=[LineFinding(row.pk, value=Decimal("19.5"))])
    with pytest.raises(Refused, match="Force: somebody else recorded a finding meanwhile") as refusal:
        record_findings(by=lead, at=NOON, commissioning=new, findings=[LineFinding(row.pk, value=Decimal(20))])
    assert refusal.value.field == f"line-{row.pk}"
    assert CommissioningFinding.objects.count() == 1


def test_all_findings_of_a_form_are_kept_or_none(new, lead):
    good, bad = line(new, "Force"), line(new, "Loading device with ball")
    findings = [LineFinding(good.pk, value=Decimal(20)), LineFinding(bad.pk, value=Decimal("0.5"))]
    with pytest.raises(Refused, match="whole pieces are counted"):
        record_findings(by=lead, at=NOON, commissioning=new, findings=findings)
    assert CommissioningFinding.objects.count() == 0


def test_a_gauge_out_of_calibration_verifies_nothing(new, lead):
    row, gauge = line(new, "Force"), InstrumentFactory.create(code="FG-9", kind="force gauge")
    found = LineFinding(row.pk, value=Decimal(20), measured_with=gauge)
    with pytest.raises(Refused, match="Force: FG-9 must not be used now"):
        record_findings(by=lead, at=NOON, commissioning=new, findings=[found])
    CalibrationFactory.create(instrument=gauge, accepted=True)
    [made] = record_findings(by=lead, at=NOON, commissioning=new, findings=[found])
    assert made.measured_with == gauge


def test_a_paper_is_kept_with_its_finding_by_what_it_is(new, lead):
    row = line(new, "Manual in a language the users read")
    text = LineFinding(row.pk, answer=True, file=SimpleUploadedFile("manual.pdf", b"not one"))
    with pytest.raises(Refused, match="is not a PDF, JPEG or PNG file") as refusal:
        record_findings(by=lead, at=NOON, commissioning=new, findings=[text])
    assert refusal.value.field == f"file-{row.pk}"
    paper = LineFinding(row.pk, answer=True, file=SimpleUploadedFile("manual", PDF))
    record_findings(by=lead, at=NOON, commissioning=new, findings=[paper])
    kept = StoredFile.objects.get()
    assert (kept.name, bytes(kept.content)) == ("manual.pdf", PDF)


def test_only_a_lead_or_the_quality_keeper_releases(new, lead, person):
    record_findings(by=lead, at=NOON, commissioning=new, findings=in_order(new))
    with pytest.raises(Refused, match="The quality keeper or a lead"):
        release_rig(by=person("technician"), at=NOON, commissioning=new)
    with pytest.raises(Refused, match="work this list off"):
        record_findings(by=person("counter"), at=NOON, commissioning=new, findings=[])
    release_rig(by=person("quality"), at=NOON, commissioning=new)


def test_a_released_list_is_closed(new, lead):
    record_findings(by=lead, at=NOON, commissioning=new, findings=in_order(new))
    release_rig(by=lead, at=NOON, commissioning=new)
    for act in (
        lambda: release_rig(by=lead, at=NOON, commissioning=new),
        lambda: record_findings(by=lead, at=NOON, commissioning=new, findings=in_order(new)),
        lambda: add_line(by=lead, at=NOON, commissioning=new, kind="lock", title="One more"),
    ):
        with pytest.raises(Refused, match="was released by Lou Lead; this list is closed"):
            act()


def test_after_a_repair_the_list_is_opened_with_its_reason_once(lead):
    rig = RigFactory.create(code="GW-7")
    assert rig_use([rig], NOON)[rig.pk].may  # a rig from before there were lists
    with pytest.raises(Refused, match="Say what was repaired"):
        open_commissioning(by=lead, at=NOON, rig=rig, occasion="repaired", reason=" ")
    open_commissioning(by=lead, at=NOON, rig=rig, occasion="repaired", reason="New bearing")
    assert rig_use([rig], NOON)[rig.pk].clause == "back from repair and not released for use yet"
    with pytest.raises(Refused, match="The list of GW-7 is open already"):
        open_commissioning(by=lead, at=NOON, rig=rig, occasion="moved", reason="To B-2")


def test_a_rig_that_goes_to_another_place_opens_its_list(lead):
    here, there = PlaceFactory.create(code="B-1"), PlaceFactory.create(code="B-2")
    rig = RigFactory.create(code="GW-7")
    rig = change_rig(by=lead, at=NOON, rig=rig, version=1, name=rig.name, place=here, in_use=True)
    assert not Commissioning.objects.exists()  # where it stands was only not said before
    rig = change_rig(by=lead, at=NOON, rig=rig, version=2, name=rig.name, place=there, in_use=True)
    opened = Commissioning.objects.get()
    assert (opened.occasion, opened.reason) == ("moved", "Moved from B-1 to B-2.")
    change_rig(by=lead, at=NOON, rig=rig, version=3, name=rig.name, place=here, in_use=True)
    assert Commissioning.objects.count() == 1


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        ({"kind": "part", "title": "Second burner"}, ("1 expected", Decimal(1), None, "pcs")),
        ({"kind": "part", "title": "Leads", "low": Decimal(4)}, ("4 expected", Decimal(4), None, "pcs")),
        ({"kind": "lock", "title": "Red strap"}, ("removed", None, None, "")),
        ({"kind": "paper", "title": "Plan of the supply"}, ("filed", None, None, "")),
        ({"kind": "requirement", "title": "Runs quietly"}, ("yes", None, None, "")),
        (
            {"kind": "requirement", "title": "Leakage", "high": Decimal("0.50"), "unit": "mA"},
            ("at most 0.50 mA", None, Decimal("0.50"), "mA"),
        ),
    ],
)
def test_a_line_the_list_lacks_is_added_at_its_end(new, lead, given, kept):
    count = new.lines.count()
    row = add_line(by=lead, at=NOON, commissioning=new, **given)
    assert (row.limit_text, row.low, row.high, row.unit) == kept
    assert row.position == count + 1
    assert row.source == "added by Lou Lead"
    assert [len(sheet(new, NOON + timedelta(seconds=s)).lines) for s in (-1, 0)] == [count, count + 1]


@pytest.mark.parametrize(
    ("given", "why"),
    [
        ({"kind": "part", "title": "  "}, "Say what is to be looked at"),
        ({"kind": "lock", "title": "Strap", "low": Decimal(1)}, "Only a part and a requirement have a figure"),
        ({"kind": "requirement", "title": "X", "low": Decimal(2), "high": Decimal(1)}, "is more than the most"),
        ({"kind": "requirement", "title": "X", "unit": "mm"}, "A unit is there and no limit"),
    ],
)
def test_a_line_that_says_nothing_clear_is_refused(new, lead, given, why):
    with pytest.raises(Refused, match=why):
        add_line(by=lead, at=NOON, commissioning=new, **given)

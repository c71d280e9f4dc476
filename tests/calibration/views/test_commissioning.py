"""The sheet before a rig goes into service: worked off without script, nothing typed lost, released, looked back at."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from calibration.actions.commissioning import LineFinding, record_findings, release_rig
from calibration.actions.rigs import register_rig
from calibration.forms.commissioning import SheetForm
from calibration.models import Commissioning, CommissioningFinding
from calibration.queries.commissioning import commissionings, sheet
from tests.calibration.actions.test_commissioning import in_order
from tests.factories.calibration import CalibrationFactory, InstrumentFactory, RigFactory
from tests.factories.ledger import NOON

pytestmark = pytest.mark.django_db
PDF = b"%PDF-1.7 the manual"


@pytest.fixture
def lead(person):
    return person("lead", full_name="Lou Lead")


@pytest.fixture
def new(lead):
    rig = register_rig(by=lead, at=NOON, code="BP-1", name="Ball pressure", kind="ball pressure")
    return Commissioning.objects.get(rig=rig)


def page(name, new):
    return reverse(f"calibration:{name}", args=[new.pk])


def test_the_sheet_is_worked_off_in_one_form(new, signed_in):
    client = signed_in("technician")
    shown = client.get(page("commissioning", new)).text
    count = new.lines.count()
    assert f"BP-1 is not used: 0 of {count} lines looked at." in shown
    assert "Mains and high current" in shown
    assert "20.0 ± 0.2 N" in shown
    force, paper = new.lines.get(title="Force"), new.lines.get(title="Manual in a language the users read")
    gauge = CalibrationFactory.create(instrument=InstrumentFactory.create(kind="force gauge"), accepted=True).instrument
    typed = {
        f"line-{force.pk}": "20,05", f"note-{force.pk}": "<b>three readings</b>", f"gauge-{force.pk}": gauge.pk,
        f"line-{paper.pk}": "yes", f"file-{paper.pk}": SimpleUploadedFile("manual.pdf", PDF),
    }  # fmt: skip
    answer = client.post(page("findings", new), typed, follow=True)
    assert "2 findings are recorded." in answer.text
    assert "&lt;b&gt;three readings&lt;/b&gt;" in answer.text
    assert f"2 of {count} lines looked at" in answer.text
    found = CommissioningFinding.objects.get(line=force)
    assert (found.value, found.holds, found.measured_with, found.by) == (Decimal("20.05"), True, gauge, client.person)
    kept = client.get(reverse("calibration:finding_file", args=[CommissioningFinding.objects.get(line=paper).pk]))
    assert kept.content == PDF


def test_only_what_was_changed_is_recorded(new, signed_in):
    client, force = signed_in("technician"), new.lines.get(title="Force")
    client.post(page("findings", new), {f"line-{force.pk}": "20.0", f"seen-{force.pk}": ""})
    first = CommissioningFinding.objects.get()
    same = {f"line-{force.pk}": "20.0", f"note-{force.pk}": "", f"gauge-{force.pk}": "", f"seen-{force.pk}": first.pk}
    assert "Nothing had changed." in client.post(page("findings", new), same, follow=True).text
    client.post(page("findings", new), same | {f"line-{force.pk}": "20.00"})
    assert [f"{one.value:f}" for one in CommissioningFinding.objects.order_by("pk")] == ["20.0", "20.00"]


@pytest.mark.parametrize(
    ("text", "why"),
    [("twenty", "is not a number"), ("1.234", "can be read in two ways"), ("", "say what was found")],
)
def test_a_slip_keeps_all_that_was_typed(new, signed_in, text, why):
    client = signed_in("technician")
    force, ball = new.lines.get(title="Force"), new.lines.get(title="Ball diameter")
    typed = {f"line-{force.pk}": text, f"note-{force.pk}": "near the stop", f"line-{ball.pk}": "5.01"}
    answer = client.post(page("findings", new), typed)
    assert answer.status_code == 422
    assert why in answer.text
    for kept in ('value="near the stop"', 'value="5.01"'):
        assert kept in answer.text
    assert CommissioningFinding.objects.count() == 0


def test_a_line_left_alone_is_no_clash_when_somebody_else_was_there(new, lead, signed_in):
    client = signed_in("technician")
    force, ball = new.lines.get(title="Force"), new.lines.get(title="Ball diameter")
    record_findings(by=lead, at=NOON, commissioning=new, findings=[LineFinding(force.pk, value=Decimal("19.1"))])
    blank = {f"line-{force.pk}": "", f"note-{force.pk}": "", f"gauge-{force.pk}": "", f"seen-{force.pk}": ""}
    answer = client.post(page("findings", new), blank | {f"line-{ball.pk}": "x"})
    assert 'value="19.1"' in answer.text  # what holds by now is shown, should the form come back
    client.post(page("findings", new), blank | {f"line-{ball.pk}": "5.00"})
    assert [one.line for one in CommissioningFinding.objects.order_by("pk")] == [force, ball]


def test_a_line_both_changed_is_said(new, lead, signed_in):
    client, force = signed_in("technician"), new.lines.get(title="Force")
    record_findings(by=lead, at=NOON, commissioning=new, findings=[LineFinding(force.pk, value=Decimal("19.1"))])
    answer = client.post(page("findings", new), {f"line-{force.pk}": "20.0", f"seen-{force.pk}": ""})
    assert "somebody else recorded a finding meanwhile" in answer.text
    assert 'value="20.0"' in answer.text
    assert CommissioningFinding.objects.count() == 1


def test_a_thousandth_is_a_fraction_where_the_limit_is_written_so(lead, signed_in):
    rig = register_rig(by=lead, at=NOON, code="TR-1", name="Tracking", kind="tracking")
    row = Commissioning.objects.get(rig=rig).lines.get(title="Mass of 50 drops")
    signed_in("technician").post(
        reverse("calibration:findings", args=[row.commissioning_id]), {f"line-{row.pk}": "1.052"}
    )
    assert CommissioningFinding.objects.get().value == Decimal("1.052")


def test_the_release_is_offered_when_every_line_holds_and_to_those_who_may(new, lead, signed_in):
    quality, technician = signed_in("quality"), signed_in("technician")
    assert "BP-1 cannot be released yet." in quality.get(page("commissioning", new)).text
    refused = quality.post(page("release", new), {"note": "in a hurry"})
    assert (refused.status_code, "not looked at yet" in refused.text) == (422, True)
    assert 'value="in a hurry"' not in refused.text  # the box is not there yet
    record_findings(by=lead, at=NOON, commissioning=new, findings=in_order(new))
    assert "Put BP-1 into service" not in technician.get(page("commissioning", new)).text
    assert technician.post(page("release", new)).status_code == 403
    assert "Put BP-1 into service" in quality.get(page("commissioning", new)).text
    answer = quality.post(page("release", new), {"note": "all there"}, follow=True)
    assert "BP-1 is in service." in answer.text
    closed = quality.get(page("commissioning", new)).text
    assert f"Released by {quality.person}: <bdi>all there</bdi>" in closed
    assert "Record what was found" not in closed


def test_a_line_is_added_by_hand_and_a_slip_in_it_keeps_the_typing(new, signed_in):
    client = signed_in("lead")
    wrong = client.post(page("line_new", new), {"kind": "lock", "title": "Red strap", "low": "1"})
    assert (wrong.status_code, 'value="Red strap"' in wrong.text) == (422, True)
    assert "<details open>" in wrong.text
    answer = client.post(page("line_new", new), {"kind": "lock", "title": "Red strap"}, follow=True)
    assert "“Red strap” is on the list." in answer.text
    titles = [one.row.title for one in sheet(commissionings().get(pk=new.pk), timezone.now()).lines]
    assert titles.index("Red strap") == titles.index("Force") - 1  # the last of the locks, before the requirements


def test_a_list_is_opened_after_a_repair(signed_in):
    rig, client = RigFactory.create(code="GW-7"), signed_in("technician")
    address = reverse("calibration:commissioning_new", args=["GW-7"])
    assert client.post(address, {"occasion": "new", "reason": "x"}).status_code == 422
    client.post(address, {"occasion": "repaired", "reason": "New bearing"})
    shown = client.get(reverse("calibration:rig", args=["GW-7"])).text
    assert "GW-7 is blocked." in shown
    assert "It is back from repair and not released for use yet." in shown
    assert Commissioning.objects.get(rig=rig).opened_by == client.person


def test_as_of_a_day_the_sheet_knows_nothing_later(new, lead, signed_in):
    client, address = signed_in("lead"), page("commissioning", new)
    late = NOON + timedelta(days=3)
    record_findings(by=lead, at=late, commissioning=new, findings=in_order(new))
    release_rig(by=lead, at=late, commissioning=new)
    before = client.get(address, {"as_of": f"{NOON + timedelta(days=1):%Y-%m-%d}"})
    assert "0 of" in before.text
    assert "Record what was found" not in before.text
    assert client.get(address, {"as_of": f"{NOON - timedelta(days=1):%Y-%m-%d}"}).status_code == 404
    rig_then = client.get(reverse("calibration:rig", args=["BP-1"]), {"as_of": f"{NOON + timedelta(days=1):%Y-%m-%d}"})
    assert "not released for use yet" in rig_then.text
    assert "Lou Lead" in rig_then.text


@pytest.mark.parametrize("count", [1, 3])
def test_a_sheet_takes_as_many_reads_for_three_findings_as_for_one(count, new, lead, django_assert_num_queries):
    record_findings(by=lead, at=NOON, commissioning=new, findings=in_order(new)[:count])
    with django_assert_num_queries(4):
        found = sheet(commissionings().get(pk=new.pk), NOON)
        rows = list(SheetForm(found).rows())
    assert [found.looked_at, len(rows)] == [count, new.lines.count()]

"""The page of a rig's wire: fitted, cleaned and measured without script; nothing typed lost."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from calibration.actions.wires import fit_wire
from calibration.models import GlowWire, WireCare
from tests.factories.calibration import RigFactory
from tests.factories.ledger import NOON

pytestmark = pytest.mark.django_db


@pytest.fixture
def rig(lab):
    return RigFactory.create(code="GW-1")


def page(name="wires"):
    return reverse(f"calibration:{name}", args=["GW-1"])


def test_a_wire_is_fitted_cleaned_measured_and_replaced(rig, signed_in):
    client = signed_in("technician")
    assert "No wire is recorded on GW-1." in client.get(page()).text
    client.post(page("wire_fit"), {"code": "W-1", "first_tip_mm": "4,02", "lot": "<b>7</b>"})
    first = GlowWire.objects.get()
    assert f"{first.first_tip_mm:f}" == "4.02"
    client.post(page("wire_clean"), {"note": "soft brush"})
    client.post(page("wire_measure"), {"tip_mm": "3.970"})
    shown = client.get(page()).text
    assert "Wire <bdi>W-1</bdi> is on GW-1." in shown
    assert "&lt;b&gt;7&lt;/b&gt;" in shown
    assert "3.970 mm" in shown
    again = client.post(page("wire_fit"), {"code": "W-2", "seen_wire": first.pk})
    assert (again.status_code, 'value="W-2"' in again.text) == (422, True)
    assert "Say why wire W-1 comes off" in again.text
    answer = client.post(page("wire_fit"), {"code": "W-2", "seen_wire": first.pk, "reason": "cracked"}, follow=True)
    assert "Wire W-2 is fitted to GW-1. Make the foil check before use." in answer.text
    assert "<bdi>cracked</bdi>" in answer.text


@pytest.mark.parametrize("typed", ["three", "3.9.7", "", "0"])
def test_a_measure_that_is_none_keeps_the_typing(rig, signed_in, typed):
    client = signed_in("technician")
    fit_wire(by=client.person, at=NOON, rig=rig, code="W-1", seen_wire=None, first_tip_mm=Decimal(4))
    answer = client.post(page("wire_measure"), {"tip_mm": typed, "note": "near the end"})
    assert (answer.status_code, 'value="near the end"' in answer.text) == (422, True)
    assert WireCare.objects.count() == 0


def test_without_a_wire_nothing_is_cleaned(rig, signed_in):
    answer = signed_in("technician").post(page("wire_clean"), follow=True)
    assert "No wire is fitted to GW-1; fit one first." in answer.text


def test_others_look_only(rig, signed_in):
    client = signed_in("counter")
    assert "Fit the wire" not in client.get(page()).text
    assert client.post(page("wire_fit"), {"code": "W-1"}).status_code == 403


def test_a_rig_without_wires_has_no_such_page(lab, signed_in):
    RigFactory.create(code="NF-1", kind="needle flame")
    assert signed_in("lead").get(reverse("calibration:wires", args=["NF-1"])).status_code == 404


def test_as_of_a_day_the_page_knows_the_wire_of_then(rig, signed_in):
    client = signed_in("lead")
    first = fit_wire(by=client.person, at=NOON, rig=rig, code="W-1", seen_wire=None)
    late = NOON + timedelta(days=3)
    fit_wire(by=client.person, at=late, rig=rig, code="W-2", seen_wire=first.pk, reason="worn")
    then = client.get(page(), {"as_of": f"{NOON + timedelta(days=1):%Y-%m-%d}"}).text
    assert "Wire <bdi>W-1</bdi> was on GW-1." in then
    assert "W-2" not in then
    assert "Fit the wire" not in then

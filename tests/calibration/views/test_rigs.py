"""The pages of rigs."""

import pytest
from django.urls import reverse
from django.utils import timezone

from calibration.models import Mounting, Rig
from tests.factories.calibration import CalibrationFactory, InstrumentFactory, MountingFactory, RigFactory

pytestmark = pytest.mark.django_db


def page(name: str, *arguments: object) -> str:
    return reverse(f"calibration:{name}", args=arguments)


def test_the_list_says_how_many_stand_ready_and_why_not(signed_in):
    assert b"No rig is registered yet." in signed_in("technician").get(page("rigs")).content
    MountingFactory.create(rig__code="GW-1", instrument__code="TC-1")
    ready = CalibrationFactory.create(accepted=True, calibrated_on=timezone.localdate(), entered_at=timezone.now())
    MountingFactory.create(rig__code="GW-2", instrument=ready.instrument)
    text = signed_in("technician").get(page("rigs")).content.decode()
    assert "1 of 2 rigs stands ready." in text
    assert "GW-1 is blocked</a><small>TC-1: no calibration of it is entered.</small>" in text
    assert "GW-2 stands ready</a><small>Its instrument is in calibration.</small>" in text


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_takes_as_many_reads_for_three_rigs_as_for_one(signed_in, django_assert_num_queries, count):
    for _ in range(count):
        MountingFactory.create()
    client = signed_in("technician")
    with django_assert_num_queries(11):
        assert client.get(page("rigs")).status_code == 200


def test_a_lead_registers_mounts_and_takes_off(signed_in):
    client, one = signed_in("lead"), InstrumentFactory.create(code="TC-1")
    response = client.post(page("rig_new"), {"code": "GW-1", "name": "Glow wire", "kind": "glow wire"})
    assert response.url == page("rig", "GW-1")
    assert client.post(page("mount", "GW-1"), {"instrument": one.pk}).url == page("rig", "GW-1")
    mounting = Mounting.objects.get()
    assert "Take TC-1 off" in client.get(page("rig", "GW-1")).content.decode()
    twice = [client.post(page("take_off", "GW-1", mounting.pk), follow=True).content.decode() for _ in range(2)]
    assert "TC-1 is taken off GW-1." in twice[0]
    assert "TC-1 was already taken off GW-1" in twice[1]


def test_an_instrument_on_another_rig_is_not_offered(signed_in):
    taken, rig = MountingFactory.create().instrument, RigFactory.create()
    client = signed_in("quality")
    assert f'value="{taken.pk}"' not in client.get(page("rig", rig.code)).content.decode()
    response = client.post(page("mount", rig.code), {"instrument": taken.pk})
    assert response.status_code == 422
    assert Mounting.objects.count() == 1


def test_a_rig_is_changed_but_not_over_a_faster_hand(signed_in):
    rig, client = RigFactory.create(name="Old", version=3), signed_in("lead")
    assert client.post(page("rig_edit", rig.code), {"name": "New", "version": "2"}).status_code == 422
    assert client.post(page("rig_edit", rig.code), {"name": "New", "version": "3", "in_use": "on"}).status_code == 302
    rig.refresh_from_db()
    assert (rig.name, rig.in_use, rig.version) == ("New", True, 4)


def test_markup_in_names_is_text(signed_in):
    rig = RigFactory.create(name="<script>alert(1)</script>" + "n" * 90)
    client = signed_in("lead")
    for address in (page("rigs"), page("rig", rig.code), page("rig_edit", rig.code)):
        text = client.get(address).content.decode()
        assert "<script>alert" not in text
        assert "&lt;script&gt;alert(1)&lt;/script&gt;" + "n" * 90 in text


@pytest.mark.parametrize("role", ["counter", "technician", "checker", "signatory", "administrator"])
def test_others_look_only(signed_in, role):
    mounting, client = MountingFactory.create(), signed_in(role)
    code = mounting.rig.code
    assert [client.get(page(name, *rest)).status_code for name, *rest in (("rigs",), ("rig", code))] == [200, 200]
    answers = [
        client.post(page("rig_new"), {"code": "GW-9", "name": "n", "kind": "other"}),
        client.post(page("rig_edit", code), {"name": "n", "version": "1"}),
        client.post(page("mount", code), {"instrument": mounting.instrument.pk}),
        client.post(page("take_off", code, mounting.pk)),
    ]
    assert [answer.status_code for answer in answers] == [403] * 4
    assert (Rig.objects.count(), Mounting.objects.filter(removed_at=None).count()) == (1, 1)

"""Taking out of service in two presses, and the form that records what happened."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from calibration.models import InstrumentEvent
from calibration.queries.usability import usability
from tests.factories.calibration import CalibrationFactory, MountingFactory
from tests.factories.ledger import PlaceFactory

pytestmark = pytest.mark.django_db


def current(**more):
    """An instrument in calibration."""
    day = timezone.now().date() - timedelta(days=30)
    return CalibrationFactory.create(
        accepted=True, calibrated_on=day, entered_at=timezone.now() - timedelta(days=20), **more
    ).instrument


def address(query=""):
    return reverse("calibration:out_at_once") + query


@pytest.mark.parametrize("role", ["technician", "lead", "counter", "quality"])
@pytest.mark.parametrize("kind", ["damaged", "doubted", "lost", "moved"])
def test_two_presses_take_it_out_and_lead_back_to_the_bench(signed_in, role, kind):
    one, browser = current(), signed_in(role)
    page = address(f"?instrument={one.number}&back=/bench/7/setup/")
    text = browser.get(page).content.decode()  # the first press opened it
    assert '<html lang="en" class="bench">' in text
    assert re.findall(r'<button class="key" name="kind" value="([a-z ]+)">', text) == [
        "damaged", "doubted", "lost", "moved",
    ]  # fmt: skip
    answer = browser.post(page, {"instrument": one.number, "kind": kind})  # the second
    assert (answer.status_code, answer.url) == (302, "/bench/7/setup/")
    assert usability(one, timezone.now()).clause.endswith(f": {kind}")
    assert [event.kind for event in one.events.all()] == [kind]


def test_without_a_way_back_it_leads_to_the_instrument(signed_in):
    one, browser = current(), signed_in("counter")
    for foreign in ("", "&back=https://elsewhere.invalid/", "&back=//elsewhere.invalid/", "&back=javascript:x"):
        page = address(f"?instrument={one.number}{foreign}")
        text = browser.get(page).content.decode()
        assert ('class="bench"' in text, "elsewhere" in text, "javascript:" in text) == (False, False, False)
    answer = browser.post(page, {"instrument": one.number, "kind": "lost"})
    assert answer.url == reverse("calibration:instrument", args=[one.number])


def test_a_rigs_instruments_are_offered_and_only_the_pressed_one_goes(signed_in):
    first, second = current(), current()
    mounting = MountingFactory.create(instrument=first)
    MountingFactory.create(instrument=second, rig=mounting.rig)
    browser = signed_in("technician")
    page = address(f"?rig={mounting.rig.code}")
    text = browser.get(page).content.decode()
    assert (first.code in text, second.code in text) == (True, True)
    place = PlaceFactory.create()
    typed = {"instrument": second.number, f"{second.number}-text": "hit <b>", f"{second.number}-place": place.pk}
    browser.post(page, typed | {"kind": "damaged"})
    assert [usability(one, timezone.now()).usable for one in (first, second)] == [True, False]
    event = InstrumentEvent.objects.get()
    assert (event.instrument, event.text, event.place) == (second, "hit <b>", place)


def test_a_refusal_keeps_the_typing(signed_in):
    one = current()
    page = address(f"?instrument={one.number}")
    typed = {"instrument": one.number, f"{one.number}-text": "kept & whole", "kind": "repaired"}
    answer = signed_in("technician").post(page, typed)
    text = answer.content.decode()
    assert (answer.status_code, "Press one of the reasons." in text) == (422, True)
    assert 'value="kept &amp; whole"' in text
    assert not InstrumentEvent.objects.exists()


def test_no_instrument_named_is_not_found(signed_in):
    for query in ("", "?instrument=999999", "?rig=GW-404", "?instrument=é☃"):
        assert signed_in("lead").get(address(query)).status_code == 404


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_takes_as_many_reads_for_three_as_for_one(signed_in, django_assert_num_queries, count):
    query = "&".join(f"instrument={current().number}" for _ in range(count))
    client = signed_in("technician")
    with django_assert_num_queries(8 + count):  # each form reads the places for its own list
        assert client.get(address("?" + query)).status_code == 200


def test_the_form_records_and_offers_the_keepers_kinds_to_the_keeper_only(signed_in):
    one = current()
    page = reverse("calibration:event_new", args=[one.number])
    assert 'value="repaired"' not in signed_in("technician").get(page).content.decode()
    keeper = signed_in("quality")
    assert 'value="repaired"' in keeper.get(page).content.decode()
    today = timezone.localdate().isoformat()
    answer = keeper.post(page, {"kind": "repaired", "happened_on": today, "text": "new plug"})
    assert answer.url == reverse("calibration:instrument", args=[one.number])
    text = keeper.get(answer.url).content.decode()
    assert "new plug" in text
    assert "must not be used: it is out of service.</h1>" in text
    refused = signed_in("technician").post(page, {"kind": "repaired", "happened_on": today, "text": "again"})
    assert (refused.status_code, "again" in refused.content.decode()) == (422, True)


def test_what_is_told_later_does_not_show_on_an_earlier_day(signed_in):
    one, browser = current(), signed_in("lead")
    browser.post(address(f"?instrument={one.number}"), {"instrument": one.number, "kind": "lost"})
    day = (timezone.localdate() - timedelta(days=1)).isoformat()
    text = browser.get(reverse("calibration:instrument", args=[one.number]) + f"?as_of={day}").content.decode()
    assert "Nothing is told: not moved, lost" in text
    assert "Record what happened" not in text


def test_the_rigs_page_leads_to_the_keys_and_back(signed_in):
    mounting = MountingFactory.create(instrument=current())
    home = reverse("calibration:rig", args=[mounting.rig.code])
    browser, page = signed_in("technician"), address(f"?rig={mounting.rig.code}&back={home}")
    assert page.replace("&", "&amp;") in browser.get(home).content.decode()
    assert address() not in signed_in("signatory").get(home).content.decode()
    answer = browser.post(page, {"instrument": mounting.instrument.number, "kind": "doubted"})
    assert answer.url == home

"""Limits on screen: set, begun with a class, ended; the page that judges by them; the drawing with its limit lines."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from calibration.actions.calibrations import decide_calibration
from calibration.actions.instruments import change_service
from calibration.actions.limits import set_limit
from calibration.models import Calibration, InstrumentLimit
from tests.factories.calibration import CalibrationFactory, InstrumentFactory

pytestmark = pytest.mark.django_db
D = Decimal
TYPED = {"unit": "°C", "absolute": "1,5", "relative_percent": "0.4", "low": "550", "high": "960",
         "decision_rule": "simple acceptance", "source": "IEC 60584-1:2013"}  # fmt: skip


def page(name: str, *arguments: object) -> str:
    return reverse(f"calibration:{name}", args=arguments)


def thermocouple(**facts: str):
    return InstrumentFactory.create(kind="thermocouple", **facts)


def calibrated(one, indication: str, days: int, **facts):
    """A calibration of so many days ago with one point at 850 °C, U 1.1 K, k 2."""
    day = timezone.localdate() - timedelta(days=days)
    made = CalibrationFactory.create(instrument=one, calibrated_on=day, **facts)
    made.points.create(
        reference="850", indication=indication, unit="°C", expanded_uncertainty="1.1", coverage_factor="2"
    )
    return made


def limited(one, keeper, **more):
    """Class 1 of type K, from a moment before everything else."""
    facts: dict[str, Any] = {
        "unit": "°C",
        "absolute": D("1.5"),
        "relative": D("0.004"),
        "source": "IEC 60584-1:2013",
    } | more
    return set_limit(by=keeper, at=timezone.now() - timedelta(days=900), instrument=one, **facts)


def test_a_limit_is_set_digit_for_digit_and_shown(signed_in):
    one, client = thermocouple(), signed_in("quality")
    response = client.post(page("limit_new", one.number), TYPED, follow=True)
    stored = InstrumentLimit.objects.get()
    assert [str(stored.absolute), str(stored.relative), str(stored.low)] == ["1.5", "0.004", "550"]
    text = response.content.decode()
    assert "1.5 K or 0.4 % of the value, the larger, from 550 to 960 °C" in text
    assert f"{one.code} is judged by this limit in °C from now on." in text


def test_the_form_begins_with_a_tolerance_class_or_with_what_holds(signed_in, person):
    one, client = thermocouple(thermocouple_type="K"), signed_in("quality")
    text = client.get(page("limit_new", one.number)).content.decode()
    assert [f'href="?class={number}"' in text for number in (1, 2, 3)] == [True, True, True]
    begun = client.get(page("limit_new", one.number) + "?class=2").context["form"].initial
    assert begun == {
        "absolute": "2.5", "relative_percent": "0.7500", "low": "-40", "high": "1200", "unit": "°C",
        "source": "IEC 60584-1:2013, type K, class 2, new material", "decision_rule": "simple acceptance",
    }  # fmt: skip
    limited(one, person("quality"), decision_rule="guard band", guard_factor=D("0.83"), drift_allowance=D("0.50"))
    held = client.get(page("limit_new", one.number) + "?unit=°C").context["form"].initial
    assert (held["decision_rule"], held["guard_factor"], held["drift_allowance"]) == ("guard band", "0.83", "0.50")


def test_an_instrument_that_is_no_thermocouple_is_offered_its_own_units_and_no_class(signed_in):
    one = InstrumentFactory.create(kind="hygrometer")
    response = signed_in("quality").get(page("limit_new", one.number) + "?class=1")
    assert [unit for unit, _ in response.context["form"].fields["unit"].choices] == ["°C", "% RH", "K", "kPa"]
    assert "tolerance class" not in response.content.decode()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"absolute": "", "relative_percent": ""}, "Write what is permitted: a figure, a share of the value, or both."),
        ({"absolute": "1.234"}, "“1.234” can be read in two ways."),
        ({"absolute": "1.2345678901234567"}, "Permitted, fixed: 1.2345678901234567 has more than 15 digits."),
        ({"decision_rule": "guard band"}, "A guard band needs its factor r; w = r U."),
        ({"unit": "N"}, "Select a valid choice"),
        ({"source": ""}, "This field is required"),
    ],
)
def test_a_refused_limit_keeps_what_was_typed(signed_in, change, words):
    one = thermocouple()
    response = signed_in("quality").post(page("limit_new", one.number), TYPED | change)
    text = response.content.decode()
    assert (response.status_code, words in text, 'value="960"' in text) == (422, True, True)
    assert InstrumentLimit.objects.count() == 0


def test_a_limit_is_ended_with_a_reason_and_stays_in_the_history(signed_in, person):
    one, client = thermocouple(), signed_in("quality")
    row = limited(one, person("quality"))
    assert client.post(page("limit_end", row.pk), {"reason": ""}).status_code == 422
    text = client.post(page("limit_end", row.pk), {"reason": "worn out"}, follow=True).content.decode()
    assert "No limit is set: its calibrations are not judged." in text
    assert "<b>Ended</b> in °C: worn out" in text
    assert "2 earlier statements" in text


@pytest.mark.parametrize("role", ["technician", "lead", "counter", "checker", "signatory", "administrator"])
def test_only_the_keeper_sets_and_ends_limits(signed_in, person, role):
    row = limited(thermocouple(), person("quality"))
    client = signed_in(role)
    for address in (page("limit_new", row.instrument.number), page("limit_end", row.pk)):
        assert (client.get(address).status_code, client.post(address, TYPED).status_code) == (403, 403)
    assert "Set a limit" not in client.get(page("instrument", row.instrument.number)).content.decode()


def test_what_came_back_wrong_is_the_headline_until_another_is_accepted(signed_in, person):
    keeper, one = person("quality"), thermocouple(code="TC-07")
    limited(one, keeper)
    calibrated(one, "849.2", 400, accepted=True)
    bad = calibrated(one, "846.1", 10)
    client, address = signed_in("technician"), page("instrument", one.number)
    headline = "<h1>TC-07 must not be used: it came back reading 3.9 K low at 850 °C, 3.4 K are permitted.</h1>"
    text = client.get(address).content.decode()
    assert headline in text
    assert "awaits verification" in text
    decide_calibration(by=keeper, at=timezone.now(), calibration=bad, decision="rejected", reason="out as found")
    text = client.get(address).content.decode()
    assert headline in text
    assert "was rejected: out as found" in text
    calibrated(one, "849.9", 2, accepted=True)
    text = client.get(address).content.decode()
    assert "<h1>TC-07 may be used until" in text
    assert "As found it is out of its limits: it read 3.9 K low at 850 °C, 3.4 K are permitted." in text


def test_out_of_service_too_the_headline_says_how_it_came_back(signed_in, person):
    keeper, one = person("quality"), thermocouple(code="TC-11")
    limited(one, keeper)
    calibrated(one, "846.1", 10)
    change_service(by=keeper, at=timezone.now(), instrument=one, state="out of service", reason="sent away")
    text = signed_in("technician").get(page("instrument", one.number)).content.decode()
    assert "<h1>TC-11 must not be used: it came back reading 3.9 K low at 850 °C, 3.4 K are permitted.</h1>" in text
    assert "It is out of service since" in text


def test_without_limits_the_headline_says_what_it_said_before(signed_in):
    one = thermocouple(code="TC-08")
    calibrated(one, "700", 10)
    text = signed_in("technician").get(page("instrument", one.number)).content.decode()
    assert "<h1>TC-08 must not be used: its calibration of" in text
    assert "As found it is not judged" not in text


def test_a_past_day_is_judged_by_the_limits_of_that_day(signed_in, person):
    keeper, one = person("quality"), thermocouple(code="TC-09")
    one.registered_at = timezone.now() - timedelta(days=1000)
    one.save()
    limited(one, keeper)
    calibrated(one, "849.2", 400, accepted=True, entered_at=timezone.now() - timedelta(days=399))
    set_limit(by=keeper, at=timezone.now(), instrument=one, unit="°C", absolute=D("0.5"), source="stricter")
    client, past = signed_in("technician"), timezone.localdate() - timedelta(days=30)
    now = client.get(page("instrument", one.number)).content.decode()
    then = client.get(page("instrument", one.number) + f"?as_of={past.isoformat()}").content.decode()
    assert ("it read 0.8 K low at 850 °C, 0.5 K are permitted" in now, "stricter" in now) == (True, True)
    assert ("at most it read 0.8 K low at 850 °C, 3.4 K are permitted" in then, "stricter" in then) == (True, False)


def test_the_drift_is_drawn_between_its_limits(signed_in, person):
    one = thermocouple(code="TC-10")
    limited(one, person("quality"))
    calibrated(one, "849.2", 400, accepted=True)
    calibrated(one, "846.1", 10)
    text = signed_in("technician").get(page("instrument", one.number)).content.decode()
    assert "Error of TC-10 at 850 °C, permitted ±3.4 K." in text
    assert [words in text for words in ("+3.4 K permitted", "−3.4 K permitted", 'class="h-dot"')] == [True] * 3


def test_the_page_of_decision_shows_every_check_with_its_figures(signed_in, person):
    one = thermocouple(serial_number="S1")
    limited(one, person("quality"))
    made = calibrated(one, "846.1", 10, serial_on_certificate="<b>S2")
    client, address = signed_in("quality"), page("calibration_decide", made.pk)
    text = client.get(address).content.decode()
    assert "The certificate says &lt;b&gt;S2, the instrument is registered as S1." in text
    assert "As found it is out of its limits: it read 3.9 K low at 850 °C, 3.4 K are permitted." in text
    assert ("±3.4 K" in text, "risk of being wrong 18 %" in text) == (True, True)
    refused = client.post(address, {"decision": "accepted", "reason": ""})
    assert (refused.status_code, "Write why it is accepted all the same." in refused.content.decode()) == (422, True)
    client.post(address, {"decision": "rejected", "reason": "out"})
    after = client.get(address).content.decode()
    assert "is already decided: rejected" in after
    assert "The certificate says &lt;b&gt;S2, the instrument is registered as S1." in after


def test_a_decision_on_checks_that_changed_is_asked_again_with_the_new_ones(signed_in, person):
    keeper, one = person("quality"), thermocouple()
    limited(one, keeper)
    made = calibrated(one, "849.2", 10)
    client, address = signed_in("quality"), page("calibration_decide", made.pk)
    shown = client.get(address).context["checks"].fingerprint
    set_limit(by=keeper, at=timezone.now(), instrument=one, unit="°C", absolute=D("0.5"), source="stricter")
    typed = {"decision": "accepted", "reason": "compared", "shown_checks": shown}
    response = client.post(address, typed)
    text = response.content.decode()
    assert (response.status_code, "came out otherwise" in text, ">compared<" in text.replace("\n", "")) == (
        422,
        True,
        True,
    )
    assert Calibration.objects.get().awaits
    fresh = response.context["checks"].fingerprint
    assert f'name="shown_checks" value="{fresh}"' in text
    assert client.post(address, typed | {"shown_checks": fresh}).status_code == 302


def test_what_was_decided_before_there_were_checks_says_so(signed_in):
    old = CalibrationFactory.create(accepted=True)
    text = signed_in("quality").get(page("calibration_decide", old.pk)).content.decode()
    assert "No checks of its certificate were kept when it was decided." in text

"""The pages of checks: the answer first, forms by kind, rights, past days, hostile text, a constant number of reads."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from calibration.models import CheckPlan, InstrumentKind, IntermediateCheck, RigKind
from tests.calibration.checking import D, certified, gauge, planned, recorded
from tests.factories.calibration import CalibrationFactory, InstrumentFactory, MountingFactory, RigFactory

pytestmark = pytest.mark.django_db


def current(**more):
    facts = {"calibrated_on": ago(30).date(), "entered_at": ago(20)}
    return CalibrationFactory.create(accepted=True, **facts, **more).instrument


@pytest.fixture
def tip(lab):
    return current(instrument__code="TC-01")


def address(name, *arguments):
    return reverse(f"calibration:{name}", args=arguments)


def text(client, name, *arguments, **asked):
    response = client.get(address(name, *arguments), asked)
    assert response.status_code == 200
    return response.text


def ago(days):
    return timezone.now() - timedelta(days=days)


def foil(thing, reading, **more):
    return recorded(thing, "foil", indication=D(reading), foil_reference="nominal", **({"at": ago(1)} | more))


def posted(client, name, *arguments, **typed):
    return client.post(address(name, *arguments), {"form_key": uuid4()} | typed)


def test_an_instrument_without_checks_says_so(tip, signed_in):
    page = text(signed_in("technician"), "instrument_checks", tip.number)
    assert "<h1>No check of TC-01 is recorded.</h1>" in page
    assert "Nothing is planned." in page


def test_a_passed_check_is_the_answer_with_the_next_one(tip, signed_in):
    planned(tip, "foil", at=ago(40), every_days=60)
    foil(tip, "962.5")
    page = text(signed_in("technician"), "instrument_checks", tip.number)
    assert "<h1>TC-01 passed its last check; the next is due on " in page
    assert "The foil melted at an indicated 962.5 °C" in page
    assert 'class="dot"' in page


def test_a_failed_check_says_so_plainly_and_leads_to_the_trace(tip, signed_in):
    planned(tip, "foil", at=ago(40))
    foil(tip, "975")
    page = text(signed_in("technician"), "instrument_checks", tip.number)
    assert "<h1>TC-01 failed its last check and went out of service.</h1>" in page
    assert f'href="{reverse("reports:trace", args=[tip.number])}"' in page
    assert "out of service" in text(signed_in("technician"), "instrument", tip.number)


def test_a_missed_check_warns_and_blocks_nothing(tip, signed_in):
    rig = MountingFactory.create(instrument=tip).rig
    planned(tip, "foil", at=ago(40), every_days=30)
    client = signed_in("technician")
    page = text(client, "instrument_checks", tip.number)
    assert "<h1>A check of TC-01 is overdue since " in page
    assert "A missed check warns and blocks nothing" in page
    assert "<h1>TC-01 may be used until" in text(client, "instrument", tip.number)
    rig_page = text(client, "rig", rig.code)
    assert f"<h1>{rig.code} stands ready.</h1>" in rig_page
    assert "TC-01, silver foil melts at the tip: check overdue since " in rig_page
    assert "Check TC-01: silver foil melts at the tip" in text(client, "instruments")


def test_what_is_not_due_is_not_on_the_list(tip, signed_in):
    planned(tip, "foil", at=ago(1), every_days=30)
    assert "Checks to make" not in text(signed_in("technician"), "instruments")


def test_the_kind_is_chosen_first(tip, signed_in):
    page = text(signed_in("technician"), "instrument_check_kinds", tip.number)
    for kind in ("foil", "comparison", "agreement", "other"):
        assert address("instrument_check_new", tip.number, kind) in page
    assert address("instrument_check_new", tip.number, "masses") not in page


def test_a_check_is_recorded_and_its_digits_are_kept(tip, signed_in):
    planned(tip, "foil", at=ago(40))
    client = signed_in("technician")
    typed = {"indication": "962,50", "foil_reference": "true"}
    answer = posted(client, "instrument_check_new", tip.number, "foil", **typed)
    assert answer.url == address("instrument_checks", tip.number)
    made = IntermediateCheck.objects.get()
    assert (str(made.indication), str(made.reference), made.entered_by) == ("962.50", "961.78", client.person)


def test_a_double_press_records_one_check(tip, signed_in):
    planned(tip, "foil", at=ago(40))
    client, key = signed_in("technician"), uuid4()
    for _ in range(2):
        posted(
            client, "instrument_check_new", tip.number, "foil", form_key=key, indication="999", foil_reference="true"
        )
    assert IntermediateCheck.objects.count() == 1
    assert tip.service_changes.count() == 1


def test_a_check_may_be_told_later_in_laboratory_time(tip, signed_in):
    """Noon in Berlin is 11:00 UTC in winter."""
    planned(tip, "foil", at=ago(40))
    typed = {"indication": "960", "foil_reference": "nominal", "checked_at": "2026-01-22 12:00"}
    CalibrationFactory.create(instrument=tip, accepted=True)
    posted(signed_in("technician"), "instrument_check_new", tip.number, "foil", **typed)
    assert IntermediateCheck.objects.get().checked_at.isoformat() == "2026-01-22T11:00:00+00:00"


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"indication": "1,5.0", "foil_reference": "true"}, "is not a number"),
        ({"indication": "1.234", "foil_reference": "true"}, "can be read in two ways"),
        ({"indication": "1234567890.123", "foil_reference": "true"}, "at most 12 characters"),
        ({"indication": "960", "foil_reference": "melted"}, "is not one of the available choices"),
        ({"indication": "960", "foil_reference": "true", "checked_at": "25.11.2026"}, "This is not a moment"),
        ({"indication": "960", "foil_reference": "true", "expanded_uncertainty": "1"}, "it is never assumed"),
        ({"indication": "960", "foil_reference": "true", "coverage_factor": "0.5"}, "outside what can be meant"),
    ],
)
def test_bad_typing_is_named_and_stays(tip, signed_in, typed, sentence):
    planned(tip, "foil", at=ago(40))
    answer = posted(signed_in("technician"), "instrument_check_new", tip.number, "foil", **typed)
    assert answer.status_code == 422
    assert sentence in answer.text
    assert f'value="{typed["indication"]}"' in answer.text
    assert not IntermediateCheck.objects.exists()


def test_masses_by_rows_and_the_local_gravity(lab, signed_in):
    one = gauge()
    planned(one, "masses", at=ago(40), error_low=D("-0.02"), error_high=D("0.02"))
    client = signed_in("technician")
    typed = {"mass_1": "100", "read_1": "0.98", "mass_3": "50", "read_3": "0.49", "gravity": "standard"}
    posted(client, "instrument_check_new", one.number, "masses", **typed)
    assert [reading["mass_g"] for reading in IntermediateCheck.objects.get().readings] == ["100", "50"]
    for more, words in (
        ({"read_1": ""}, "Reading 1, in N is missing"),
        ({"mass_1": "-1"}, "A mass is above zero"),
        ({"gravity": "local"}, "Write our own g"),
        ({"gravity": "local", "gravity_m_s2": "9.81"}, "Write where the local g comes from"),
        ({"gravity": "local", "gravity_m_s2": "1.62", "gravity_source": "the moon"}, "outside what can be meant"),
    ):
        answer = posted(client, "instrument_check_new", one.number, "masses", **(typed | more))
        assert (answer.status_code, words in answer.text) == (422, True)


def test_a_comparison_keeps_what_it_was_compared_with(tip, signed_in):
    other = current(instrument__code="TC-03")
    planned(tip, "comparison", at=ago(40), error_low=D(-2), error_high=D(2))
    typed = {"compared_with": other.pk, "unit": "°C", "indication": "851", "reference": "850"}
    client = signed_in("lead")
    posted(client, "instrument_check_new", tip.number, "comparison", **typed)
    assert other.checks_made_with_it.get().instrument == tip
    assert f'<a href="{address("instrument", other.number)}">TC-03</a>' in text(client, "instrument_checks", tip.number)


def test_a_refusal_of_the_action_stands_beside_the_typing(tip, signed_in):
    typed = {"unit": "°C", "indication": "851", "reference": "850"}
    answer = posted(signed_in("lead"), "instrument_check_new", tip.number, "other", **typed)
    assert answer.status_code == 422
    assert "There is nothing to judge by" in answer.text
    assert 'value="851"' in answer.text


def test_the_flame_of_a_rig_with_the_methods_figures(lab, signed_in):
    rig = RigFactory.create(kind=RigKind.NEEDLE_FLAME, code="NF-1")
    client = signed_in("lead")
    page = text(client, "rig_check_plan", "NF-1", "flame", figures="0")
    assert 'name="reference" value="23.5"' in page
    assert 'name="error_low" value="-1.0"' in page
    typed = {"unit": "s", "reference": "23.5", "error_low": "-1.0", "error_high": "1.0", "every_days": "30"}
    answer = posted(client, "rig_check_plan", "NF-1", "flame", procedure="three runs", source="the method", **typed)
    assert answer.url == address("rig_checks", "NF-1")
    posted(client, "rig_check_new", "NF-1", "flame", run_1="23.4", run_2="25", run_3="23.5")
    rig.refresh_from_db()
    assert not rig.in_use
    page = text(client, "rig_checks", "NF-1")
    assert "<h1>NF-1 failed its last check and went out of use.</h1>" in page
    assert "run 2: 25 s" in page


@pytest.mark.parametrize("figures", ["9", "x", "-1", "99999999999999999999", "²"])
def test_figures_that_are_not_offered_are_left_alone(lab, signed_in, figures):
    RigFactory.create(kind=RigKind.NEEDLE_FLAME, code="NF-1")
    assert 'name="reference" value' not in text(signed_in("lead"), "rig_check_plan", "NF-1", "flame", figures=figures)


def test_a_plan_ends_with_a_reason(tip, signed_in):
    planned(tip, "foil", at=ago(40))
    client = signed_in("lead")
    wrong = posted(client, "instrument_check_plan", tip.number, "foil", end="yes")
    assert wrong.status_code == 422
    done = posted(client, "instrument_check_plan", tip.number, "foil", **{"end": "yes", "end-reason": "no foil left"})
    assert done.url == address("instrument_checks", tip.number)
    assert CheckPlan.objects.latest("pk").ended
    assert "Nothing is planned." in text(client, "instrument_checks", tip.number)


def test_a_struck_out_check_stays_readable_and_hollow(tip, signed_in):
    planned(tip, "foil", at=ago(40))
    made = foil(tip, "975")
    keeper = signed_in("quality")
    answer = posted(keeper, "check_strike", made.pk, reason="<b>wrong</b> channel")
    assert answer.url == address("instrument_checks", tip.number)
    page = text(keeper, "instrument_checks", tip.number)
    assert "&lt;b&gt;wrong&lt;/b&gt; channel" in page
    assert 'class="was"' in page
    assert 'class="ring" cx="' in page
    assert "<h1>A check of TC-01 is overdue since " in page  # it counts for nothing, also for the due day


def test_who_may_what(tip, signed_in):
    planned(tip, "foil", at=ago(40))
    made = foil(tip, "962")
    for role, statuses in (
        ("technician", [200, 403, 403]),
        ("lead", [200, 200, 403]),
        ("quality", [200, 200, 200]),
        ("counter", [403] * 3),
    ):
        client = signed_in(role)
        addresses = (
            address("instrument_check_new", tip.number, "foil"),
            address("instrument_check_plan", tip.number, "foil"),
            address("check_strike", made.pk),
        )
        assert [client.get(each).status_code for each in addresses] == statuses


def test_kinds_and_things_that_are_not_there(tip, signed_in):
    client = signed_in("quality")
    for name, arguments in (
        ("instrument_check_new", (tip.number, "masses")),
        ("instrument_check_plan", (tip.number, "<b>")),
        ("instrument_checks", ("999999",)),
        ("rig_checks", ("NONE",)),
        ("check_strike", (999,)),
    ):
        assert client.get(address(name, *arguments)).status_code == 404


def test_a_past_day_shows_nothing_known_later(tip, signed_in):
    planned(tip, "foil", at=ago(40), every_days=60)
    foil(tip, "961", at=ago(20), remarks="first foil")
    struck = foil(tip, "962", at=ago(10), remarks="second foil")
    client = signed_in("quality")
    posted(client, "check_strike", struck.pk, reason="slip of the pen")
    day = ago(5).date().isoformat()
    page = text(client, "instrument_checks", tip.number, as_of=day)
    assert "second foil" in page
    assert "slip of the pen" not in page
    assert "Record a check" not in page
    early = text(client, "instrument_checks", tip.number, as_of=ago(15).date().isoformat())
    assert "first foil" in early
    assert "second foil" not in early


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_takes_as_many_reads_for_three_checks_as_for_one(tip, signed_in, django_assert_num_queries, count):
    certified(tip, ("960", "960", "1", "2"))
    planned(tip, "foil", at=ago(40))
    other = current()
    for _ in range(count):
        foil(tip, "961", compared_with=other)
    client = signed_in("technician")
    with django_assert_num_queries(14):
        client.get(address("instrument_checks", tip.number))


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_takes_as_many_reads_for_three_due_checks_as_for_one(lab, signed_in, django_assert_num_queries, count):
    for _ in range(count):
        planned(InstrumentFactory.create(kind=InstrumentKind.TIMER), "other", unit="s", at=ago(40))
    client = signed_in("technician")
    client.get(address("instruments"))
    with django_assert_num_queries(21):
        client.get(address("instruments"))

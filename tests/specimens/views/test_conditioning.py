"""The conditioning pages: what they say, who may write, what a second sending does, what a refusal keeps."""

import re
from datetime import date

import pytest
from django.utils import timezone

from specimens.actions.climate import attach_climate_record
from specimens.actions.conditioning import start_conditioning
from specimens.models import Stay, StaySpecimen, StretchExplanation
from specimens.queries.climate import forget_decoded
from tests.factories.bars import Bars
from tests.factories.conditioning import HOUR, MINUTE, chamber, hygrometer, recorder_csv, set_of_specimens
from tests.factories.ledger import NOON, PlaceFactory

pytestmark = pytest.mark.usefixtures("conditioning_catalogue")
KEY = "5f6b0f7e-0d5d-4c37-8a51-0d8f1f6f3a01"
GAP = (NOON + 5 * HOUR, NOON + 5 * HOUR + 40 * MINUTE)
DAMP = (NOON + 9 * HOUR, NOON + 9 * HOUR + 5 * MINUTE, (23.0, 81.3))


@pytest.fixture
def at(monkeypatch):
    """Set the moment of the pages: at(30) is 30 h after noon."""

    def move(hours):
        moment = NOON + hours * HOUR
        monkeypatch.setattr(timezone, "now", lambda: moment)
        return moment

    return move


@pytest.fixture
def inside(person):
    """Three specimens in CH-1 since noon under the room atmosphere."""
    specimens = set_of_specimens()
    return start_conditioning(
        by=person("technician"),
        at=NOON,
        order_line=specimens[0].order_line,
        specimens=specimens,
        chamber=chamber(),
        atmosphere_key="15-35/45-75",
        recorder=hygrometer(),
    )


def bring(stay, until_h, **facts):
    """A record from noon on, brought in as it ends."""
    until = NOON + until_h * HOUR
    return attach_climate_record(
        by=stay.members.all()[0].in_by, at=until, chamber=stay.chamber, recorder=stay.recorder,
        name=f"HY-1_{until_h}.csv", content=recorder_csv(NOON, until, **facts),
    )  # fmt: skip


def words(response) -> str:
    """The page without its markup."""
    plain = re.sub(r"<(script|style|svg)\b.*?</\1>", " ", response.content.decode(), flags=re.DOTALL)
    return " ".join(re.sub(r"<[^>]+>", " ", plain).replace("\u00a0", " ").split())


def heading(response) -> str:
    """The page's answer."""
    found = re.search(r"<h1>(.*?)</h1>", response.content.decode(), re.DOTALL)
    assert found
    return re.sub(r"<[^>]+>", "", found[1]).replace("\u00a0", " ")


def stay_form(line, place, instrument, **changes):
    """The form as a browser sends it."""
    return {
        "form_key": KEY,
        "specimens": [specimen.pk for specimen in line.specimens.all()],
        "chamber": place.pk,
        "atmosphere_key": "15-35/45-75",
        "recorder": instrument.pk,
        "in_at": "2026-03-10 12:30",
        **changes,
    }


def test_the_chamber_answers_with_figures(signed_in, inside, at):
    bring(inside, 23, gaps=[GAP], excursions=[DAMP])
    at(23)
    page = signed_in("checker").get("/conditioning/CH-1/")
    assert heading(page) == "CH-1 is in band now; two stretches, 47 min together, did not count."
    text = words(page)
    assert "One set is inside; it waits until Wed 11 Mar 12:47 if it stays in band." in text
    assert "22 h 13 min 47 min 24 h waits about Wed 11 Mar 12:47, if it stays in band" in text
    assert "Tue 10 Mar 17:00 Tue 10 Mar 17:40 40 min Gap, no reading no explanation yet" in text
    assert "Tue 10 Mar 20:59 Tue 10 Mar 21:06 7 min Humidity above 75 % 81.3 % RH no explanation yet" in text
    assert page.content.decode().count('<svg class="plot" height=') == 2


def test_out_of_band_is_said_with_the_limits(signed_in, inside, at):
    bring(inside, 5, excursions=[(NOON + 4 * HOUR, NOON + 5 * HOUR, (23.0, 81.3))])
    at(5)
    assert heading(signed_in("counter").get("/conditioning/CH-1/")) == (
        "CH-1 is out of band now: 81.3 % RH, 45 to 75 % RH are allowed; one stretch of 1 h 01 min did not count."
    )


def test_an_old_reading_does_not_speak_for_now(signed_in, inside, at):
    bring(inside, 30)
    at(40)
    page = signed_in("counter").get("/conditioning/CH-1/")
    assert heading(page) == "CH-1 was in band at its last reading, Wed 11 Mar 18:00; nothing was lost."
    assert "have their hours" not in words(page)
    assert "has its hours and may come out" in words(page)


def test_a_chamber_without_a_record_says_so(signed_in, inside, at):
    at(3)
    page = signed_in("technician").get("/conditioning/CH-1/")
    assert heading(page) == "CH-1 has no climate record yet."
    assert "No record of these days." in words(page)
    assert "Bring in a record" in words(page)


def test_a_window_without_a_record_names_the_last_one(signed_in, inside, at):
    bring(inside, 30)
    inside.members.update(out_at=NOON + 30 * HOUR)
    at(24 * 20)
    assert heading(signed_in("counter").get("/conditioning/CH-1/")) == (
        "CH-1 has no record of these days; the last one ends on Wed 11 Mar 18:00."
    )
    page = signed_in("counter").get("/conditioning/CH-1/?since=2026-03-10&until=2026-03-11")
    assert page.status_code == 200
    assert "HY-1_30.csv as received" in words(page)


@pytest.mark.parametrize(
    ("query", "sentence"),
    [
        ("since=10.03.2026", "Write days as 2026-11-25"),
        ("since=2026-03-12&until=2026-03-10", "These days end before they begin"),
        ("since=2027-01-01", "or are still to come"),
        ("since=2024-01-01&until=2026-03-10", "At most 400 days are shown at once"),
    ],
)
def test_days_that_cannot_be_shown_are_refused_with_a_sentence(signed_in, inside, at, query, sentence):
    at(23)
    page = signed_in("counter").get(f"/conditioning/CH-1/?{query}")
    assert page.status_code == 422
    assert sentence in words(page)


def test_an_overdue_recorder_is_said_on_the_page(signed_in, inside, at):
    inside.recorder.calibrations.update(calibrated_on=date(2025, 3, 10), interval=12)
    at(40)
    page = signed_in("counter").get("/conditioning/CH-1/")
    assert "Its calibration was due on 10 Mar 2026 and that day is over. Readings from then on" in words(page)


def test_the_overview_says_what_may_come_out_and_what_waits(signed_in, inside, at):
    set_of_specimens(2)
    bring(inside, 25)
    at(25)
    page = signed_in("technician").get("/conditioning/")
    assert heading(page) == "One set has its hours and may come out."
    assert "One set is inside; one set waits to go in." in words(page)


def test_the_overview_of_a_new_laboratory(signed_in, at):
    at(0)
    page = signed_in("technician").get("/conditioning/")
    assert heading(page) == "There is no conditioning chamber yet."
    assert "No set waits to go in." in words(page)


@pytest.mark.parametrize("count", [1, 3])
def test_the_pages_ask_as_often_for_many_as_for_one(signed_in, person, at, count, django_assert_num_queries):
    place, recorder, by = chamber(), hygrometer(), person("technician")
    for number in range(count):
        specimens = set_of_specimens()
        stay = start_conditioning(
            by=by, at=NOON, order_line=specimens[0].order_line, specimens=specimens, chamber=place,
            atmosphere_key="15-35/45-75", recorder=recorder,
        )  # fmt: skip
        bring(stay, 26 + number, gaps=[GAP])
    at(60)
    client = signed_in("technician")
    for address, most in (("/conditioning/CH-1/", 31), ("/conditioning/", 23)):
        forget_decoded()
        client.get(address)
        forget_decoded()
        with django_assert_num_queries(most):
            assert client.get(address).status_code == 200


def test_a_set_is_put_in_once_however_often_the_form_is_sent(signed_in, at):
    specimens, place, recorder = set_of_specimens(), chamber(), hygrometer()
    at(1)
    client, line = signed_in("counter"), specimens[0].order_line
    address, form = f"/conditioning/stays/new/?line={line.pk}", stay_form(line, place, recorder)
    assert "24 h at 15 to 35 °C and 45 to 75 % RH are needed." in words(client.get(address))
    first, second = client.post(address, form), client.post(address, form)
    assert first["Location"] == second["Location"] == "/conditioning/CH-1/"
    assert (Stay.objects.count(), StaySpecimen.objects.count()) == (1, 3)
    assert {member.in_at for member in StaySpecimen.objects.all()} == {NOON + 30 * MINUTE}


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"in_at": "2026-03-10 23:59"}, "Tue 10 Mar 23:59 is still to come; it is Tue 10 Mar 13:00 now."),
        ({"in_at": "10.03.2026 12:30"}, "This is not a moment. Write it as 2026-11-25 10:22, laboratory time."),
        ({"in_at": ""}, "Write when they went in."),
        ({"specimens": []}, "Choose at least one specimen."),
        ({"chamber": ""}, "Choose the chamber they go into."),
        ({"recorder": ""}, "Choose the recorder that stands in the chamber."),
    ],
)
def test_a_refused_form_keeps_its_typing(signed_in, at, changes, sentence):
    specimens, place, recorder = set_of_specimens(), chamber(), hygrometer()
    at(1)
    line = specimens[0].order_line
    form = stay_form(line, place, recorder, **changes)
    page = signed_in("counter").post(f"/conditioning/stays/new/?line={line.pk}", form)
    assert page.status_code == 422
    assert sentence in words(page)
    text = page.content.decode()
    assert f'value="{form["in_at"]}"' in text or form["in_at"] == ""
    assert text.count(" checked") == len(form["specimens"])
    assert Stay.objects.count() == 0


def test_the_overdue_recorder_is_refused_on_the_form(signed_in, at):
    specimens, place = set_of_specimens(), chamber()
    recorder = hygrometer("HY-9", calibrated_on=date(2025, 2, 1))
    at(1)
    line = specimens[0].order_line
    page = signed_in("counter").post(f"/conditioning/stays/new/?line={line.pk}", stay_form(line, place, recorder))
    assert page.status_code == 422
    assert "HY-9 may not be used now: its calibration was due on 1 Feb 2026 and that day is over." in words(page)


def test_a_line_is_found_by_the_number_of_a_specimen(signed_in, at):
    specimens = set_of_specimens()
    at(1)
    client = signed_in("technician")
    assert "Choose its specimens" in words(client.get(f"/conditioning/stays/new/?number={specimens[1].number}"))
    assert "The check digit of" in words(client.get("/conditioning/stays/new/?number=2600019"))
    assert "Put it in" in words(client.get("/conditioning/stays/new/"))


def test_a_set_comes_out(signed_in, inside, at):
    bring(inside, 25)
    at(25)
    client, shelf = signed_in("technician"), PlaceFactory.create(code="S-9")
    address = f"/conditioning/stays/{inside.pk}/out/"
    assert "may come out." in heading(client.get(address))
    keys = [member.specimen_id for member in inside.members.all()]
    form = {"form_key": KEY, "specimens": keys[:2], "place": shelf.pk, "out_at": "2026-03-11 12:30"}
    assert client.post(address, form)["Location"] == "/conditioning/CH-1/"
    assert client.post(address, form)["Location"] == "/conditioning/CH-1/"
    assert StaySpecimen.objects.filter(out_at=NOON + 24 * HOUR + 30 * MINUTE).count() == 2
    early = client.post(address, form | {"form_key": "", "specimens": keys[2:], "out_at": "2026-03-10 11:00"})
    assert early.status_code == 422
    assert "went in on Tue 10 Mar 12:00, after the moment typed." in words(early)


def test_a_set_that_is_not_complete_comes_out_with_a_warning(signed_in, inside, at):
    bring(inside, 10)
    at(10)
    page = signed_in("technician").get(f"/conditioning/stays/{inside.pk}/out/")
    assert "may not be complete yet." in heading(page)
    assert "10 h of 24 h in CH-1 count" in words(page)
    assert "put in again, it starts anew" in words(page)


def test_one_specimen_is_chosen_where_the_address_names_it(signed_in, inside, at):
    at(25)
    specimen = inside.members.all()[1].specimen
    address = f"/conditioning/stays/{inside.pk}/out/?specimen={specimen.number}&back=/bench/"
    client, shelf = signed_in("technician"), PlaceFactory.create(code="S-9")
    page = client.get(address)
    assert page.context["form"].initial["specimens"] == [specimen.pk]
    assert page.context["back"] == "/bench/"
    form = {"specimens": [specimen.pk], "place": shelf.pk, "out_at": "2026-03-11 12:30"}
    assert client.post(address, form)["Location"] == "/bench/"
    assert list(inside.members.exclude(out_at=None).values_list("specimen", flat=True)) == [specimen.pk]


@pytest.mark.parametrize("back", ["//example.org/", "https://example.org/", "bench", "/\\example.org"])
def test_nobody_is_led_away_from_here(signed_in, inside, at, back):
    at(25)
    page = signed_in("technician").get(f"/conditioning/stays/{inside.pk}/out/", {"back": back})
    assert page.context["back"] == "/conditioning/CH-1/"


@pytest.fixture
def aged(person):
    """Five bars that have their week in the oven, and the desiccator that another set was in."""
    bars = Bars(person("technician"))
    bars.inside(bars.bars[5:6], "desiccator", NOON, NOON + HOUR)
    bars.inside(bars.bars[:5], "oven 70", NOON, NOON + 168 * HOUR, out=False)
    return bars


def out_address(bars):
    """The take-out form of the bars' stay in the oven."""
    return f"/conditioning/stays/{bars.bars[0].stays.get().stay_id}/out/"


def test_what_has_its_hours_in_the_oven_may_come_out_for_the_next_stage(signed_in, aged, at):
    at(168.1)
    page = signed_in("technician").get(out_address(aged))
    assert "may come out." in heading(page)
    assert "may not be complete yet" not in words(page)
    assert "The next stage follows: 4 h at" in words(page)
    desiccator, recorder = aged.places["desiccator"]
    assert (page.context["form"].initial["place"], page.context["form"].initial["recorder"]) == (desiccator, recorder)


def test_a_set_short_of_its_hours_in_the_oven_is_not_led_on(signed_in, aged, at):
    at(100)
    page = signed_in("technician").get(out_address(aged))
    assert "may not be complete yet." in heading(page)
    assert page.context["form"].initial["place"] is None


def test_a_set_that_was_in_another_atmosphere_is_not_said_to_wait_for_its_hours(signed_in, aged, at):
    aged.inside(aged.bars[6:], "oven 70", NOON, NOON + HOUR, out=False)
    stay = aged.bars[6].stays.get().stay
    Stay.objects.filter(pk=stay.pk).update(atmosphere_key="15-35/45-75")
    at(2)
    page = signed_in("technician").get(f"/conditioning/stays/{stay.pk}/out/")
    assert heading(page) == "No hour of 26-0001-008 to -011 counts here."
    assert "may not be complete yet" not in words(page)
    assert page.context["stage"] is None


def test_a_set_goes_straight_from_the_oven_into_the_desiccator(signed_in, aged, at):
    at(168.1)
    client, address = signed_in("technician"), out_address(aged)
    desiccator, recorder = aged.places["desiccator"]
    keys = [bar.pk for bar in aged.bars[:5]]
    form = {"specimens": keys, "place": desiccator.pk, "out_at": "2026-03-17 12:00"}
    refused = client.post(address, form)
    assert refused.status_code == 422
    assert f"Choose the recorder that stands in {desiccator.code}." in words(refused)
    sent = client.post(address, form | {"recorder": recorder.pk}, follow=True)
    assert sent.redirect_chain == [(f"/conditioning/{desiccator.code}/", 302)]
    assert f"are out of {aged.places['oven 70'][0].code} and in {desiccator.code}." in words(sent)
    assert list(aged.bars[0].stays.order_by("pk").values_list("stay__atmosphere_key", "in_at", "out_at")) == [
        ("oven 70", NOON, NOON + 168 * HOUR),
        ("desiccator", NOON + 168 * HOUR, None),
    ]


def test_a_set_of_one_stage_goes_to_no_other_chamber(signed_in, inside, at):
    at(25)
    other = chamber("CH-2")
    form = signed_in("technician").get(f"/conditioning/stays/{inside.pk}/out/").context["form"]
    assert other not in form.fields["place"].queryset
    assert "recorder" not in form.fields


def test_a_stretch_gets_its_explanation(signed_in, inside, at):
    bring(inside, 10, gaps=[GAP])
    at(10)
    client = signed_in("counter")
    link = re.search(r'href="(/conditioning/CH-1/stretch/[^"]+)"', client.get("/conditioning/CH-1/").content.decode())
    assert link
    address = link[1].replace("&amp;", "&")
    assert client.post(address, {"text": " "}).status_code == 422
    answer = client.post(address, {"form_key": KEY, "text": "Recorder memory full, emptied."})
    client.post(address, {"form_key": KEY, "text": "Recorder memory full, emptied."})
    assert answer["Location"] == "/conditioning/CH-1/?"
    assert StretchExplanation.objects.count() == 1
    text = words(client.get("/conditioning/CH-1/"))
    assert "Recorder memory full, emptied." in text
    assert "no explanation yet" not in text


@pytest.mark.parametrize("query", ["", "?from=yesterday&until=now", "?from=2026-03-10&until=2026-03-11"])
def test_a_stretch_without_its_moments_is_not_found(signed_in, inside, at, query):
    at(10)
    assert signed_in("counter").get(f"/conditioning/CH-1/stretch/{query}").status_code == 404


@pytest.mark.parametrize("role", ["checker", "signatory", "quality", "administrator"])
def test_others_look_and_do_not_write(signed_in, inside, at, role):
    at(1)
    client = signed_in(role)
    pages = [client.get("/conditioning/"), client.get("/conditioning/CH-1/")]
    assert [page.status_code for page in pages] == [200, 200]
    assert [address in page.content.decode() for page in pages for address in ("stays/new", "/out/", "/record/")] == [
        False
    ] * 6
    writing = ("stays/new/", f"stays/{inside.pk}/out/", "CH-1/record/", "CH-1/stretch/")
    assert [client.post(f"/conditioning/{address}").status_code for address in writing] == [403] * 4


@pytest.mark.parametrize("role", ["counter", "technician", "lead"])
def test_the_counter_technicians_and_leads_write(signed_in, inside, at, role):
    at(1)
    client = signed_in(role)
    writing = ("stays/new/", f"stays/{inside.pk}/out/", "CH-1/record/")
    assert [client.get(f"/conditioning/{address}").status_code for address in writing] == [200] * 3


def test_a_shelf_has_no_chamber_page(signed_in, at):
    PlaceFactory.create(code="S-1")
    at(0)
    assert signed_in("counter").get("/conditioning/S-1/").status_code == 404

"""The pages of instruments: the answer first, rights, hostile text, typing that stays."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from calibration.models import Instrument, ServiceChange
from tests.factories.calibration import CalibrationFactory, InstrumentFactory, MountingFactory
from tests.factories.ledger import PlaceFactory

pytestmark = pytest.mark.django_db
TYPED = {"code": "TC-05", "kind": "thermocouple", "description": "type K"}


def page(name: str, *arguments: object) -> str:
    return reverse(f"calibration:{name}", args=arguments)


def current(**more):
    """An accepted calibration of last month."""
    day = timezone.now().date() - timedelta(days=30)
    return CalibrationFactory.create(
        accepted=True, calibrated_on=day, entered_at=timezone.now() - timedelta(days=20), **more
    )


def test_an_empty_register_says_what_brings_instruments_here(signed_in):
    response = signed_in("technician").get(page("instruments"))
    assert b"No instrument is registered yet." in response.content
    assert b"The register is empty." in response.content
    assert b"Register an instrument" not in response.content


def test_the_list_answers_first_and_gives_reasons(signed_in):
    current(instrument__code="GOOD-1")
    InstrumentFactory.create(code="NEW-1")
    text = signed_in("quality").get(page("instruments")).content.decode()
    assert "1 of 2 instruments needs a hand." in text
    assert "Calibrate NEW-1 for the first time" in text
    assert "No calibration of it is entered." in text
    assert "GOOD-1 may be used" in text
    assert "Register an instrument" in text


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_page_takes_as_many_reads_for_three_rows_as_for_one(signed_in, django_assert_num_queries, count):
    for _ in range(count):
        MountingFactory.create(instrument=current(instrument__place=PlaceFactory.create()).instrument)
    client = signed_in("technician")
    # session, person, laboratory, roles; the five of the list; the eleven of their records; the plans of checks
    with django_assert_num_queries(21):
        assert client.get(page("instruments")).status_code == 200


def test_the_instruments_page_takes_as_many_reads_for_three_calibrations_as_for_one(
    signed_in, django_assert_max_num_queries
):
    one, client, counts = InstrumentFactory.create(), signed_in("technician"), []
    for _ in range(3):
        current(instrument=one).points.create(reference="850", indication="849", unit="°C")
        with django_assert_max_num_queries(40) as asked:
            assert client.get(page("instrument", one.number)).status_code == 200
        counts.append(len(asked))
    assert counts[0] == counts[2]


def test_the_page_of_one_says_that_it_may_be_used_or_why_not(signed_in):
    good, new = current().instrument, InstrumentFactory.create()
    client = signed_in("technician")
    assert f"<h1>{good.code} may be used until" in client.get(page("instrument", good.number)).content.decode()
    text = client.get(page("instrument", new.number)).content.decode()
    assert f"<h1>{new.code} must not be used: no calibration of it is entered.</h1>" in text


def test_the_page_and_the_list_say_what_a_record_lacks(signed_in):
    one = current(instrument__code="TC-05").instrument
    client = signed_in("technician")
    text = client.get(page("instrument", one.number)).content.decode()
    assert "Its record lacks something" in text
    assert "Missing: maker, type or model, serial number." in text
    lists = {query: client.get(page("instruments") + query).content.decode() for query in LISTS}
    assert [("TC-05 may be used" in text, "record lacks b, c, d, e, g" in text) for text in lists.values()] == [
        (True, True), (True, True), (False, False),
    ]  # fmt: skip


LISTS = ("", "?record=lacking", "?record=complete")


def test_every_fact_of_the_plate_is_kept(signed_in):
    more = {
        "firmware_version": "1.4", "thermocouple_type": "K", "tolerance_class": "1", "owner": "A neighbour",
        "maintenance_plan": "none needed: no moving part",
    }  # fmt: skip
    client = signed_in("quality")
    client.post(page("instrument_new"), TYPED | more)
    one = Instrument.objects.get()
    assert {name: getattr(one, name) for name in more} == more
    text = client.get(page("instrument", one.number)).content.decode()
    for shown in ("1.4", "Type K, class 1", "A neighbour", "none needed: no moving part"):
        assert shown in text
    form = client.get(page("instrument_edit", one.number)).content.decode()
    assert 'value="A neighbour"' in form
    assert '<option value="K" selected>' in form


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"kind": "timer", "thermocouple_type": "K"}, "Only a thermocouple has a thermocouple type."),
        ({"tolerance_class": "1"}, "A tolerance class belongs to a thermocouple type; say which."),
    ],
)
def test_a_pair_of_wires_belongs_to_a_thermocouple(signed_in, typed, sentence):
    response = signed_in("quality").post(page("instrument_new"), TYPED | typed)
    assert (response.status_code, sentence in response.content.decode()) == (422, True)
    one = InstrumentFactory.create(code="TC-05")
    response = signed_in("quality").post(page("instrument_edit", one.number), TYPED | typed | {"version": "1"})
    assert (response.status_code, sentence in response.content.decode()) == (422, True)


def test_an_unknown_number_is_not_found(signed_in):
    assert signed_in("quality").get(page("instrument", "999999")).status_code == 404


def test_the_drift_appears_with_points_from_two_calibrations(signed_in):
    one = InstrumentFactory.create(code="TC-77")
    for days, indication in ((400, "849.1"), (30, "848.5")):
        day = timezone.now().date() - timedelta(days=days)
        calibration = CalibrationFactory.create(accepted=True, instrument=one, calibrated_on=day)
        assert "Drift at" not in signed_in("technician").get(page("instrument", one.number)).content.decode()
        calibration.points.create(reference="850", indication=indication, unit="°C")
    text = signed_in("technician").get(page("instrument", one.number)).content.decode()
    assert 'aria-label="Error of TC-77 at 850 °C.' in text
    assert "as found −0.9 K" in text


def test_markup_is_shown_as_text_and_long_names_whole(signed_in):
    hostile = "<script>alert(1)</script>"
    one = InstrumentFactory.create(description=hostile + "x" * 170, maker="M" * 120)
    CalibrationFactory.create(instrument=one, calibrated_by=hostile, remarks=hostile, certificate_number="<i>7")
    client = signed_in("quality")
    for address in (page("instruments"), page("instrument", one.number)):
        text = client.get(address).content.decode()
        assert hostile not in text
        assert "&lt;script&gt;alert(1)&lt;/script&gt;" + "x" * 170 in text
        assert "M" * 120 in text
    assert "&lt;i&gt;7" in text


def test_a_registered_instrument_leads_to_its_page(signed_in):
    response = signed_in("quality").post(page("instrument_new"), TYPED, follow=True)
    one = Instrument.objects.get()
    assert response.redirect_chain == [(page("instrument", one.number), 302)]
    assert "TC-05 is registered" in response.content.decode()


def test_a_form_sent_twice_registers_once(signed_in):
    client, key = signed_in("quality"), str(uuid4())
    answers = [client.post(page("instrument_new"), TYPED | {"form_key": key}) for _ in range(2)]
    one = Instrument.objects.get()
    assert [answer.url for answer in answers] == [page("instrument", one.number)] * 2


def test_a_refused_code_keeps_the_typing(signed_in):
    InstrumentFactory.create(code="TC-05")
    response = signed_in("quality").post(page("instrument_new"), TYPED | {"code": "tc05", "maker": "Kept & whole"})
    assert response.status_code == 422
    text = response.content.decode()
    assert "“tc05” reads like TC-05, which is already here." in text
    assert 'value="Kept &amp; whole"' in text
    assert Instrument.objects.count() == 1


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("code", "", "This field is required."),
        ("kind", "camera", "Select a valid choice"),
        ("maker", "M" * 300, "at most 120"),
    ],
)
def test_a_missing_or_foreign_entry_is_named(signed_in, field, typed, words):
    response = signed_in("quality").post(page("instrument_new"), TYPED | {field: typed})
    assert response.status_code == 422
    assert words in response.content.decode()
    assert not Instrument.objects.exists()


def test_a_change_made_meanwhile_is_not_overwritten(signed_in):
    one = InstrumentFactory.create(code="TC-05", version=2)
    response = signed_in("quality").post(page("instrument_edit", one.number), TYPED | {"version": "1"})
    assert response.status_code == 422
    assert "Somebody else changed this" in response.content.decode()


def test_a_place_out_of_use_stays_on_its_instrument(signed_in):
    place = PlaceFactory.create(in_use=False)
    one = InstrumentFactory.create(code="TC-05", place=place)
    client = signed_in("quality")
    assert place.code in client.get(page("instrument_edit", one.number)).content.decode()
    typed = TYPED | {"version": "1", "place": place.pk}
    assert client.post(page("instrument_edit", one.number), typed).status_code == 302


def test_a_technician_takes_out_and_only_the_keeper_puts_back(signed_in):
    one = current().instrument
    technician = signed_in("technician")
    typed = {"state": "out of service", "reason": "dropped"}
    assert technician.post(page("service_change", one.number), typed).status_code == 302
    assert "The quality keeper puts it back." in technician.get(page("service_change", one.number)).content.decode()
    back = {"state": "in service", "reason": "fine"}
    refused = technician.post(page("service_change", one.number), back)
    assert refused.status_code == 422
    assert "Only the quality keeper puts an instrument back" in refused.content.decode()
    assert signed_in("quality").post(page("service_change", one.number), back).status_code == 302
    assert [change.state for change in ServiceChange.objects.order_by("pk")] == ["out of service", "in service"]


RIGHTS = [
    ("instruments", "all"),
    ("instrument", "all"),
    ("instrument_label", "all"),
    ("instrument_new", "quality"),
    ("instrument_edit", "quality"),
    ("calibration_new", "quality"),
    ("service_change", "technician lead quality counter"),
]


@pytest.mark.parametrize(("name", "roles"), RIGHTS)
@pytest.mark.parametrize("role", ["counter", "technician", "lead", "checker", "signatory", "quality", "administrator"])
def test_rights(signed_in, name, roles, role):
    one = InstrumentFactory.create()
    arguments = () if name in ("instruments", "instrument_new") else (one.number,)
    expected = 200 if roles == "all" or role in roles.split() else 403
    assert signed_in(role).get(page(name, *arguments)).status_code == expected


def test_nobody_looks_without_signing_in(client, lab):
    response = client.get(page("instruments"))
    assert response.status_code == 302
    assert response.url.startswith(reverse("account_login"))


def test_the_label_is_a_pdf_shown_in_the_browser(signed_in):
    one = current().instrument
    response = signed_in("technician").get(page("instrument_label", one.number))
    assert response.content.startswith(b"%PDF-")
    assert response["Content-Type"] == "application/pdf"
    assert response["Content-Disposition"] == f'inline; filename="label-{one.number}.pdf"'

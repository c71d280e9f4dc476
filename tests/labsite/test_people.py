"""People, roles and places, kept by the administrator."""

import pytest
from django.test import Client
from django.urls import reverse

from labsite.ledger.models import Place, Role, User
from labsite.ledger.queries import entries_about

PERSON = {
    "username": "Tove",
    "full_name": "Tove Lind",
    "email": "",
    "roles": ["counter", "lead"],
    "password": "a-long-way-home",
}


@pytest.fixture
def administrator(signed_in):
    return signed_in("administrator")


def test_a_person_is_entered_with_roles_and_a_ledger_entry(administrator):
    assert administrator.post(reverse("person_new"), PERSON).url == reverse("laboratory")
    tove = User.objects.get(username="tove")
    assert (tove.full_name, tove.roles, tove.check_password("a-long-way-home")) == (
        "Tove Lind",
        frozenset({"counter", "lead"}),
        True,
    )
    [entry] = entries_about("person:tove")
    assert entry.data["after"]["roles"] == ["counter", "lead"]
    assert "a-long-way-home" not in str(entry.data)


def test_a_short_name_is_taken_whatever_its_case(administrator):
    administrator.post(reverse("person_new"), PERSON)
    answer = administrator.post(reverse("person_new"), PERSON | {"username": "TOVE"})
    assert answer.context["form"].errors == {"username": ["“TOVE” is already the short name of somebody here."]}


def change(client, person, **fields):
    facts = {
        "full_name": person.full_name,
        "email": "",
        "roles": sorted(person.roles),
        "is_active": "on",
        "password": "",
    }
    return client.post(reverse("person_edit", args=[person.pk]), facts | fields)


def test_roles_change_and_both_states_are_in_the_ledger(administrator, person):
    tove = person("counter", username="tove")
    change(administrator, tove, roles=["checker"])
    assert User.objects.get(pk=tove.pk).roles == {"checker"}
    [entry] = entries_about("person:tove")
    assert (entry.data["before"]["roles"], entry.data["after"]["roles"]) == (["counter"], ["checker"])


def test_someone_who_leaves_is_refused_at_the_next_request(administrator, person):
    tove = person("counter", username="tove")
    browser = Client()
    browser.force_login(tove)
    assert browser.get(reverse("laboratory")).status_code == 200
    change(administrator, tove, is_active="")
    assert browser.get(reverse("laboratory")).headers["Location"].startswith(reverse("account_login"))


@pytest.mark.parametrize("fields", [{"roles": ["lead"]}, {"is_active": ""}])
def test_the_last_administrator_stays(administrator, fields):
    answer = change(administrator, administrator.person, **fields)
    assert answer.context["form"].errors == {
        "roles": ["Somebody must stay administrator; give another person the role first."]
    }
    assert User.objects.get(pk=administrator.person.pk).is_active


def test_a_place_is_entered_renamed_and_taken_out_of_use(administrator):
    administrator.post(reverse("place_new"), {"code": "C-3", "name": "Shelf", "kind": Place.Kind.SHELF})
    place = Place.objects.get()
    administrator.post(reverse("place_edit", args=[place.pk]), {"name": "Old shelf"})
    place.refresh_from_db()
    assert (place.code, place.name, place.in_use) == ("C-3", "Old shelf", False)
    assert [entry.act for entry in entries_about("place:C-3")] == ["entered the place", "changed the place"]


@pytest.mark.parametrize("code", ["A/3", "new", "3", "ä", "?"])
def test_a_code_that_cannot_stand_in_an_address_is_refused(administrator, code):
    answer = administrator.post(reverse("place_new"), {"code": code, "name": "Shelf", "kind": "shelf"})
    assert (answer.status_code, Place.objects.count()) == (422, 0)


def test_two_places_never_share_a_code(administrator):
    place = {"code": "C-3", "name": "Shelf", "kind": Place.Kind.SHELF}
    administrator.post(reverse("place_new"), place)
    answer = administrator.post(reverse("place_new"), place | {"code": "c-3"})
    assert answer.context["form"].errors == {
        "code": ["“c-3” reads like C-3, which is already here. Choose another code."]
    }


def facts(version, **fields):
    laboratory = {
        "name": "New name",
        "address": "Somewhere 1",
        "zone": "Europe/Lisbon",
        "language": "en",
        "accreditation_number": "",
        "accreditation_body": "",
        "version": version,
    }
    return laboratory | fields


def test_the_second_of_two_editors_is_told_and_keeps_the_typing(administrator, lab):
    assert administrator.post(reverse("laboratory_edit"), facts(1)).url == reverse("laboratory")
    answer = administrator.post(reverse("laboratory_edit"), facts(1, name="My other name"))
    assert answer.status_code == 422
    assert "Somebody else changed this while you typed." in answer.text
    assert 'value="My other name"' in answer.text
    lab.refresh_from_db()
    assert (lab.name, lab.version) == ("New name", 2)


def test_hostile_names_are_shown_as_text(administrator, lab):
    administrator.post(reverse("laboratory_edit"), facts(1, name="<script>alert(1)</script>"))
    page = administrator.get(reverse("laboratory")).text
    assert "<script>alert(1)</script>" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page


def test_roles_named_in_the_program_are_those_of_the_laboratory():
    assert set(Role.values) == {"counter", "technician", "lead", "checker", "signatory", "quality", "administrator"}


@pytest.mark.parametrize("count", [1, 3])
def test_the_overview_costs_the_same_for_one_and_for_three(administrator, person, count, django_assert_num_queries):
    for _ in range(count):
        person("counter", "lead")
        Place.objects.create(code=f"S-{_}", name="Shelf", kind=Place.Kind.SHELF)
    with django_assert_num_queries(7):
        administrator.get(reverse("laboratory"))


@pytest.mark.parametrize(
    ("typed", "words"), [({}, "is satisfactory"), ({"e_n_one_is_action": "on"}, "calls for action")]
)
def test_whether_e_n_of_exactly_one_calls_for_action_is_a_setting(administrator, lab, typed, words):
    administrator.post(reverse("laboratory_edit"), facts(1, **typed))
    lab.refresh_from_db()
    assert lab.e_n_one_is_action is bool(typed)
    assert f"<dt>E_n of exactly 1</dt><dd>{words}</dd>" in administrator.get(reverse("laboratory")).text

"""A fresh installation leads to its first page, once."""

import pytest
from django.urls import reverse

from labsite.ledger.models import Laboratory, User
from labsite.ledger.queries import entries_about

FACTS = {
    "name": "Brambleford Flame Laboratory",
    "address": "Mill Lane 3",
    "zone": "Europe/Berlin",
    "language": "en",
    "username": "Ada",
    "full_name": "Ada Quill",
    "password": "kettle-on-the-hob",
}


@pytest.mark.django_db
@pytest.mark.parametrize("address", ["/", "/queue/", "/sign-in/", "/laboratory/", "/nowhere/"])
def test_every_address_leads_there(client, address):
    assert client.get(address).url == reverse("first_run")


@pytest.mark.django_db
def test_it_makes_the_laboratory_and_a_signed_in_administrator(client):
    assert client.post(reverse("first_run"), FACTS).url == reverse("laboratory")
    ada = User.objects.get()
    assert (ada.username, ada.roles) == ("ada", frozenset({"administrator"}))
    assert Laboratory.objects.get().zone == "Europe/Berlin"
    assert [entry.act for entry in entries_about("laboratory")] == ["founded the laboratory"]
    assert client.get(reverse("laboratory")).status_code == 200


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("zone", "Mars/Base", "“Mars/Base” is not a time zone; write one like Europe/Berlin."),
        ("zone", "../../etc/passwd", "“../../etc/passwd” is not a time zone; write one like Europe/Berlin."),
        ("username", "a b", "Two or more letters, digits, points or hyphens, no spaces."),
        ("password", "short", "This password is too short. It must contain at least 10 characters."),
        ("name", "", "This field is required."),
    ],
)
def test_a_wrong_field_is_named_and_the_typing_stays(client, field, typed, sentence):
    answer = client.post(reverse("first_run"), FACTS | {field: typed})
    assert (answer.status_code, answer.context["form"].errors) == (422, {field: [sentence]})
    assert 'value="Ada Quill"' in answer.text
    assert Laboratory.objects.count() == 0


def test_it_is_gone_once_a_laboratory_is_there(client, lab):
    assert client.get(reverse("first_run")).status_code == 404
    assert client.post(reverse("first_run"), FACTS).status_code == 404
    assert User.objects.count() == 0

"""Pages of clients: names as hostile as they come, two editors at once."""

import pytest

from specimens.models import Client
from tests.factories.specimens import ClientFactory, ContactFactory, OrderFactory
from tests.specimens.typed import CLIENT, field_value

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("typed", "kept", "shown"),
    [
        ("Example\r\nBcc: x@example.test", "Example Bcc: x@example.test", "Example Bcc: x@example.test"),
        ("O'Example <b>Ltd</b> & Co", "O'Example <b>Ltd</b> & Co", "O&#x27;Example &lt;b&gt;Ltd&lt;/b&gt; &amp; Co"),
        ("شركة المثال للأجهزة الكهربائية", "شركة المثال للأجهزة الكهربائية", "شركة المثال للأجهزة الكهربائية"),
        ("示例电器（测试）有限公司", "示例电器（测试）有限公司", "示例电器（测试）有限公司"),
        ("👩\u200d🔬 Test Co", "👩\u200d🔬 Test Co", "👩\u200d🔬 Test Co"),
        ("Příklad Żółw & Söhne ﬁlm", "Příklad Żółw & Söhne ﬁlm", "Příklad Żółw &amp; Söhne ﬁlm"),
        ("invoice\u202efdp.exe", "invoicefdp.exe", "invoicefdp.exe"),
        ("tab\there\u2028and\x00there", "tab here and there", "tab here and there"),
    ],
)
def test_names_in_any_script_are_kept_on_one_line_and_shown_as_text(signed_in, typed, kept, shown):
    browser = signed_in("counter")
    answer = browser.post("/clients/new/", CLIENT | {"name": typed})
    client = Client.objects.get()
    assert (answer["Location"], client.name) == (f"/clients/{client.pk}/", kept)
    page = browser.get(answer["Location"]).text
    assert f"<h1><bdi>{shown}</bdi></h1>" in page


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"name": "N" * 3000}, "This has 3000 characters; 200 fit here. Shorten it: nothing is cut off for you."),
        ({"name": " \r\n "}, "Write the client’s name."),
        ({"address": ""}, "Write the address; it prints on certificates."),
        ({"contact_name": ""}, "Write who to talk to there."),
        ({"contact_email": "nobody at all"}, "This is not a mail address"),
    ],
)
def test_a_refused_client_is_told_why_and_keeps_the_typing(signed_in, changed, sentence):
    typed = CLIENT | {"country": "Kept country"} | changed
    page = signed_in("counter").post("/clients/new/", typed)
    assert page.status_code == 422
    assert sentence in page.text
    assert field_value(page.text, "country") == "Kept country"
    assert field_value(page.text, "contact_phone") == typed["contact_phone"]
    assert "maxlength" not in page.text.split('id="id_name"')[0].rsplit("<input", 1)[1]
    assert Client.objects.count() == 0


def test_the_second_editor_hears_who_and_keeps_the_typing_and_may_then_insist(signed_in):
    client = ClientFactory.create(name="Old Ltd", address="Old road")
    url = f"/clients/{client.pk}/edit/"
    first, second = signed_in("counter"), signed_in("counter")
    opened = field_value(second.get(url).text, "version")
    mine = {"name": "Old Ltd", "address": "New road", "country": "", "remarks": "", "version": opened}
    assert first.post(url, mine | {"address": "Their road"}).status_code == 302
    page = second.post(url, mine)
    assert page.status_code == 422
    assert f"{first.person.full_name} changed this client at" in page.text
    assert "Old road → Their road" in page.text
    assert "New road</textarea>" in page.text
    again = mine | {"version": field_value(page.text, "version")}
    assert second.post(url, again).status_code == 302
    client.refresh_from_db()
    assert client.address == "New road"


def test_contacts_are_added_and_changed(signed_in):
    contact = ContactFactory.create()
    browser = signed_in("counter")
    added = {"name": "Bo", "email": "", "phone": ""}
    assert browser.post(f"/clients/{contact.client_id}/contacts/new/", added).status_code == 302
    changed = {"name": "Ann", "email": "", "phone": "", "version": "1"}
    assert browser.post(f"/contacts/{contact.pk}/edit/", changed).status_code == 302
    assert sorted(contact.client.contacts.values_list("name", flat=True)) == ["Ann", "Bo"]
    refused = browser.post(f"/contacts/{contact.pk}/edit/", changed | {"name": ""})
    assert (refused.status_code, "Write the person’s name." in refused.text) == (422, True)


def test_a_client_shows_its_orders_and_leads_to_taking_one(signed_in):
    order = OrderFactory.create(purchase_order="000417")
    browser = signed_in("counter")
    page = browser.get(f"/clients/{order.client_id}/").text
    assert "000417" in page
    assert f"/orders/new/?client={order.client_id}" in page
    other = ContactFactory.create()
    form = browser.get(f"/orders/new/?client={order.client_id}").text
    assert (order.contact.name in form, other.name in form) == (True, False)


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_of_clients_takes_a_constant_number_of_queries(signed_in, django_assert_num_queries, count):
    browser = signed_in("checker")
    for _ in range(count):
        OrderFactory.create()
    browser.get("/clients/")
    with django_assert_num_queries(6):  # session, person, laboratory, roles, count, rows
        assert browser.get("/clients/").status_code == 200
    assert browser.get("/clients/?q=nobody").text.count("No client’s name contains") == 1

"""The pages: what they say, who may act, and what becomes of the file."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from reports.models import Certificate
from tests.factories.reports import ISSUED_AT, LAYER_CATCHES, certificate_scene, deviation, issued


def browser(person):
    """A browser signed in as somebody."""
    client = Client()
    client.force_login(person)
    return client


def heading(response):
    """The answer of a page."""
    text = response.content.decode()
    return " ".join(text.partition("<h1>")[2].partition("</h1>")[0].split())


def form_of(response):
    """The hidden fields of the page's form."""
    form = response.context["fresh"]
    return {"positions": form["positions"].value(), "seen": form["seen"].value()}


def test_the_list_counts_what_is_ready(db):
    scene = certificate_scene()
    page = browser(scene.checker).get(reverse("reports:certificates"))
    assert heading(page) == "1 order is ready for a certificate."


def test_an_empty_list_says_what_brings_something_here(lab, signed_in):
    page = signed_in("counter").get(reverse("reports:certificates"))
    assert heading(page) == "No order waits for a certificate."
    assert "No certificate is issued yet." in page.content.decode()


def test_a_signatory_reads_issues_and_downloads(db, django_capture_on_commit_callbacks):
    scene = certificate_scene()
    client = browser(scene.signatory)
    page = client.get(reverse("reports:issue", args=[scene.order.number]))
    assert heading(page).startswith("Passed at 850 °C: specimen 26-0001-002-5")
    assert "Issue certificate 26-0001-C1" in page.content.decode()
    with django_capture_on_commit_callbacks(execute=True):
        done = client.post(reverse("reports:issue_sign", args=[scene.order.number]), form_of(page))
    assert done.headers["Location"] == reverse("reports:certificate", args=["26-0001-C1"])
    file = client.get(reverse("reports:certificate_pdf", args=["26-0001-C1"]), {"download": ""})
    assert (file.headers["Content-Disposition"], file.content[:5]) == (
        'attachment; filename="26-0001-C1.pdf"',
        b"%PDF-",
    )
    assert heading(client.get(done.headers["Location"])).startswith("Passed at 850 °C")


def test_the_draft_is_a_file_that_nobody_keeps(db):
    scene = certificate_scene()
    draft = browser(scene.checker).get(reverse("reports:issue_draft", args=[scene.order.number]))
    assert (draft.headers["Content-Type"], Certificate.objects.count()) == ("application/pdf", 0)


def test_others_see_the_page_and_who_may_issue(db):
    scene = certificate_scene()
    page = browser(scene.checker).get(reverse("reports:issue", args=[scene.order.number]))
    text = page.content.decode()
    act = reverse("reports:issue_sign", args=[scene.order.number])
    assert ("Sid Signatory may issue it." in text, act in text) == (True, False)


@pytest.mark.parametrize("role", ["counter", "technician", "lead", "checker", "quality", "administrator"])
def test_only_signatories_issue_and_amend(db, signed_in, role):
    scene = certificate_scene()
    certificate = issued(scene, written=False)
    client = signed_in(role)
    acts = [
        client.post(reverse("reports:issue_sign", args=[scene.order.number]), {"positions": "1"}),
        client.post(reverse("reports:amend", args=[certificate.number]), {"reason": "Typing error."}),
    ]
    assert [answer.status_code for answer in acts] == [403, 403]
    assert Certificate.objects.count() == 1


@pytest.mark.parametrize("name", ["certificate", "certificate_pdf"])
def test_nobody_who_is_not_signed_in_sees_anything(db, name):
    # signed out, the same answer for a certificate that is there and one that is not
    issued(certificate_scene())
    answers = [Client().get(reverse(f"reports:{name}", args=[number])) for number in ("26-0001-C1", "26-0009-C9")]
    assert [answer.status_code for answer in answers] == [302, 302]
    assert all(answer.headers["Location"].startswith(reverse("account_login")) for answer in answers)


def test_what_is_missing_stands_with_the_page_where_it_can_be_mended(db):
    scene = certificate_scene()
    deviation(scene)
    page = browser(scene.signatory).get(reverse("reports:issue", args=[scene.order.number]))
    assert heading(page) == "1 thing is missing before 26-0001-C1 can be issued."
    assert [one.address for one in page.context["page"].blocked] == [
        reverse("specimens:item", args=[scene.item.number])
    ]


def test_a_change_since_the_page_was_opened_is_said_and_nothing_is_issued(db):
    scene = certificate_scene()
    client = browser(scene.signatory)
    fields = form_of(client.get(reverse("reports:issue", args=[scene.order.number])))
    scene.order.client.address = "Elsewhere"
    scene.order.client.save()
    answer = client.post(reverse("reports:issue_sign", args=[scene.order.number]), fields)
    assert (answer.status_code, Certificate.objects.count()) == (422, 0)
    assert "Something changed since this page was opened." in answer.content.decode()


def test_an_order_with_nothing_ready_says_why(db):
    scene = certificate_scene(check=False)
    page = browser(scene.signatory).get(reverse("reports:issue", args=[scene.order.number]))
    assert heading(page) == "Nothing of this order is ready for a certificate."
    assert [one.sentence for one in page.context["page"].hindrances] == ["Waits for a check."]


def test_a_certificate_being_written_is_picked_up_by_opening_its_page(db):
    certificate = issued(certificate_scene(), written=False)  # issued long ago: its writer was killed
    client = browser(certificate.issued_by)
    assert client.get(reverse("reports:certificate_pdf", args=[certificate.number])).status_code == 404
    page = client.get(reverse("reports:certificate", args=[certificate.number]))
    assert ("Is being written" in page.content.decode(), page.context["certificate"].pdf_id is None) == (False, False)


def test_a_certificate_that_is_written_just_now_says_so(db, monkeypatch):
    certificate = issued(certificate_scene(), written=False)
    moment = ISSUED_AT + timedelta(seconds=5)
    monkeypatch.setattr("reports.views.certificates.timezone.now", lambda: moment)
    page = browser(certificate.issued_by).get(reverse("reports:certificate", args=[certificate.number]))
    assert "The file of 26-0001-C1 is being written" in page.content.decode()


def test_amending_shows_the_differences_and_the_old_one_points_to_the_new(db, django_capture_on_commit_callbacks):
    scene = certificate_scene(LAYER_CATCHES)
    issued(scene)
    client = browser(scene.signatory)
    address = reverse("reports:amend", args=["26-0001-C1"])
    assert heading(client.get(address)) == "Nothing has changed since 26-0001-C1 was issued."
    scene.order.client.address = "Sample Street 17"
    scene.order.client.save()
    page = client.get(address)
    assert heading(page) == "1 thing differs from 26-0001-C1 as it was issued."
    empty = client.post(address, {"reason": "", "seen": page.context["seen"]})
    assert (empty.status_code, "Write the reason; it is printed on the amendment." in empty.content.decode()) == (
        422,
        True,
    )
    with django_capture_on_commit_callbacks(execute=True):
        done = client.post(address, {"reason": "Typing error.", "seen": page.context["seen"]})
    assert done.headers["Location"] == reverse("reports:certificate", args=["26-0001-C2"])
    old = client.get(reverse("reports:certificate", args=["26-0001-C1"])).content.decode()
    assert "This certificate is replaced by" in old
    again = client.get(address)
    assert (again.status_code, heading(again)) == (409, "26-0001-C1 is replaced already.")


def test_a_number_nobody_issued_is_not_found(db, signed_in):
    certificate_scene()
    assert signed_in("counter").get(reverse("reports:certificate", args=["26-0001-C7"])).status_code == 404


def test_the_find_box_leads_to_a_certificate(db, signed_in):
    issued(certificate_scene(), written=False)
    answer = signed_in("counter").get(reverse("find"), {"number": "26-0001-c1"})
    assert answer.headers["Location"] == reverse("reports:certificate", args=["26-0001-C1"])

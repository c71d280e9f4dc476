"""Rights are declared for each address; a form that is sent twice counts once."""

import threading
import uuid

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connections
from django.http import HttpResponse, HttpResponseRedirect
from django.test import RequestFactory

from labsite.checks import every_route_declares_rights
from labsite.ledger.access import ANYONE, PUBLIC, route
from labsite.ledger.models import Place, Role, Submission
from tests.factories.ledger import UserFactory


def view_of(may, answer=lambda request: HttpResponse("seen")):
    return route("x/", answer, name="x", may=may).callback


def request_by(person, method="get", **data):
    request = getattr(RequestFactory(), method)("/x/", data)
    request.user = person
    return request


def test_every_address_of_the_site_declares_its_rights():
    assert every_route_declares_rights(None) == []


@pytest.mark.parametrize("role", Role.values)
def test_only_the_declared_role_comes_in(person, role):
    view = view_of({Role.LEAD})
    if role == Role.LEAD:
        assert view(request_by(person(role))).text == "seen"
    else:
        with pytest.raises(PermissionDenied):
            view(request_by(person(role)))


def test_somebody_without_any_role_does_not_come_in(person):
    with pytest.raises(PermissionDenied):
        view_of(ANYONE)(request_by(person()))


def test_public_pages_ask_nobody_to_sign_in():
    assert view_of(PUBLIC).login_required is False
    assert view_of(ANYONE).login_required is True


def make_a_place(request):
    Place.objects.create(code=f"P-{Place.objects.count() + 1}", name="x", kind=Place.Kind.SHELF)
    return HttpResponseRedirect("/made/")


def test_the_same_form_twice_makes_one_thing_and_leads_to_it(person):
    view, sender, key = view_of(ANYONE, make_a_place), person("counter"), str(uuid.uuid4())
    answers = [view(request_by(sender, "post", form_key=key)) for _ in range(2)]
    assert ([answer.url for answer in answers], Place.objects.count()) == (["/made/", "/made/"], 1)


def test_a_form_that_came_back_with_an_error_may_be_sent_again(person):
    sender, key = person("counter"), str(uuid.uuid4())
    refused = view_of(ANYONE, lambda request: HttpResponse("no", status=422))(request_by(sender, "post", form_key=key))
    accepted = view_of(ANYONE, make_a_place)(request_by(sender, "post", form_key=key))
    assert (refused.status_code, accepted.url, Place.objects.count()) == (422, "/made/", 1)


def test_nothing_is_kept_when_the_view_breaks(person):
    def broken(request):
        make_a_place(request)
        raise RuntimeError

    with pytest.raises(RuntimeError):
        view_of(ANYONE, broken)(request_by(person("counter"), "post", form_key=str(uuid.uuid4())))
    assert (Place.objects.count(), Submission.objects.count()) == (0, 0)


def test_somebody_elses_key_does_not_lead_to_their_page(person):
    view, key = view_of(ANYONE, make_a_place), str(uuid.uuid4())
    view(request_by(person("counter"), "post", form_key=key))
    assert view(request_by(person("counter"), "post", form_key=key)).url == "/"
    assert Place.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_two_sendings_at_the_same_moment_make_one_thing():
    view, sender, key = view_of(ANYONE, make_a_place), UserFactory.create(roles=["counter"]), str(uuid.uuid4())
    answers, together = [], threading.Barrier(2)

    def send():
        together.wait()
        try:
            answers.append(view(request_by(sender, "post", form_key=key)).url)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=send) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert (answers, Place.objects.count()) == (["/made/", "/made/"], 1)

"""Every address of the site, opened by nobody, by somebody without a role, and by each role."""

import re

import pytest
from django.conf import settings
from django.test import Client

from calibration.models import Calibration, Commissioning, CommissioningFinding, Instrument, IntermediateCheck, Mounting
from labsite.checks import all_routes
from labsite.ledger.access import PUBLIC
from labsite.ledger.models import Place, Role, User
from reports.models import Certificate, TraceCase
from specimens.models import Client as Customer
from specimens.models import ClimateRecord, Contact, Deviation, Item, Order, OrderLine, Photo, Specimen, Stay
from tests.factories.ledger import UserFactory
from trials.models import Authorisation, Observation, Trial, TrialPhoto

pytestmark = pytest.mark.usefixtures("told", "db")

ROUTES = [(address, pattern.callback.rights) for address, pattern in all_routes()]  # type: ignore[attr-defined]  # given by route()
CONVERTER = re.compile(r"<\w+:(\w+)>")
NEVER_THERE = "0000000"


def samples():
    """What stands in the demo behind the beginning of an address; the longest beginning that fits is taken."""
    order = Order.objects.earliest("pk")
    last = {model: model.objects.latest("pk").pk for model in (Mounting, Calibration, Customer, Contact, Photo)}
    return {
        "bench/": Trial.objects.latest("pk").pk,
        "bench/open/": Specimen.objects.filter(trials=None, stays__out_at=None).earliest("pk").number,
        "authorisations/": Authorisation.objects.latest("pk").pk,
        "before-use/": Commissioning.objects.get(released_at=None).pk,
        "before-use/findings/": CommissioningFinding.objects.latest("pk").pk,
        "calendar/": "no-such-secret",
        "calibration/calendar/": 1,
        "calibrations/": last[Calibration],
        "calibration/checks/": IntermediateCheck.objects.latest("pk").pk,
        "checks/new/": "other",
        "checks/plan/": "other",
        "certificates/": Certificate.objects.latest("pk").number,
        "certificates/issue/": order.number,
        "checks/": OrderLine.objects.get(subject="Handle, upper half").pk,
        "clients/": last[Customer],
        "conditioning/": Place.objects.get(code="CH-1").code,
        "conditioning/files/": 1,
        "conditioning/records/": ClimateRecord.objects.latest("pk").pk,
        "conditioning/stays/": Stay.objects.latest("pk").pk,
        "contacts/": last[Contact],
        "deviations/": Deviation.objects.filter(answer=None).latest("pk").pk,
        "calibration/instruments.": "xlsx",
        "calibration/by-clause.": "xlsx",
        "record.": "xlsx",
        "events/": 1,
        "help/": "bench",
        "instruments/": Instrument.objects.latest("pk").number,
        "items/": Item.objects.latest("pk").number,
        "jobs/": OrderLine.objects.get(subject="Lampholder, cover ring").pk,
        "laboratory/people/": User.objects.latest("pk").pk,
        "laboratory/places/": Place.objects.latest("pk").pk,
        "limits/": 1,
        "methods/": "glow-wire-end-product@2021",
        "budgets/": "ignites",
        "<str:quantity>/": 1,
        "observations/": Observation.objects.latest("pk").pk,
        "orders/": order.number,
        "photos/": last[Photo],
        "rigs/": "GW-1",
        "specimens/": Specimen.objects.latest("pk").number,
        "traces/": TraceCase.objects.latest("pk").number,
        "traces/1/lines/": 1,
        "trials/": Trial.objects.latest("pk").pk,
        "trials/photos/": TrialPhoto.objects.latest("pk").pk,
        "lines/": 1,
        "take-off/": last[Mounting],
    }


def filled(address, values):
    """The address with a value for each argument; KeyError when a new address has no sample yet."""

    def value(match):
        before = address[: match.start()]
        begins = [key for key in values if before == key or before.endswith("/" + key)]
        return str(values[max(begins, key=len)])

    return "/" + CONVERTER.sub(value, address)


@pytest.fixture
def paths():
    values = samples()
    return [(filled(address, values), rights) for address, rights in ROUTES]


def test_nobody_sees_anything_but_the_sign_in(paths):
    browser = Client()
    seen = [path for path, rights in paths if rights != PUBLIC and not _sent_to_sign_in(browser.get(path))]
    assert seen == []


def _sent_to_sign_in(answer):
    return answer.status_code == 302 and answer.url.startswith("/sign-in/")


def test_nobody_changes_anything(paths):
    browser = Client()
    changed = [path for path, rights in paths if rights != PUBLIC and not _sent_to_sign_in(browser.post(path))]
    assert changed == []


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize("role", ["", *Role.values])
def test_each_role_comes_in_where_it_is_declared_and_nowhere_else(paths, role, method):
    browser = Client(raise_request_exception=False)
    wrong = []
    for path, rights in paths:
        browser.force_login(UserFactory.create(roles=[role] if role else []))
        status = getattr(browser, method)(path).status_code
        comes_in = rights == PUBLIC or role in rights
        if status >= 500 or (not comes_in and status != 403):
            wrong.append((path, status))
        if comes_in and method == "get" and status == 403:
            wrong.append((path, status))
    assert wrong == []


@pytest.mark.parametrize("method", ["get", "post"])
def test_what_is_not_there_is_not_found(method):
    """Records nobody has, numbers with foreign characters, and numbers beyond what a column holds."""
    browser = Client(raise_request_exception=False)
    browser.force_login(UserFactory.create(roles=Role.values))
    wrong = []
    for address, _ in ROUTES:
        for odd in (NEVER_THERE, "9" * 18, "9" * 40, "%00", "é☃", "<b>", "..", "a" * 300):
            if CONVERTER.search(address) and ("<int:" not in address or odd.isdigit()):
                status = getattr(browser, method)("/" + CONVERTER.sub(odd, address)).status_code
                if status not in (404, 405, 302, 403):
                    wrong.append((address, odd, status))
    assert wrong == []


def test_pages_carry_the_strict_policy_and_are_not_kept_elsewhere(paths):
    browser = Client()
    browser.force_login(UserFactory.create(roles=Role.values))
    policy = browser.get("/queue/")["Content-Security-Policy"]
    assert policy.split("; ")[0] == "default-src 'none'"
    assert "unsafe" not in policy
    assert settings.SESSION_COOKIE_HTTPONLY

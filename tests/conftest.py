"""Fixtures every test may use."""

from collections.abc import Callable
from typing import Any

import pytest
from django.db import connections
from django.test import Client, TransactionTestCase
from hypothesis import HealthCheck, settings

from labsite.ledger.append_only import GUARDED_TABLES, guard, lift_guard
from labsite.ledger.models import Laboratory, User
from tests.factories.ledger import LaboratoryFactory, UserFactory

# A busy machine is no fault of the code.
settings.register_profile("lab", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("lab")


@pytest.fixture(autouse=True, scope="session")
def _guards_allow_flushing() -> None:
    """Tests that commit are cleaned up by emptying tables, which the append-only triggers rightly refuse."""
    original = TransactionTestCase._fixture_teardown  # type: ignore[attr-defined]  # Django’s own, without types

    def teardown(self: TransactionTestCase) -> None:
        for table in GUARDED_TABLES:
            lift_guard(connections["default"], table)
        try:
            original(self)
        finally:
            for table in GUARDED_TABLES:
                guard(connections["default"], table)

    TransactionTestCase._fixture_teardown = teardown  # type: ignore[attr-defined]  # the same


@pytest.fixture
def lab(db: None) -> Laboratory:
    """The laboratory: without it every page leads to the first run."""
    return LaboratoryFactory.create()


@pytest.fixture
def person(lab: Laboratory) -> Callable[..., User]:
    """Make a person who holds the given roles."""

    def make(*roles: str, **fields: Any) -> User:
        return UserFactory.create(roles=list(roles), **fields)

    return make


@pytest.fixture
def signed_in(person: Callable[..., User]) -> Callable[..., Client]:
    """A browser signed in as somebody with the given roles; the person is at `.person`."""

    def make(*roles: str) -> Client:
        client = Client()
        client.person = person(*roles)  # type: ignore[attr-defined]  # handy for assertions
        client.force_login(client.person)  # type: ignore[attr-defined]
        return client

    return make

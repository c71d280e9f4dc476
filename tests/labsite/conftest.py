"""The demo's laboratory for the tests that walk the whole site."""

from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
from django.db import transaction

from labsite.demo.scenario import tell

NOW = datetime(2026, 3, 11, 9, 30, tzinfo=UTC)
"""A Wednesday morning in Berlin."""


@pytest.fixture(scope="module")
def told(django_db_setup, django_db_blocker) -> Iterator[datetime]:
    """The demo scenario, told once for a module and undone after it."""
    with django_db_blocker.unblock(), transaction.atomic():
        tell(now=NOW)
        yield NOW
        transaction.set_rollback(True)

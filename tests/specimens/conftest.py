"""Fixtures of the specimens app's tests."""

from collections.abc import Iterator

import pytest
from pytest_django import Settings

from specimens.queries.methods import method_offers


@pytest.fixture
def own_catalogue(settings: Settings) -> Iterator[None]:
    """Offer the tests' own method editions; use it with `pytest.mark.usefixtures`."""
    settings.METHOD_CATALOGUE = "tests.specimens.catalogue.catalogue"
    method_offers.cache_clear()
    yield
    method_offers.cache_clear()

"""Fixtures of the specimens app's tests."""

from collections.abc import Iterator

import pytest
from pytest_django import Settings

from specimens.queries.climate import forget_decoded
from specimens.queries.methods import method_offers


@pytest.fixture
def own_catalogue(settings: Settings) -> Iterator[None]:
    """Offer the tests' own method editions; use it with `pytest.mark.usefixtures`."""
    settings.METHOD_CATALOGUE = "tests.specimens.catalogue.catalogue"
    method_offers.cache_clear()
    yield
    method_offers.cache_clear()


@pytest.fixture
def conditioning_catalogue(settings: Settings) -> Iterator[None]:
    """Offer methods with different needs for conditioning; nothing of another test's readings is remembered."""
    settings.METHOD_CATALOGUE = "tests.specimens.conditioning_catalogue.catalogue"
    method_offers.cache_clear()
    forget_decoded()
    yield
    method_offers.cache_clear()
    forget_decoded()

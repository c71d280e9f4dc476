"""A job at the bench for the tests of trials."""

import pytest

from tests.factories.bench import Scene, bench_scene
from tests.factories.ledger import NOON


@pytest.fixture
def scene(db: None) -> Scene:
    """A technician's job with two conditioned specimens at noon."""
    return bench_scene(NOON)

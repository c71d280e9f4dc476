"""Verdicts signed before fingerprints were kept have one after the migration, the same that signing gives."""

from importlib import import_module

import pytest
from django.apps import apps
from django.db import connection

from labsite.ledger.append_only import guard, lift_guard
from tests.factories.trials import signed_trial
from trials.models import SignedVerdict


@pytest.fixture
def without_fingerprint(scene):
    """Two verdicts as they stood before: no fingerprint, the guard lifted as inside the migration."""
    for number in range(2):
        signed_trial(scene, number, first=1 + 1000 * number)
    kept = dict(SignedVerdict.objects.values_list("pk", "verdict_sha256"))
    lift_guard(connection, "trials_signedverdict")
    SignedVerdict.objects.update(verdict_sha256="")
    yield kept
    guard(connection, "trials_signedverdict")


def test_stored_verdicts_get_the_fingerprint_that_signing_gives(without_fingerprint):
    import_module("trials.migrations.0004_parameter_sheets").fingerprint_verdicts(apps, None)
    assert dict(SignedVerdict.objects.values_list("pk", "verdict_sha256")) == without_fingerprint
    assert {len(one) for one in without_fingerprint.values()} == {64}

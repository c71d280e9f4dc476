"""The layer: judged where the edition says so, else said; in every edition that has the parameter."""

from decimal import Decimal

import pytest

from tests.trials.domain import glow_wire_trial, needle_flame_trial, plate_trial
from tests.trials.domain.glow_wire_trial import row
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import EDITIONS
from trials.domain.parameter_changes import changed_edition
from trials.domain.records import TrialRecord

D = Decimal
JUDGED = sorted(key for key, edition in EDITIONS.items() if edition.has_parameter("layer_must_not_catch"))


def record(edition: MethodEdition) -> TrialRecord:
    """A trial whose layer caught; nothing else burned."""
    caught = row("layer_catches", "20.0")
    if edition.slug == "needle-flame":
        return needle_flame_trial.trial(*needle_flame_trial.course(caught), judged_by=edition)
    if edition.slug == "glow-wire-end-product":
        return glow_wire_trial.trial(*glow_wire_trial.course(caught), edition=edition)
    return plate_trial.plate(edition, caught)


@pytest.mark.parametrize("key", JUDGED)
def test_a_layer_that_catches_fails_or_is_only_said(key):
    edition = EDITIONS[key]
    fails = edition.judge(record(edition))
    assert (fails.outcome, fails.reasons) == ("fail", ("The layer caught at 20.0 s.",))
    passes = changed_edition(edition, {"layer_must_not_catch": {"value": False}}).judge(record(edition))
    assert passes.sentence.endswith(": no flame and no glow, and the layer is not judged.")
    assert passes.warnings == ("The layer caught at 20.0 s; this is recorded and not judged.",)

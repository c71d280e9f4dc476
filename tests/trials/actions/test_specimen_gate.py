"""A specimen already tested: another place of it, named and with its reason, and never the same one again."""

from dataclasses import replace
from typing import Any

import pytest

from labsite.ledger.models import Entry
from labsite.ledger.refusals import Refused
from tests.factories.bench import METHOD, Scene
from tests.factories.trials import LATE_FLAME, NO_FLAME, run_trial, sign, signed_trial
from trials.actions.bench import enter_setup_values, open_trial
from trials.actions.specimen_gate import refuse_place
from trials.domain.methods.registry import method_edition
from trials.models import SetupValue, Trial
from trials.queries.bench import places_tested
from trials.queries.results import line_result

pytestmark = pytest.mark.django_db
EDITION = method_edition(METHOD)
REASON = "the far end, 60 mm from the burnt place"


def opened_again(scene: Scene, **changes: Any) -> Trial:
    asked = {"again_reason": REASON, "point": "far end", **changes}
    specimen, instruments = scene.specimens[0], scene.by_role()
    return open_trial(by=scene.technician, at=scene.at, specimen=specimen, instruments=instruments, **asked)


def test_a_tested_specimen_without_a_reason_is_refused_at_the_reason(scene):
    signed_trial(scene)
    with pytest.raises(Refused, match="already tested; take another specimen of the job, or write why") as refusal:
        opened_again(scene, again_reason=" ", point="")
    assert refusal.value.field == "again_reason"


def test_a_further_place_must_be_named(scene):
    signed_trial(scene)
    with pytest.raises(Refused, match="Write which place is tested this time") as refusal:
        opened_again(scene, point=" ")
    assert refusal.value.field == "point"


def test_a_reason_of_more_than_its_column_is_refused_and_not_cut(scene):
    signed_trial(scene)
    with pytest.raises(Refused, match="300 characters are kept of a reason, this has 301"):
        opened_again(scene, again_reason="x" * 301)


def test_a_further_place_is_kept_with_its_reason(scene):
    signed_trial(scene)
    trial = opened_again(scene)
    assert trial.again_reason == REASON
    assert list(SetupValue.objects.filter(trial=trial).values_list("key", "value")) == [("point", "far end")]
    entry = Entry.objects.filter(act="opened a trial").order_by("sequence").last()
    assert entry is not None
    assert entry.data["after"]["further place"] == REASON


def test_the_same_place_is_not_tested_twice(scene):
    first = run_trial(scene)
    enter_setup_values(by=scene.technician, at=scene.at, trial_id=first.pk, values={"point": "Far end"})
    sign(scene, first)
    assert places_tested(scene.specimens[0], EDITION) == ["Far end"]
    with pytest.raises(Refused, match="“far end” of 26-0001-002-5 was already tested") as refusal:
        opened_again(scene)
    assert refusal.value.field == "point"


def test_a_reason_without_an_earlier_trial_is_refused(scene):
    with pytest.raises(Refused, match="is not tested yet; no reason is needed"):
        opened_again(scene)


def test_an_edition_that_names_no_place_knows_no_further_one(scene):
    signed_trial(scene)
    with pytest.raises(Refused, match=r"already tested; take another specimen of the job\.$"):
        refuse_place(scene.specimens[0], replace(EDITION, point_field=""), REASON, "far end")


@pytest.mark.parametrize(("course", "state"), [(NO_FLAME, "passed"), (LATE_FLAME, "failed")])
def test_a_line_with_a_further_place_stands_by_all_of_them(scene, course, state):
    signed_trial(scene)
    again = run_trial(scene, course=course, first=1000, again_reason=REASON, point="far end")
    sign(scene, again)
    assert line_result(scene.line).state == state

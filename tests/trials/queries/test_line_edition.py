"""By which figures an order line is judged: those of its latest trial, else those a trial opened now would have."""

from decimal import Decimal

import pytest

from tests.factories.bench import METHOD
from tests.factories.trials import signed_trial
from trials.actions.methods import revise_sheet
from trials.queries.results import line_standing, line_standings


def revised(scene, **changes):
    asked = {key: {"value": Decimal(number)} for key, number in changes.items()}
    return revise_sheet(
        by=scene.lead, at=scene.at, method_key=METHOD, revision_seen=0, changes=asked, reason="our copy says so"
    )


def test_without_a_trial_the_newest_figures_hold(scene):
    assert line_standing(scene.line).result.needed == 1
    revised(scene, specimens_needed=2)
    standing = line_standing(scene.line)
    assert standing.result.sentence == "Not started: 2 specimens to be tested at 850 °C."
    assert standing.edition is not None
    assert standing.edition.specimens_needed == 2


def test_with_a_trial_its_own_figures_hold_and_a_later_trial_brings_the_newer(scene):
    signed_trial(scene)
    revised(scene, specimens_needed=2)
    assert line_standing(scene.line).result.state == "passed"
    signed_trial(scene, 1, first=1001)
    standing = line_standing(scene.line)
    assert (standing.result.state, standing.result.counted) == ("passed", ("26-0001-002-5", "26-0001-003-3"))


def test_what_was_agreed_for_the_line_counts_before_its_first_trial(scene):
    scene.line.agreed_parameters = {"specimens_needed": {"value": "3"}}
    assert line_standing(scene.line).result.needed == 3


def test_figures_the_edition_cannot_take_hold_the_line(scene):
    scene.line.agreed_parameters = {"colour": {"value": "red"}}
    standing = line_standing(scene.line)
    assert (standing.result.state, standing.edition) == ("hold", None)
    assert standing.result.sentence.startswith("What was agreed for this line does not fit the edition.")


@pytest.mark.parametrize("tried", [False, True])
def test_the_newest_figures_cost_a_query_only_where_a_line_has_no_trial(scene, django_assert_num_queries, tried):
    if tried:
        signed_trial(scene)
    with django_assert_num_queries(3):  # trials, checks, and the verdicts or the newest figures
        line_standings([scene.line])

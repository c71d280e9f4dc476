"""The page of a trial says what differs when other figures, a newer rule or changed rows give another verdict."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client

from tests.factories.bench import METHOD
from tests.factories.trials import signed_trial
from trials.actions.methods import revise_sheet

D = Decimal


@pytest.fixture
def browse(scene):
    browser = Client()
    browser.force_login(scene.lead)
    return lambda trial: browser.get(f"/trials/{trial.pk}/").content.decode()


def revised(scene, changes, seen=0):
    later = scene.at + timedelta(days=1)
    revise_sheet(by=scene.lead, at=later, method_key=METHOD, revision_seen=seen, changes=changes, reason="why")


def test_the_same_figures_list_nothing(scene, browse):
    page = browse(signed_trial(scene))
    assert "the same observations give the same verdict, byte for byte." in page
    assert 'id="again"' not in page


def test_a_newer_revision_lists_what_it_would_change(scene, browse):
    trial = signed_trial(scene)
    revised(scene, {"force_n": {"value": D("1.00"), "tolerance": D("0.03")}})
    page = browse(trial)
    assert "the same observations give the same verdict, byte for byte." in page
    assert "By revision 1 of the laboratory’s figures" in page
    assert "<p>Invalid at 850 °C: force 0.96 N is outside 1.00 ± 0.03 N.</p>" in page
    assert "<tr><td>Outcome</td><td>pass</td><td>invalid</td></tr>" in page


def test_a_trial_opened_under_the_revision_is_judged_by_it(scene, browse):
    revise_sheet(
        by=scene.lead, at=scene.at, method_key=METHOD, revision_seen=0, changes={"light_lx": {"high": D(15)}},
        reason="why",
    )  # fmt: skip
    page = browse(signed_trial(scene))
    assert "revision 1 of the laboratory’s figures, our rule version 1" in page
    assert 'id="again"' not in page


def test_a_figure_the_trial_never_met_is_listed_only_as_a_figure(scene, browse):
    trial = signed_trial(scene)
    revised(scene, {"specimens_needed": {"value": D(2)}})
    page = browse(trial)
    assert "<tr><td>Figure of the edition, specimens</td><td>1</td><td>2</td></tr>" in page
    assert "<tr><td>Outcome</td>" not in page

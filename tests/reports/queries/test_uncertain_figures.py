"""Figures on a certificate with the uncertainty that was in force when each trial was opened."""

from datetime import timedelta

from reports.domain.content_json import content_from_json
from reports.rendering.tables import result_table
from tests.factories.ledger import NOON, UserFactory
from tests.factories.reports import BURNS, METHOD, certificate_scene, issued
from trials.actions.budgets import make_budget

ROWS = [{"name": "hand", "distribution": "normal", "half_width": "0.8", "coverage_factor": "2"}]
WIDER = [{**ROWS[0], "half_width": "1.6"}]


def budget(at, rows=ROWS, seen=0):
    make_budget(
        by=UserFactory.create(roles=["quality"]), at=at, method_key=METHOD, quantity="ignites", unit="s",
        version_seen=seen, rows=rows, level="95.45 %", shape="t", reason="first",
    )  # fmt: skip


def test_a_certificate_prints_the_value_with_the_uncertainty_in_force_at_its_trial(db):
    budget(NOON - timedelta(days=1))
    scene = certificate_scene(BURNS)
    budget(NOON + timedelta(hours=2), WIDER, seen=1)
    content = content_from_json(issued(scene, written=False).content)
    figure = content.trials[0].quantity("ignites")
    assert figure is not None
    assert (figure.text, figure.uncertain, figure.coverage) == ("6.4", "(6.40 ± 0.80) s", "k = 2.00, 95.45 %")
    assert [one.key for one in content.trials[0].quantities if one.uncertain] == ["ignites"]
    table = result_table(content.lines[0])
    assert "6.4 s, (6.40 ± 0.80) s" in table.groups[0].rows[0].figures
    assert table.coverage == (
        "After ± stands the expanded uncertainty of the measurement, k = 2.00, 95.45 %: Specimen ignites.",
    )


def test_without_a_budget_figures_stand_as_recorded(db):
    content = content_from_json(issued(certificate_scene(BURNS), written=False).content)
    assert [one.whole for one in content.trials[0].quantities] == [one.shown for one in content.trials[0].quantities]
    assert result_table(content.lines[0]).coverage == ()

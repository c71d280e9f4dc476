"""Versions of uncertainty budgets: counted, guarded, refused when stale, and what a trial takes from them."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import DatabaseError, connection, transaction

from labsite.ledger.models import Entry
from labsite.ledger.refusals import Refused
from specimens.models import OrderLine
from tests.factories.bench import METHOD
from tests.factories.ledger import NOON, UserFactory
from trials.actions.budgets import make_budget
from trials.actions.methods import revise_sheet
from trials.models import UncertaintyBudget
from trials.queries.budgets import BudgetVersions, budgets_in_force, stated_at
from trials.queries.methods import edition_of
from trials.queries.sheets import line_parameters

D = Decimal
BALL = "ball-pressure@2014"
LATER = NOON + timedelta(hours=1)
ROWS = [
    {"name": "microscope", "distribution": "normal", "half_width": "0.030", "coverage_factor": "2", "degrees": "10"},
    {"name": "resolution", "distribution": "resolution", "half_width": "0.01"},
]


@pytest.fixture
def lead(lab):
    return UserFactory.create(full_name="Lena Lead", roles=["lead"])


def made(by, *, at=NOON, rows=ROWS, seen=0, **other):
    asked = {"method_key": BALL, "quantity": "dent", "unit": "mm", "level": "95.45 %", "shape": "t", "reason": "first"}
    return make_budget(by=by, at=at, rows=rows, version_seen=seen, **{**asked, **other})


def line(rule="guard band", **agreed):
    return OrderLine(method_key=BALL, decision_rule=rule, agreed_parameters=agreed)


def test_a_version_keeps_its_rows_and_enters_the_ledger(lead):
    budget = made(lead, reason=" first of all ")
    # By hand: u = root(0.015^2 + 0.01^2/12), nu = u^4 / (0.015^4/10) = 10.75, truncated to 10, k = t(95.45 %) = 2.28.
    assert (budget.version, budget.rows, budget.reason) == (1, ROWS, "first of all")
    assert round(budget.standard_uncertainty, 5) == D("0.01528")
    assert (round(budget.effective_degrees, 2), round(budget.coverage_factor, 2)) == (D("10.75"), D("2.28"))
    assert round(budget.expanded_uncertainty, 4) == D("0.0349")
    entry = Entry.objects.get(act="made an uncertainty budget")
    assert (entry.book.name, entry.data["before"], entry.data["after"]["expanded_uncertainty"]) == (
        f"method:{BALL}",
        None,
        "0.035 mm",
    )


def test_versions_are_counted_and_each_holds_from_its_moment(lead):
    made(lead)
    made(lead, at=LATER, rows=ROWS[:1], seen=1)
    assert [one.version for one in UncertaintyBudget.objects.order_by("pk")] == [1, 2]
    assert stated_at("ball-pressure", NOON - timedelta(seconds=1)) == {}
    assert [stated_at("ball-pressure", at)["dent"].version for at in (NOON, LATER)] == [1, 2]
    versions = BudgetVersions(["ball-pressure"])
    assert [versions.at("ball-pressure", at)["dent"].version for at in (NOON, LATER)] == [1, 2]


@pytest.mark.parametrize("count", [1, 3])
def test_budgets_in_force_are_one_query(lead, count, django_assert_num_queries):
    for quantity, unit in [("dent", "mm"), ("spread", "mm"), ("temperature", "°C")][:count]:
        made(lead, quantity=quantity, unit=unit)
    with django_assert_num_queries(1):
        found = budgets_in_force(["ball-pressure", "needle-flame"])
    assert (len(found["ball-pressure"]), found["needle-flame"]) == (count, {})


@pytest.mark.parametrize(
    ("other", "sentence", "field"),
    [
        ({"unit": "µm"}, "Diameter of the dent is in mm; a budget in µm is not its uncertainty.", "unit"),
        ({"unit": ""}, "Diameter of the dent is in mm; a budget in no unit is not its uncertainty.", "unit"),
        ({"reason": " "}, "A new version needs its reason.", "reason"),
        ({"rows": []}, "A budget needs at least one row.", ""),
        ({"level": "90 %"}, "There is no coverage level '90 %'; there are 95.45 %, 95 %, 99 %.", "level"),
        ({"rows": [{"name": "a", "distribution": "rectangular", "half_width": "-1"}]},
         "Row 1 (a): the half-width is below zero.", "0-half_width"),
        ({"quantity": "readings"}, "10-2:2014 has no figure 'readings' that a budget could belong to.", ""),
        ({"seen": 1}, "Somebody made version 0 since this page was opened.", ""),
    ],
)  # fmt: skip
def test_refusals_write_nothing(lead, other, sentence, field):
    with pytest.raises(Refused) as refusal:
        made(lead, **other)
    assert refusal.value.sentence.startswith(sentence)
    assert (refusal.value.field or "") == field
    assert not UncertaintyBudget.objects.exists()
    assert not Entry.objects.filter(act="made an uncertainty budget").exists()


def test_the_same_rows_again_are_no_version(lead):
    made(lead)
    with pytest.raises(Refused, match=r"^Nothing is changed: these are the rows of version 1\.$"):
        made(lead, seen=1)


@pytest.mark.parametrize(
    "roles", [["technician"], ["checker"], ["reception"], []],
)  # fmt: skip
def test_only_a_lead_or_the_quality_keeper_makes_one(lab, roles):
    with pytest.raises(Refused, match=r"^Only a lead or the quality keeper makes an uncertainty budget\.$"):
        made(UserFactory.create(roles=roles))
    assert made(UserFactory.create(roles=["quality"])).version == 1


def test_the_database_refuses_to_change_a_version(lead):
    budget = made(lead)
    with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE trials_uncertaintybudget SET reason = 'other' WHERE id = %s", [budget.pk])


def test_a_trial_takes_uncertainty_and_factor_of_the_budget_in_force(lead):
    budget = made(lead)
    before = edition_of(BALL, line_parameters(line(), NOON - timedelta(seconds=1))[1])
    assert before.parameter("u_dent_mm").value is None
    revision, changes = line_parameters(line(), NOON)
    after = edition_of(BALL, changes)
    assert (revision, after.parameter("u_dent_mm").value, after.number("coverage_factor")) == (
        0,
        budget.expanded_uncertainty,
        budget.coverage_factor,
    )


def test_what_sheet_or_order_state_goes_before_the_budget(lead):
    made(lead)
    agreed = edition_of(BALL, line_parameters(line(u_dent_mm={"value": "0.06"}), NOON)[1])
    assert (agreed.parameter("u_dent_mm").limit_text, agreed.number("coverage_factor")) == ("0.06 mm", D("2.00"))
    own = {"u_dent_mm": {"value": D("0.08")}}
    revise_sheet(by=lead, at=NOON, method_key=BALL, revision_seen=0, changes=own, reason="our own")
    sheet = edition_of(BALL, line_parameters(line(), NOON)[1])
    assert (sheet.parameter("u_dent_mm").limit_text, sheet.number("coverage_factor")) == ("0.08 mm", D("2.00"))


def test_a_guard_band_of_the_budget_that_closes_the_zone_is_refused(lead):
    wide = [{"name": "microscope", "distribution": "normal", "half_width": "2.5", "coverage_factor": "2"}]
    made(lead, rows=wide)
    with pytest.raises(Refused, match=r"The guard band of 2\.5 is not below the limit of 2\.0 mm"):
        line_parameters(line(), NOON)
    assert edition_of(BALL, line_parameters(line("simple acceptance"), NOON)[1]).has_parameter("u_dent_mm")


def test_a_method_without_decided_limits_freezes_nothing(lead):
    made(lead, method_key=METHOD, quantity="ignites", unit="s")
    assert line_parameters(OrderLine(method_key=METHOD, decision_rule="in the standard"), NOON) == (0, {})

"""How the rule agreed for an order line reaches the judge, and what is refused before a trial is opened."""

from decimal import Decimal

import pytest

from calibration.domain.decisions import ALL_RULES
from tests.trials.domain.ball_pressure_trial import EDITION_2014, edition
from trials.domain.decided_criteria import decided_criterion, decision_changes, rule_refusal
from trials.domain.methods.registry import EDITIONS, method_edition
from trials.domain.parameter_changes import Change, changed_edition
from trials.domain.records import RecordError
from trials.domain.statements import DecidedLimit

D = Decimal
CLOSED: dict[str, Change] = {"dent_mm": {"low": D("1.8"), "high": D("2.0")}, "u_dent_mm": {"value": D("0.1")}}


@pytest.mark.parametrize("rule", ["in the standard", "simple acceptance", "guard band"])
def test_the_lines_rule_becomes_the_editions(rule: str) -> None:
    changes = decision_changes(EDITION_2014, rule, {"guard_factor": {"value": D("0.83")}})
    judged_by = changed_edition(EDITION_2014, changes)
    assert (judged_by.parameter("decision_rule").value, judged_by.number("guard_factor")) == (rule, D("0.83"))


def test_the_clients_own_rule_comes_with_the_clients_own_limit() -> None:
    with pytest.raises(RecordError) as refusal:
        decision_changes(EDITION_2014, "client's own", {})
    assert str(refusal.value) == "The client's own rule needs the client's own limit: Diameter of the dent."
    changes = decision_changes(EDITION_2014, "client's own", {"dent_mm": {"high": D("1.8")}})
    assert changes == {"dent_mm": {"high": D("1.8")}, "decision_rule": {"value": "client's own"}}


def test_a_rule_the_edition_does_not_offer_is_refused() -> None:
    glow_wire = method_edition("glow-wire-end-product@2021")
    with pytest.raises(RecordError) as refusal:
        decision_changes(glow_wire, "guard band", {})
    assert str(refusal.value) == "2-11:2021 is judged by one of these rules: in the standard."
    agreed: dict[str, Change] = {"application_s": {"value": D(29)}}
    assert decision_changes(glow_wire, "in the standard", agreed) == agreed


def test_guard_bands_that_close_the_zone_are_refused_before_a_trial() -> None:
    with pytest.raises(RecordError, match=r"^Diameter of the dent: The guard bands of 0\.1 close the zone"):
        decision_changes(EDITION_2014, "guard band", CLOSED)
    assert rule_refusal(edition(CLOSED)) is None
    assert rule_refusal(edition({**CLOSED, "decision_rule": {"value": "guard band"}})) is not None


def test_a_senseless_uncertainty_is_refused_whatever_the_rule() -> None:
    assert rule_refusal(edition({"u_dent_mm": {"value": D(0)}})) == (
        "Diameter of the dent: An expanded uncertainty is above zero, not 0."
    )


def test_a_lower_limit_is_named_as_such() -> None:
    at_least = edition({"dent_mm": {"low": D("1.0"), "high": D("2.0")}, "u_dent_mm": {"value": D("0.1")}})
    below = decided_criterion(at_least, DecidedLimit("dent_mm", "u_dent_mm"), D("0.9"), title="Dent", name="the dent")
    assert (below.holds, below.statement, below.reason) == (
        *(False, "fail", "the dent of 0.9 mm is under the limit of 1.0 mm"),
    )


@pytest.mark.parametrize("key", sorted(EDITIONS))
def test_every_edition_offers_all_rules_exactly_where_it_has_a_figure_they_judge(key: str) -> None:
    judged_by = EDITIONS[key]
    # A class stands or falls by its own limits, so there the client has none of its own.
    classes = bool(judged_by.severities[0].label)
    usual = tuple(rule for rule in ALL_RULES if not (classes and rule.key == "client's own"))
    assert judged_by.decision_rules == (usual if judged_by.decided_limits else ALL_RULES[:1])
    assert judged_by.decision_rules[0].key == "in the standard"
    assert rule_refusal(judged_by) is None


@pytest.mark.parametrize(("u", "leaves"), [("1.9", True), ("2.0", False), ("3", False)])
def test_a_guard_band_as_wide_as_the_limit_of_a_length_leaves_no_zone(u: str, leaves: bool) -> None:
    # A length is never below zero, so that both ends of the zone meet (ILAC-G8:09/2019 asks to raise it).
    wide = edition({"decision_rule": {"value": "guard band"}, "u_dent_mm": {"value": D(u)}})
    assert rule_refusal(wide) == (
        None
        if leaves
        else f"Diameter of the dent: The guard band of {u.removesuffix('.0')} is not below the limit of 2.0 mm: "
        "no figure could pass; a smaller uncertainty, another factor or another rule is needed."
    )

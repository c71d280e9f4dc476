"""What was agreed at contract review reaches the edition that a line's trials are judged by."""

import pytest

from calibration.domain.decisions import CLIENTS_OWN
from labsite.ledger.refusals import Refused
from specimens.models import OrderLine
from trials.queries.methods import edition_of, method_catalogue
from trials.queries.sheets import parameters_under


def frozen(rule, **agreed):
    line = OrderLine(method_key="ball-pressure@2014", decision_rule=rule, agreed_parameters=agreed)
    revision, changes = parameters_under(line, None)
    assert revision == 0
    return edition_of(line.method_key, changes)


def test_the_chosen_rule_is_frozen_for_the_trial():
    guarded = frozen("guard band", guard_factor={"value": "0.83"}, u_dent_mm={"value": "0.06"})
    assert [guarded.parameter(key).limit_text for key in ("decision_rule", "guard_factor", "u_dent_mm")] == [
        *("guard band", "0.83", "0.06 mm")
    ]


def test_the_clients_own_limit_is_the_figure_the_offer_names():
    own = method_catalogue()["ball-pressure@2014"].own_limit
    assert own is not None
    assert (own.key, own.side, own.unit, own.standing) == ("dent_mm", "high", "mm", "at most 2.0 mm")
    limited = frozen(CLIENTS_OWN, **{own.key: {own.side: "1.8"}})
    assert limited.parameter("dent_mm").limit_text == "at most 1.8 mm"


@pytest.mark.parametrize(
    ("rule", "agreed", "sentence"),
    [
        (CLIENTS_OWN, {}, "The client's own rule needs the client's own limit: Diameter of the dent."),
        ("guard band", {"u_dent_mm": {"value": "0"}}, "An expanded uncertainty is above zero, not 0."),
    ],
)
def test_what_cannot_be_judged_is_refused_before_a_trial(rule, agreed, sentence):
    with pytest.raises(Refused) as refused:
        frozen(rule, **agreed)
    assert refused.value.sentence.endswith(sentence)


def test_methods_judged_by_time_and_by_eye_offer_the_standards_own_rule_only():
    offers = method_catalogue()
    assert offers["needle-flame@2016"].decision_rules == ("in the standard",)
    assert offers["needle-flame@2016"].own_limit is None
    assert len(offers["ball-pressure@2003"].decision_rules) == 4

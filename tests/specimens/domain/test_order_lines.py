"""Order lines against the method edition."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from specimens.domain.faults import Fault
from specimens.domain.offers import OwnLimit
from specimens.domain.order_lines import SeverityChoice, chosen_severity, line_fault, severity_choices
from tests.specimens.catalogue import BALL, GLOW_WIRE, GLOW_WIRE_2000

SOUND: dict[str, Any] = {
    "severity": Decimal(850),
    "specimens_ordered": 3,
    "decision_rule": "in the standard",
    "decision_rule_note": "",
    "product_standard": "",
}


def test_a_standard_severity_needs_nothing_more():
    assert line_fault(GLOW_WIRE, **SOUND) is None


def test_a_severity_by_product_standard_needs_the_standard_named():
    asked = SOUND | {"severity": Decimal(775)}
    assert line_fault(GLOW_WIRE, **asked) == Fault(
        "product_standard", "775 °C is used only where a product standard asks for it: name that standard."
    )
    assert line_fault(GLOW_WIRE, **asked | {"product_standard": "IEC 60335-1"}) is None


def test_a_severity_of_another_edition_is_refused_with_those_there_are():
    assert line_fault(GLOW_WIRE_2000, **SOUND | {"severity": Decimal(775)}) == Fault(
        "severity", "2-11:2000 has no 775 °C; it has 550, 650, 750, 850, 960 °C."
    )


@pytest.mark.parametrize("count", [0, -1, 501])
def test_a_senseless_number_of_specimens_is_refused(count):
    assert line_fault(GLOW_WIRE, **SOUND | {"specimens_ordered": count}) == Fault(
        "specimens_ordered", "Write a number of specimens from 1 to 500."
    )


def test_only_a_rule_the_edition_offers_is_taken():
    assert line_fault(GLOW_WIRE, **SOUND | {"decision_rule": "guard band"}) == Fault(
        "decision_rule", "2-11:2021 is judged by one of these rules: in the standard."
    )


def test_the_clients_own_rule_needs_words():
    own = SOUND | {"severity": Decimal(125), "decision_rule": "client's own"}
    fault = line_fault(BALL, **own)
    assert fault is not None
    assert fault.field == "decision_rule_note"
    assert line_fault(BALL, **own | {"decision_rule_note": "1.8 mm at most"}) is None


def test_severities_are_grouped_by_method_and_say_when_a_product_standard_must_ask():
    groups = severity_choices([GLOW_WIRE_2000, GLOW_WIRE, BALL])
    assert [title for title, _ in groups] == ["Glow-wire test on end products", "Ball pressure test"]
    assert groups[0][1] == [
        SeverityChoice("glow-wire-end-product/550", "550 °C"),
        SeverityChoice("glow-wire-end-product/650", "650 °C"),
        SeverityChoice("glow-wire-end-product/750", "750 °C"),
        SeverityChoice("glow-wire-end-product/775", "775 °C, by product standard"),
        SeverityChoice("glow-wire-end-product/850", "850 °C"),
        SeverityChoice("glow-wire-end-product/960", "960 °C"),
    ]
    assert chosen_severity("glow-wire-end-product/775") == ("glow-wire-end-product", Decimal(775))


def test_the_clients_own_limit_is_a_figure_where_the_edition_has_one():
    ball = replace(BALL, own_limit=OwnLimit("dent_mm", "Dent diameter", "mm", "high", "at most 2.0 mm"))
    asked = SOUND | {"severity": Decimal(125), "decision_rule": "client's own"}
    assert line_fault(ball, **asked) == Fault(
        "own_limit", "Dent diameter: write the client’s own limit; the method’s is at most 2.0 mm."
    )
    assert line_fault(ball, **asked, own_limit=Decimal("0.0")) == Fault(
        "own_limit", "Dent diameter: a limit is above zero, not 0.0 mm."
    )
    assert line_fault(ball, **asked, own_limit=Decimal("1.8")) is None

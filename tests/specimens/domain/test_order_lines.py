"""Order lines against the method edition."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from specimens.domain.faults import Fault
from specimens.domain.offers import MethodOffer, OwnLimit, SeverityOffer
from specimens.domain.order_lines import (
    Belief,
    SeverityChoice,
    chosen_severity,
    line_faults,
    ordered_words,
    own_limit_fault,
    own_limit_of,
    severity_choice,
    severity_choices,
    specimens_words,
    start_choices,
    too_few_words,
    usual_specimens,
)
from tests.specimens.catalogue import BALL, GLOW_WIRE, GLOW_WIRE_2000

SOUND: dict[str, Any] = {
    "severity": Decimal(850),
    "specimens_ordered": 3,
    "decision_rule": "in the standard",
    "decision_rule_note": "",
    "product_standard": "",
}


def _fault(offer: MethodOffer, **asked: Any) -> Fault | None:
    return next(iter(line_faults(offer, **asked)), None)


def test_a_standard_severity_needs_nothing_more():
    assert _fault(GLOW_WIRE, **SOUND) is None


def test_a_severity_by_product_standard_needs_the_standard_named():
    asked = SOUND | {"severity": Decimal(775)}
    assert _fault(GLOW_WIRE, **asked) == Fault(
        "product_standard", "775 °C is used only where a product standard asks for it: name that standard."
    )
    assert _fault(GLOW_WIRE, **asked | {"product_standard": "IEC 60335-1"}) is None


def test_a_severity_of_another_edition_is_refused_with_those_there_are():
    assert _fault(GLOW_WIRE_2000, **SOUND | {"severity": Decimal(775)}) == Fault(
        "severity", "2-11:2000 has no 775 °C; it has 550, 650, 750, 850, 960 °C."
    )


@pytest.mark.parametrize("count", [0, -1, 501])
def test_a_senseless_number_of_specimens_is_refused(count):
    assert _fault(GLOW_WIRE, **SOUND | {"specimens_ordered": count}) == Fault(
        "specimens_ordered", "Write a number of specimens from 1 to 500."
    )


def test_only_a_rule_the_edition_offers_is_taken():
    assert _fault(GLOW_WIRE, **SOUND | {"decision_rule": "guard band"}) == Fault(
        "decision_rule", "2-11:2021 is judged by “inherent in the standard”, not by “guard band w = U”."
    )


def test_the_clients_own_rule_needs_words():
    own = SOUND | {"severity": Decimal(125), "decision_rule": "client's own"}
    fault = _fault(BALL, **own)
    assert fault is not None
    assert fault.field == "decision_rule_note"
    assert _fault(BALL, **own | {"decision_rule_note": "1.8 mm at most"}) is None


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
    assert _fault(ball, **asked) == Fault(
        "own_limit", "Dent diameter: write the client’s own limit; the method’s is at most 2.0 mm."
    )
    assert _fault(ball, **asked, own_limit=Decimal("0.0")) == Fault(
        "own_limit", "Dent diameter: a limit is above zero, not 0.0 mm."
    )
    assert _fault(ball, **asked, own_limit=Decimal("1.8")) is None


SEARCH = replace(
    GLOW_WIRE,
    key="index@2021",
    title="Index test",
    short_standard="2-12:2021",
    specimens_needed=3,
    open_severity="Index search",
    open_start=True,
    most_specimens=24,
)
BARS = replace(
    GLOW_WIRE,
    key="bars@2013",
    title="Bars",
    short_standard="11-10:2013 B",
    severity_unit="",
    severities=(SeverityOffer(Decimal(0), True, "V-0"), SeverityOffer(Decimal(1), True, "V-1")),
    specimens_needed=10,
    plans=GLOW_WIRE.plans * 2,
    open_severity="Best class",
)


def test_an_open_order_stands_first_and_classes_go_by_their_names():
    groups = dict(severity_choices([SEARCH, BARS]))
    assert groups["Index test"][:2] == [
        SeverityChoice("index/open", "Index search"),
        SeverityChoice("index/550", "550 °C"),
    ]
    assert groups["Bars"] == [
        SeverityChoice("bars/open", "Best class"),
        SeverityChoice("bars/0", "V-0"),
        SeverityChoice("bars/1", "V-1"),
    ]
    assert chosen_severity("index/open") == ("index", None)
    assert [severity_choice("bars@2013", value) for value in (None, Decimal(1))] == ["bars/open", "bars/1"]


def test_only_methods_that_search_offer_a_start():
    groups = start_choices([GLOW_WIRE, SEARCH, BARS])
    assert [title for title, _ in groups] == ["Index test"]
    assert groups[0][1][3] == SeverityChoice("index/775", "775 °C")


def test_what_is_ordered_in_words():
    assert ordered_words(SEARCH, None, None) == "Index search"
    assert ordered_words(SEARCH, None, Decimal(650)) == "Index search, from 650 °C"
    assert ordered_words(SEARCH, Decimal(850), None) == "850 °C"
    assert ordered_words(BARS, Decimal(0), None) == "V-0"


OPEN = SOUND | {"severity": None}


@pytest.mark.parametrize(
    ("offer", "asked", "belief", "fault"),
    [
        (SEARCH, OPEN, Belief(), None),
        (SEARCH, OPEN, Belief(Decimal(650), Decimal(850), Decimal(25)), None),
        (SEARCH, OPEN, Belief(value=Decimal(850)), None),
        (SEARCH, OPEN, Belief(Decimal(660)), ("start_severity", "2-12:2021 has no level 660 °C.")),
        (
            SEARCH, OPEN, Belief(spread=Decimal(25)),
            ("believed_severity", "Write the value believed that this spread belongs to."),
        ),
        (SEARCH, OPEN, Belief(value=Decimal(0)), ("believed_severity", "A value believed is above zero, not 0.")),
        (
            SEARCH, OPEN, Belief(value=Decimal(850), spread=Decimal(-1)),
            ("believed_spread", "A spread is not below zero, as -1 is."),
        ),
        (
            SEARCH, SOUND, Belief(Decimal(650)),
            ("start_severity", "2-12:2021: only a search has a start and a value believed; leave it empty."),
        ),
        (
            BARS, OPEN, Belief(value=Decimal(1)),
            ("believed_severity", "11-10:2013 B: only a search has a start and a value believed; leave it empty."),
        ),
    ],
)  # fmt: skip
def test_a_start_and_a_value_believed_belong_to_a_search(offer, asked, belief, fault):
    found = _fault(offer, **asked, belief=belief)
    assert found == (None if fault is None else Fault(*fault))


@pytest.mark.parametrize(
    ("value", "refused"), [("449", True), ("450", False), ("850", False), ("990", False), ("991", True), ("9000", True)]
)
def test_a_value_believed_lies_within_a_step_of_the_levels(value, refused):
    """A search from 500 to 960 °C ends at most one step outside: GWIT is 30 K above a pass at 930 °C or more."""
    offer = replace(SEARCH, severities=tuple(SeverityOffer(Decimal(one), True) for one in (500, 550, 930, 960)))
    sentence = f"2-12:2021 searches from 500 to 960 °C; {value} °C is far outside."
    found = line_faults(offer, **OPEN, belief=Belief(value=Decimal(value)))
    assert found == ((Fault("believed_severity", sentence),) if refused else ())


def test_a_spread_wider_than_the_search_is_refused():
    offer = replace(SEARCH, severities=tuple(SeverityOffer(Decimal(one), True) for one in (100, 125, 575, 600)))
    found = line_faults(offer, **OPEN, belief=Belief(value=Decimal(400), spread=Decimal(551)))
    assert [fault.field for fault in found] == ["believed_spread"]
    assert line_faults(offer, **OPEN, belief=Belief(value=Decimal(400), spread=Decimal(550))) == ()


@pytest.mark.parametrize(
    ("offer", "severity", "ordered", "agreed", "words"),
    [
        (SEARCH, None, 2, {}, "each level of the index search takes 3: it cannot come to its end with these."),
        (SEARCH, None, 3, {}, ""),
        (SEARCH, None, 2, {"specimens_needed": {"value": "2"}}, ""),
        (SEARCH, Decimal(850), 2, {}, "2-12:2021 takes 3: it cannot be passed with these."),
        (GLOW_WIRE, Decimal(850), 1, {}, ""),
    ],
)  # fmt: skip
def test_fewer_specimens_than_are_needed_are_told(offer, severity, ordered, agreed, words):
    sentence = f"{ordered} ordered, and {words}"
    assert too_few_words(offer, severity, ordered, agreed) == (sentence if words else "")


def test_a_class_that_is_not_there_is_named_with_those_that_are():
    assert _fault(BARS, **SOUND | {"severity": Decimal(7)}) == Fault(
        "severity", "11-10:2013 B has no 7; it has V-0, V-1."
    )


def test_how_many_specimens_where_nobody_says():
    assert [usual_specimens(offer, None) for offer in (SEARCH, BARS)] == [None, 10]
    assert usual_specimens(SEARCH, Decimal(850)) == 3
    assert [specimens_words(offer) for offer in (GLOW_WIRE, BARS, SEARCH, replace(SEARCH, most_specimens=None))] == [
        "1", "10, 5 each way", "3 at each level; a search takes 24 at most", "3 at each level",
    ]  # fmt: skip


def test_the_own_limit_among_agreed_figures():
    ball = replace(BALL, own_limit=OwnLimit("dent_mm", "Dent diameter", "mm", "high", "at most 2.0 mm"))
    assert own_limit_of(ball, {"dent_mm": {"high": "1.80"}}) == Decimal("1.80")
    assert [own_limit_of(ball, {}), own_limit_of(BALL, {"dent_mm": {"high": "1.8"}})] == [None, None]


def test_every_fault_of_a_line_is_told_at_once_one_a_field():
    asked = SOUND | {"severity": Decimal(775), "specimens_ordered": 0, "decision_rule": "simple acceptance"}
    belief = Belief(None, Decimal(-1), Decimal(-2))
    assert line_faults(GLOW_WIRE, **asked, belief=belief) == (
        Fault(
            "product_standard",
            "775 °C is used only where a product standard asks for it: name that standard.",
        ),
        Fault("specimens_ordered", "Write a number of specimens from 1 to 500."),
        Fault("believed_severity", "2-11:2021: only a search has a start and a value believed; leave it empty."),
        Fault("believed_spread", "A spread is not below zero, as -2 is."),
        Fault("decision_rule", "2-11:2021 is judged by “inherent in the standard”, not by “simple acceptance”."),
    )


LIMITED = replace(BALL, own_limit=OwnLimit("dent_mm", "Dent diameter", "mm", "high", "at most 2.0 mm"))


@pytest.mark.parametrize(
    ("offer", "rule", "sentence"),
    [
        (LIMITED, "client's own", None),
        (LIMITED, "simple acceptance",
         "It holds by the rule “the client’s own limit” alone: choose it, or leave this empty."),
        (BALL, "client's own", "10-2:2014 takes the client’s own rule in words; leave this empty."),
        (GLOW_WIRE, "in the standard",
         "2-11:2021 is judged by “inherent in the standard” and takes no limit of the client’s; leave it empty."),
        (GLOW_WIRE, "client's own", None),
    ],
)  # fmt: skip
def test_an_own_limit_is_told_why_it_does_not_hold_by_one_sentence_alone(offer, rule, sentence):
    fault = own_limit_fault(offer, rule, Decimal("1.8"))
    assert fault == (None if sentence is None else Fault("own_limit", sentence))

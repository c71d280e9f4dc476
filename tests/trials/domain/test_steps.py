"""Steps with an edition's own figures: due times, latest moments, and which step ends another."""

from dataclasses import replace
from decimal import Decimal

import pytest

from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import EDITIONS, method_edition
from trials.domain.statements import Parameter, Step
from trials.domain.steps import timed_steps

D = Decimal
GLOW_WIRE = method_edition("glow-wire-end-product@2021")


def test_the_glow_wire_s_steps_have_the_edition_s_figures() -> None:
    """30 s in contact, 30 s for flames and glow, 30 s of watching: the edition's own parameters."""
    steps = [(one.kind, one.due_s, one.out_within_s, one.ends, one.within) for one in timed_steps(GLOW_WIRE, D(850))]
    assert steps == [
        ("contact", None, None, "", False),
        ("withdrawn", D(30), D(30), "contact", False),
        ("watch_ends", D(30), None, "", False),
    ]


def test_a_figure_of_the_laboratory_s_own_moves_the_step() -> None:
    own = replace(GLOW_WIRE.parameter("application_s"), value=D("29.5"))
    assert timed_steps(GLOW_WIRE.revised(own), D(850))[1].due_s == D("29.5")


def test_a_level_may_itself_be_the_time() -> None:
    edition = replace(GLOW_WIRE, steps=(Step("contact", "On"), Step("withdrawn", "Off", due_s="severity")))
    assert [one.due_s for one in timed_steps(edition, D(30))] == [None, D(30)]
    assert [one.due_s for one in timed_steps(edition, None)] == [None, None]


def test_a_second_application_is_ended_by_the_step_after_it() -> None:
    first, last = GLOW_WIRE.steps[:2], GLOW_WIRE.steps[-1]
    again = (
        Step("ignites", "On again", after="withdrawn", once_out=True),
        Step("flame_out", "Off again", after="ignites", due_s="application_s"),
    )
    steps = timed_steps(replace(GLOW_WIRE, steps=(*first, *again, last)), D(850))
    assert [(one.kind, one.ends) for one in steps if one.ends] == [("withdrawn", "contact"), ("flame_out", "ignites")]


def test_a_figure_that_is_only_a_latest_moment_lets_the_step_come_at_once() -> None:
    latest = Parameter("watch_after_withdrawal_s", "Within", None, "s", high=D(10))
    assert timed_steps(GLOW_WIRE.revised(latest), D(850))[2].within


@pytest.mark.parametrize("edition", EDITIONS.values(), ids=list(EDITIONS))
def test_no_edition_takes_a_digit_that_the_bench_needs_itself(edition: MethodEdition) -> None:
    """7 shows more, 9 stops, 0 takes back; before the start 8 reads the temperature where one is read."""
    free = set("123456") if edition.steady is not None else set("1234568")
    assert {field.digit for field in edition.setup_fields if field.digit} <= free
    assert {kind.digit for kind in edition.observation_kinds if kind.digit} <= set("12345678") | {"Enter"}
    steps = {step.kind for step in edition.steps}
    assert {kind.key for kind in edition.observation_kinds if kind.digit == "Enter"} <= steps
    assert (edition.steps[0].kind, edition.steps[-1].kind) == ("contact", "watch_ends")

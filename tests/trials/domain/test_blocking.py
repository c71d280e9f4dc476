"""What keeps a job from being tested: one case for each reason, and what is only said."""

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from trials.domain.blocking import (
    ConditioningFact,
    DeviationFact,
    JobFact,
    LineFacts,
    RigFact,
    blocking_reasons,
    can_start,
    hours_text,
)

BERLIN = ZoneInfo("Europe/Berlin")
NOW = datetime(2026, 3, 10, 12, 0, tzinfo=BERLIN)
READY = ConditioningFact(86400.0, 90000.0, 0.0, ready=True, inside=True, chamber="CH-1")
FREE = LineFacts(
    at=NOW,
    method="2-11:2021",
    rig_kind="glow wire",
    reviewed=True,
    here=3,
    untested=3,
    needed=1,
    conditioning_s=86400.0,
    conditioning=READY,
    technicians=("Tess Technician",),
    rigs=(RigFact("GW-1"), RigFact("GW-2")),
    job=JobFact("Tess Technician", "GW-1", authorised=True),
)
BLOCKED = RigFact("GW-1", faults=("TC-07: it came back reading 3.9 K low",))
OVERDUE = RigFact("GW-2", faults=("FG-02: calibration was due on 9 Mar 2026",))
OUT = replace(READY, inside=False, taken_out_at=NOW - timedelta(hours=5), use_by=NOW - timedelta(hours=1))


def only(**changed: Any) -> tuple[str, str, str, str, tuple[str, ...], bool]:
    """The one reason for the free line with some facts changed, as plain values."""
    (reason,) = blocking_reasons(replace(FREE, **changed))
    return reason.code, reason.waits, reason.act, reason.sentence, reason.who, reason.blocks


def test_nothing_stands_in_the_way() -> None:
    assert blocking_reasons(FREE) == ()
    assert blocking_reasons(replace(FREE, job=None)) == ()


CASES: dict[str, tuple[dict[str, Any], tuple[str, str, str, str, tuple[str, ...], bool]]] = {
    "not reviewed": (
        {"reviewed": False},
        (
            "not reviewed", "hand", "Sign the contract review",
            "The order as it stands is not reviewed; a lead signs the review on the order’s page.", ("lead",), True,
        ),
    ),
    "deviation": (
        {"deviations": (DeviationFact("two of three cracked.", NOW - timedelta(days=1)), DeviationFact("wet", NOW))},
        (
            "deviation", "hand", "Ring the client",
            "On hold since Mon 9 Mar 12:00, no answer recorded: two of three cracked (and 1 more).",
            ("counter", "lead"), True,
        ),
    ),
    "not received": (
        {"here": 0, "untested": 0, "conditioning": None, "needed": 2},
        (
            "not received", "outside", "Parcel not here yet",
            "2 specimens needed, none is received. The counter takes the parcel in.", ("counter",), True,
        ),
    ),
    "too few": (
        {"untested": 1, "needed": 2},
        (
            "too few", "outside", "Ask for more specimens",
            ("2 specimens still to be tested, 1 untested here. The client sends more, or a lead agrees another way "
            "with them."), ("counter", "lead"), True,
        ),
    ),
    "not conditioned": (
        {"conditioning": None},
        (
            "not conditioned", "hand", "Put 1 specimen into conditioning",
            "24 h in band are needed before the trial, none is on record.", ("technician", "counter", "lead"), True,
        ),
    ),
    "conditioning": (
        {
            "conditioning": replace(
                READY, ready=False, counted_s=63900.0, not_counted_s=5700.0, expected_at=NOW + timedelta(hours=9)
            )
        },
        (
            "conditioning", "time", "Conditioning, 17 h 45 min of 24 h",
            "1 h 35 min did not count. Ready about Tue 10 Mar 21:00.", (), True,
        ),
    ),
    "no climate record": (
        {"conditioning": replace(READY, ready=False, counted_s=0.0, expected_at=NOW)},
        (
            "no climate record", "hand", "Attach the climate record",
            ("0 min of 24 h in band are on record. Attach the recorder’s file for CH-1; hours count as far as it shows "
            "them."), ("technician", "counter", "lead"), True,
        ),
    ),
    "wrong atmosphere": (
        {"conditioning": replace(READY, ready=False, counted_s=0.0, sentence="The oven is not the room asked for.")},
        (
            "wrong atmosphere", "hand", "Change the atmosphere", "The oven is not the room asked for.",
            ("technician", "counter", "lead"), True,
        ),
    ),
    "out too early": (
        {
            "conditioning": replace(
                READY, ready=False, inside=False, counted_s=63900.0, taken_out_at=NOW - timedelta(hours=1)
            )
        },
        (
            "out too early", "hand", "Put back into conditioning",
            "Taken out on Tue 10 Mar 11:00 after 17 h 45 min of 24 h in band. The hours begin anew with the next stay.",
            ("technician", "counter", "lead"), True,
        ),
    ),
    "window passed, enforced": (
        {"conditioning": replace(OUT, use_within_enforced=True)},
        (
            "window passed", "hand", "Condition again",
            ("Out of conditioning since Tue 10 Mar 07:00: 1 h over the 4 h allowed. Put the specimens back into the "
            "chamber."), ("technician", "counter", "lead"), True,
        ),
    ),
    "window passed, only said": (
        {"conditioning": OUT},
        (
            "window passed", "hand", "Test soon",
            "Out of conditioning since Tue 10 Mar 07:00: 1 h over the 4 h allowed, reported only.",
            ("technician",), False,
        ),
    ),
    "window running": (
        {
            "conditioning": replace(
                OUT, use_within_enforced=True, taken_out_at=NOW - timedelta(hours=1), use_by=NOW + timedelta(hours=3)
            )
        },
        (
            "window", "hand", "Test by 15:00",
            "Out of conditioning since Tue 10 Mar 11:00: 3 h of 4 h left.", ("technician",), False,
        ),
    ),
    "no technician": (
        {"technicians": (), "job": None},
        (
            "no technician", "hand", "Authorise a technician",
            ("No technician is authorised to perform trials by 2-11:2021 today. A lead or the quality keeper grants it "
            "on the page of authorisations."), ("lead", "quality"), True,
        ),
    ),
    "technician lapsed": (
        {"job": JobFact("Oren Example", "GW-1", authorised=False)},
        (
            "technician lapsed", "hand", "Hand out to somebody else",
            "Oren Example is not authorised to perform trials by 2-11:2021 today. Tess Technician would do.",
            ("lead",), True,
        ),
    ),
    "no rig": (
        {"rigs": (), "job": None},
        (
            "no rig", "hand", "Register a rig",
            ("No rig of the kind “glow wire” is in use here. The quality keeper or a lead registers it with its "
            "instruments."), ("quality", "lead"), True,
        ),
    ),
    "all rigs blocked": (
        {"rigs": (BLOCKED, RigFact("GW-2", missing=("timer", "force gauge"))), "job": None},
        (
            "rigs blocked", "hand", "Get a rig ready",
            ("GW-1 is blocked: TC-07: it came back reading 3.9 K low. GW-2 is blocked: no timer is mounted; no force "
            "gauge is mounted."), ("quality", "lead"), True,
        ),
    ),
    "its rig blocked": (
        {"rigs": (BLOCKED, RigFact("GW-2"), RigFact("GW-3"))},
        (
            "rig blocked", "hand", "Move to another rig",
            "GW-1 is blocked: TC-07: it came back reading 3.9 K low. GW-2 or GW-3 would do.", ("lead",), True,
        ),
    ),
    "its rig gone": (
        {"rigs": (RigFact("GW-2"),)},
        ("rig gone", "hand", "Move to another rig", "GW-1 is no longer in use. GW-2 would do.", ("lead",), True),
    ),
    "done": (
        {"finished": True, "reviewed": False},
        ("done", "done", "Done", "Every specimen that was needed is tested and signed.", (), True),
    ),
}  # fmt: skip


@pytest.mark.parametrize(("changed", "expected"), CASES.values(), ids=CASES.keys())
def test_each_reason(changed: dict[str, Any], expected: tuple[str, str, str, str, tuple[str, ...], bool]) -> None:
    assert only(**changed) == expected


def test_another_rig_that_is_blocked_does_not_matter() -> None:
    assert blocking_reasons(replace(FREE, rigs=(RigFact("GW-1"), OVERDUE))) == ()


@pytest.mark.parametrize("others", [{}, {"rigs": (BLOCKED,)}, {"technicians": (), "job": None}])
def test_too_few_is_the_last_thing_said_while_some_can_be_tested(others: dict[str, Any]) -> None:
    """One of three ordered was invalid: two untested ones are here, and three are to be tested still."""
    first = blocking_reasons(replace(FREE, **others))
    *before, few = blocking_reasons(replace(FREE, untested=2, needed=3, testable=1, **others))
    assert (tuple(before), few.code, few.waits, few.blocks) == (first, "too few", "outside", False)


def test_too_few_stands_in_the_way_before_the_clock_where_none_can_be_tested() -> None:
    later = replace(READY, ready=False, expected_at=NOW + timedelta(hours=9))
    found = blocking_reasons(replace(FREE, untested=2, needed=3, testable=0, conditioning=later))
    assert [(one.code, one.blocks) for one in found] == [("too few", True), ("conditioning", True)]


def test_enough_untested_specimens_are_never_too_few() -> None:
    assert blocking_reasons(replace(FREE, untested=3, needed=3, testable=3)) == ()


def test_no_conditioning_asked_for_needs_none() -> None:
    assert blocking_reasons(replace(FREE, conditioning=None, conditioning_s=0.0)) == ()


def test_the_very_end_of_the_window_still_counts() -> None:
    facts = replace(FREE, conditioning=replace(OUT, use_within_enforced=True, use_by=NOW))
    assert can_start(blocking_reasons(facts))


def test_reasons_come_in_the_order_in_which_they_are_settled() -> None:
    facts = replace(
        FREE, reviewed=False, deviations=(DeviationFact("wet", NOW),), conditioning=None, technicians=(), rigs=(),
        job=None,
    )  # fmt: skip
    codes = [reason.code for reason in blocking_reasons(facts)]
    assert codes == ["not reviewed", "deviation", "not conditioned", "no technician", "no rig"]


def test_moments_that_matter_are_carried() -> None:
    waiting = replace(READY, ready=False, expected_at=NOW + timedelta(hours=9))
    (reason,) = blocking_reasons(replace(FREE, conditioning=waiting))
    assert reason.until == NOW + timedelta(hours=9)


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0, "0 min"), (59, "0 min"), (3599, "59 min"), (3600, "1 h"), (131100, "36 h 25 min"), (86399.9, "23 h 59 min")],
)
def test_hours_are_rounded_down(seconds: float, words: str) -> None:
    assert hours_text(seconds) == words


def test_a_complete_stage_before_the_last_one_is_moved_on_from():
    waits = replace(READY, ready=False, moves_on=True, sentence="Complete since Mon; then 4 h in the desiccator.")
    for inside in (True, False):
        (reason,) = blocking_reasons(replace(FREE, conditioning=replace(waits, inside=inside)))
        assert (reason.code, reason.waits, reason.act, reason.sentence) == (
            "next stage", "hand", "Put into the next atmosphere", waits.sentence,
        )  # fmt: skip


def test_the_way_of_conditioning_that_is_needed_is_named():
    (reason,) = blocking_reasons(replace(FREE, conditioning=None, conditioning_s=172 * 3600.0, way="From the oven"))
    assert reason.sentence == ("172 h in band are needed before the trial, from the oven, none is on record.")

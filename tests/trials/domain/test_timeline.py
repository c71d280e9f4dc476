"""Pairing of single rows into flames and glow. Kinds of flame: committee decision on flame observation, public copy."""

from decimal import Decimal

import pytest

from tests.trials.domain.glow_wire_trial import course, row
from trials.domain.observations import standing
from trials.domain.records import Observation
from trials.domain.timeline import BurnEvent, Timeline, merged_spans, timeline_of

D = Decimal


def seen(*rows: Observation, contact: str = "0.0", watch: str = "90.0") -> Timeline:
    return timeline_of(standing(course(*rows, contact=contact, watch=watch)))


def test_one_flame() -> None:
    line = seen(row("ignites", "6.5"), row("flame_out", "43.5"))
    assert line.events == (BurnEvent("bright", D("6.5"), D("43.5")),)
    assert (line.specimen_ignites_s, line.flames_end_s, line.longest_flame_s) == (D("6.5"), D("43.5"), D("37.0"))
    assert line.warnings == ()


def test_no_flame_has_no_times() -> None:
    line = seen()
    assert (line.specimen_ignites_s, line.flames_end_s, line.glow_ends_s, line.longest_flame_s) == (None,) * 4


def test_time_in_contact_is_exact() -> None:
    rows = (row("contact", "0.1"), row("withdrawn", "30.3"))
    assert timeline_of(standing(rows)).application_s == D("30.2")


def test_times_count_from_contact() -> None:
    line = timeline_of(standing((row("contact", "12.4"), row("ignites", "18.9"), row("flame_out", "55.9"))))
    assert line.events == (BurnEvent("bright", D("6.5"), D("43.5")),)
    assert line.contact_s == D("12.4")


def test_overlapping_flames_pair_in_order_of_time() -> None:
    line = seen(row("ignites", "5"), row("ignites", "9"), row("flame_out", "12"), row("flame_out", "15.5"))
    assert line.events == (BurnEvent("bright", D(5), D(12)), BurnEvent("bright", D(9), D("15.5")))
    assert line.longest_flame_s == D("10.5")


def test_touching_flames_are_one_for_the_longest() -> None:
    line = seen(row("ignites", "5"), row("flame_out", "8"), row("ignites", "8", row="again"), row("flame_out", "11"))
    assert [(e.start_s, e.end_s) for e in line.events] == [(D(5), D(8)), (D(8), D(11))]
    assert line.longest_flame_s == D(6)


def test_kinds_of_flame_pair_among_themselves_and_corona_never_counts() -> None:
    line = seen(
        row("ignites", "2", "corona"), row("ignites", "6"), row("flame_out", "9"), row("flame_out", "80", "corona")
    )
    assert line.events == (BurnEvent("corona", D(2), D(80)), BurnEvent("bright", D(6), D(9)))
    assert line.flames == (BurnEvent("bright", D(6), D(9)),)
    assert line.flames_end_s == D(9)


def test_glow_has_its_own_end() -> None:
    line = seen(row("glow_starts", "20"), row("flame_out", "40"), row("ignites", "6"), row("glow_ends", "52"))
    assert (line.flames_end_s, line.glow_ends_s) == (D(40), D(52))


def test_a_flame_without_an_end_leaves_the_end_unknown() -> None:
    line = seen(row("ignites", "6"), row("flame_out", "9"), row("ignites", "20"))
    assert line.events[-1] == BurnEvent("bright", D(20), None)
    assert (line.flames_end_s, line.longest_flame_s) == (None, None)


@pytest.mark.parametrize("out", ["40.0", "40.5"])
def test_a_flame_recorded_as_out_after_a_hand_has_no_end_of_its_own_either(out: str) -> None:
    line = seen(row("ignites", "5"), row("put_out", "40"), row("flame_out", out))
    assert line.events == (BurnEvent("bright", D(5), D(out), put_out=True),)
    assert (line.flames_end_s, line.warnings) == (None, ())


def test_each_flame_is_put_out_by_its_own_hand() -> None:
    line = seen(
        *(row("ignites", "5"), row("flame_out", "8"), row("put_out", "9"), row("ignites", "50"), row("put_out", "58")),
        *(row("glow_starts", "9"), row("glow_ends", "12")),
    )
    assert line.events == (
        BurnEvent("bright", D(5), D(8)),
        BurnEvent("glow", D(9), D(12)),
        BurnEvent("bright", D(50), D(58), put_out=True),
    )


def test_a_flame_put_out_by_hand_has_no_end_of_its_own() -> None:
    line = seen(row("ignites", "6"), row("put_out", "70"))
    assert line.events == (BurnEvent("bright", D(6), D(70), put_out=True),)
    assert line.flames_end_s is None


def test_wrong_order_is_a_warning_for_its_event() -> None:
    line = seen(row("flame_out", "4"), row("layer_out", "20"), row("drip", "-3.0"), row("drip", "91.5"), watch="90.0")
    assert line.events == (BurnEvent("bright", None, D(4)),)
    assert line.warnings == (
        "The end of a bright flame at 4.0 s has no start before it.",
        "Recorded before contact: drip, -3.0 s.",
        "Recorded after the watch had ended: drip, 91.5 s.",
        "The layer went out at 20.0 s, yet it is not recorded that it caught.",
    )


def test_layer_and_drips() -> None:
    line = seen(row("drip", "22"), row("drip", "18"), row("layer_catches", "22.4"), row("layer_out", "22.3"))
    assert (line.drips_s, line.layer_ignites_s) == ((D(18), D(22)), D("22.4"))
    assert line.warnings == ("The layer went out at 22.3 s, before it caught at 22.4 s.",)


def test_two_contacts_leave_the_time_in_contact_unknown() -> None:
    line = timeline_of(standing((row("contact", "0"), row("contact", "1"), row("withdrawn", "30"))))
    assert (line.contacts, line.application_s) == (2, None)


def test_merged_spans() -> None:
    spans = [(D(10), D(12)), (D(1), D(3)), (D(3), D(4)), (D(2), D("2.5")), (D("4.1"), D(5))]
    assert merged_spans(spans) == ((D(1), D(4)), (D("4.1"), D(5)), (D(10), D(12)))

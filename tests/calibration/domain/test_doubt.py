"""The window in doubt and what it reaches. Moments made by hand; the procedure is common practice."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibration.domain.doubt import Link, Proof, Reach, Removal, reached, window_asked, window_in_doubt

ZONE = ZoneInfo("Europe/Berlin")
BEGUN = datetime(2025, 1, 7, 9, 0, tzinfo=UTC)
NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
ROOT = 1


def on(month, day, hour=0):
    return datetime(2026, month, day, hour, tzinfo=ZONE)


def calibration(month, day, *, of=ROOT, good=True, rests_on=(), number=None):
    first = on(month, day)
    number = number or month * 100 + day
    return Proof(of, first, first + timedelta(hours=24), f"calibration {month}-{day}", good, rests_on, number)


def check(month, day, hour=12, *, of=ROOT, good=True, rests_on=()):
    at = on(month, day, hour)
    return Proof(of, at, at, f"check {month}-{day}", good, rests_on)


BAD = calibration(11, 18, good=False)


def window(proofs, *, bad=BAD, removals=(), last_use_at=None, doubted=()):
    return window_in_doubt(proofs, bad, removals, last_use_at, begun_at=BEGUN, at=NOW, zone=ZONE, doubted=doubted)


def test_from_the_last_good_calibration_to_the_day_of_the_bad_one():
    found = window([calibration(5, 14), calibration(1, 9)])
    assert (found.from_at, found.until_at) == (on(5, 14), BAD.last)
    assert found.sentence == ("From calibration 5-14, which showed it good, to calibration 11-18, the end of that day.")


def test_a_later_passing_check_narrows_it_and_a_failing_one_does_not():
    assert window([calibration(5, 14), check(8, 3), check(9, 1, good=False)]).from_at == on(8, 3, 12)


def test_a_check_against_an_instrument_in_doubt_does_not_narrow_it():
    doubted = [Reach(7, ROOT, on(6, 1), on(9, 30), "")]
    proofs = [calibration(5, 14), check(8, 3, rests_on=(7,))]
    assert window(proofs, doubted=doubted).from_at == on(5, 14)
    assert window([calibration(5, 14), check(10, 3, rests_on=(7,))], doubted=doubted).from_at == on(10, 3, 12)


def test_it_ends_with_the_first_removal_after_the_last_use():
    removals = [Removal(on(7, 1, 8), "it was sent away"), Removal(on(11, 12, 16), "it was taken out of service")]
    found = window([calibration(5, 14)], removals=removals, last_use_at=on(11, 12, 11))
    assert found.until_at == on(11, 12, 16)
    assert found.sentence.endswith("to 12 Nov 2026, 16:00, when it was taken out of service.")
    assert window([calibration(5, 14)], removals=removals, last_use_at=on(11, 13, 9)).until_at == BAD.last
    assert window([calibration(5, 14)], removals=removals).until_at == on(7, 1, 8)


def test_a_check_after_the_removal_proves_nothing_about_what_was_measured_before():
    removals = [Removal(on(11, 12, 16), "it was taken out of service")]
    assert window([calibration(5, 14), check(11, 13)], removals=removals, last_use_at=on(11, 12)).from_at == on(5, 14)


def test_without_anything_good_it_begins_when_the_instrument_was_registered():
    found = window([calibration(5, 14, good=False)])
    assert found.from_at == BEGUN
    assert "7 Jan 2025, 10:00, when it was registered, because nothing shows it good before" in found.sentence


def test_without_a_bad_calibration_it_ends_now():
    found = window([calibration(5, 14)], bad=None)
    assert (found.until_at, found.sentence) == (NOW, "From calibration 5-14, which showed it good, to now.")


def test_a_window_asked_for_the_wrong_way_round_is_refused():
    with pytest.raises(ValueError, match="The window ends on 1 May 2026, before it begins on 2 May 2026"):
        window_asked(on(5, 2), on(5, 1, 23), ZONE)
    assert window_asked(on(5, 1), on(5, 1, 23), ZONE).sentence == (
        "From 1 May 2026 to 1 May 2026, both days included, as asked."
    )


def reach(links, proofs=()):
    return [(one.instrument, one.through, one.from_at, one.until_at, one.ended_by)
            for one in reached(ROOT, on(5, 14), on(11, 12), links, proofs, at=NOW)]  # fmt: skip


def test_what_was_checked_with_it_is_in_doubt_until_it_is_independently_good():
    links = [Link(2, ROOT, on(6, 1), "")]
    assert reach(links) == [(2, ROOT, on(6, 1), NOW, None)]
    proofs = [check(7, 1, of=2, rests_on=(ROOT,)), calibration(8, 1, of=2, number=88), check(9, 1, of=2)]
    assert reach(links, proofs) == [(2, ROOT, on(6, 1), on(8, 1) + timedelta(hours=24), 88)]


def test_a_link_outside_the_window_reaches_nothing():
    assert reach([Link(2, ROOT, on(5, 13), ""), Link(3, ROOT, on(11, 13), "")]) == []


def test_chains_and_circles_are_followed_each_with_its_own_window():
    links = [
        Link(2, ROOT, on(6, 1), ""),
        Link(3, 2, on(6, 10), ""),
        Link(2, 3, on(6, 20), ""),
        Link(ROOT, 3, on(6, 21), ""),
        Link(4, 2, on(5, 20), ""),  # before 2 was touched itself
    ]
    assert reach(links) == [(2, ROOT, on(6, 1), NOW, None), (3, 2, on(6, 10), NOW, None)]


def test_a_proof_that_rests_on_an_instrument_reached_later_ends_nothing():
    """2 is checked good against 3 in July; 3 was touched in June: only the fixed point sees that."""
    links = [Link(2, ROOT, on(6, 1), ""), Link(3, ROOT, on(6, 2), "")]
    proofs = [check(7, 1, of=2, rests_on=(3,)), check(8, 1, of=3)]
    assert reach(links, proofs) == [(2, ROOT, on(6, 1), NOW, None), (3, ROOT, on(6, 2), on(8, 1, 12), None)]


def test_it_may_be_reached_again_after_it_was_shown_good():
    links = [Link(2, ROOT, on(6, 1), ""), Link(2, ROOT, on(9, 1), "")]
    proofs = [calibration(8, 1, of=2, number=88)]
    assert [one[2] for one in reach(links, proofs)] == [on(6, 1), on(9, 1)]


moments = st.integers(0, 60).map(lambda days: on(5, 14) + timedelta(days=3 * days))
arrows = st.lists(st.tuples(st.integers(1, 6), st.integers(1, 6), moments), max_size=25)


@given(arrows, st.lists(st.tuples(st.integers(2, 6), moments, st.sets(st.integers(1, 6), max_size=2)), max_size=15))
def test_every_reach_follows_from_a_doubt_that_held_and_ends_at_nothing_doubtful(arrows, goods):
    """Properties of any answer: each reach has its cause, and what ended it rests on nothing in doubt then."""
    links = [Link(touched, by, at, "") for touched, by, at in arrows]
    proofs = [Proof(of, at, at, "", True, tuple(rests - {of}), None) for of, at, rests in goods]
    found = reached(ROOT, on(5, 14), on(11, 12), links, proofs, at=NOW)
    doubted = [Reach(ROOT, ROOT, on(5, 14), on(11, 12), ""), *found]
    for one in found:
        assert one.instrument != ROOT
        assert any(cause.instrument == one.through and cause.holds_at(one.from_at) for cause in doubted)
        if one.until_at != NOW:
            ending = [proof for proof in proofs if (proof.instrument, proof.first) == (one.instrument, one.until_at)]
            clean = [
                proof
                for proof in ending
                if not any(other.instrument in proof.rests_on and other.holds_at(proof.first) for other in doubted)
            ]
            assert clean

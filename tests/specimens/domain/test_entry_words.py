"""What was done, in words: one act a line, a trial's many acts as one, nothing only machines read."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from labsite.ledger.numbering import grouped, piece_number
from specimens.domain.entry_words import LONGEST, EntryFact, EntryRow, Reading, entry_rows, entry_words

NOON = datetime(2026, 3, 10, 11, 0, tzinfo=UTC)
READING = Reading({"glow-wire-end-product@2021": "IEC 60695-2-11:2021"}, ZoneInfo("Europe/Berlin"))


def test_keys_and_moments_are_told_in_words():
    data = {
        "after": {"method": "glow-wire-end-product@2021", "in_at": "2026-03-10T11:00:00+00:00", "due": "2026-04-01"}
    }
    assert entry_words(data, READING) == "method: IEC 60695-2-11:2021; in at: 10 Mar 2026 12:00; due: 1 Apr 2026"


def test_what_only_machines_read_is_left_out():
    assert (
        entry_words({"after": {"file": "0" * 64, "authorisation": 7, "caption": "after"}}, READING) == "caption: after"
    )


def test_what_looks_like_a_moment_and_is_none_stays_as_it_is():
    data = {"after": {"a": "2026-13-45T99:99", "b": "2026-02-30", "c": "2026-03-10T11:00"}}
    assert entry_words(data, READING) == "a: 2026-13-45T99:99; b: 2026-02-30; c: 2026-03-10T11:00"


def test_the_acts_of_one_trial_by_one_person_stand_in_one_row():
    def entry(minutes: int, act: str, by: str = "Tess", **data: object) -> EntryFact:
        return EntryFact(NOON + timedelta(minutes=minutes), by, act, dict(data))

    rows = entry_rows(
        [
            entry(0, "took the order", note="soon"),
            entry(1, "opened a trial", trial=4),
            entry(2, "recorded at the bench", trial=4),
            entry(3, "recorded at the bench", trial=4),
            entry(9, "signed a trial", trial=4),
            entry(10, "opened a trial", trial=5),
        ],
        READING,
    )
    assert [(row.act, row.words) for row in rows] == [
        ("took the order", "note: soon"),
        ("opened a trial; recorded at the bench, 2 times; signed a trial", "trial 4, until 10 Mar 2026 12:09"),
        ("opened a trial", "trial: 5"),
    ]


def test_long_words_are_parted_between_two_words_and_nothing_is_lost():
    words = " ".join(f"word{number}" for number in range(200))
    row = EntryRow(NOON, "Tess", "took the order", words)
    assert f"{row.head} {row.rest}" == words
    assert len(row.head) <= LONGEST
    short = EntryRow(NOON, "Tess", "took the order", "note: soon")
    assert (short.head, short.rest) == ("note: soon", "")


def test_long_words_without_a_space_are_parted_too():
    row = EntryRow(NOON, "Tess", "took the order", "x" * 900)
    assert row.head + row.rest == "x" * 900
    assert row.rest != ""


def test_numbers_of_pieces_are_told_as_people_read_them():
    pieces = [piece_number("2600180", serial) for serial in range(1, 6)]
    read = ["-".join(grouped(piece)) for piece in pieces]
    assert entry_words({"after": {"specimen": pieces[0]}}, READING) == f"specimen: {read[0]}"
    assert entry_words({"after": {"specimens": pieces[:2]}}, READING) == f"specimens: {read[0]} | {read[1]}"
    assert entry_words({"after": {"specimens": pieces}}, READING) == f"specimens: {read[0]} to {read[4]} (5)"
    assert entry_words({"after": {"note": "1234567890 0"}}, READING) == "note: 1234567890 0"

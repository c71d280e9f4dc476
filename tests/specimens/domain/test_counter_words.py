"""The sentences the counter's pages begin with."""

import pytest

from specimens.domain.counter_words import counter_answer, expected_words, order_answer, registered_words
from specimens.domain.entry_words import entry_words


@pytest.mark.parametrize(
    ("reviews", "answers", "sentence"),
    [
        (0, 0, "Nothing needs a hand at the counter."),
        (1, 0, "One order waits for a contract review."),
        (2, 1, "Two orders wait for a contract review, one for an answer from the client."),
        (0, 1, "One deviation waits for an answer from the client."),
        (0, 13, "13 deviations wait for an answer from the client."),
    ],
)
def test_the_counter_says_what_needs_a_hand(reviews, answers, sentence):
    assert counter_answer(reviews=reviews, answers=answers) == sentence


def test_parcels_to_come():
    assert [expected_words(count) for count in (0, 1, 3)] == [
        "No parcel is expected.",
        "One parcel is expected.",
        "Three parcels are expected.",
    ]


@pytest.mark.parametrize(
    ("facts", "sentence"),
    [
        ({"live_lines": 0}, "All lines are withdrawn; nothing is tested."),
        ({"reviewed": False}, "The contract review is not signed."),
        (
            {"reviewed": False, "received": True, "specimens": 1},
            "One specimen is here; the contract review is not signed.",
        ),
        ({}, "The review is signed; the parcel is expected."),
        ({"received": True, "specimens": 3}, "Three specimens are here, and nothing is open at the counter."),
        (
            {"received": True, "specimens": 15, "on_hold": (2,)},
            "15 specimens are here; line 2 is on hold until the client answers.",
        ),
        (
            {"received": True, "specimens": 15, "on_hold": (1, 2)},
            "15 specimens are here; lines 1 and 2 are on hold until the client answers.",
        ),
    ],
)
def test_an_order_says_where_it_stands(facts, sentence):
    usual = {"live_lines": 2, "reviewed": True, "specimens": 0, "received": False, "on_hold": ()}
    assert order_answer(**usual | facts) == sentence


def test_an_entry_shows_what_changed_with_the_old_value():
    data = {"before": {"name": "Old Ltd", "country": ""}, "after": {"name": "New Ltd", "country": ""}}
    assert entry_words(data) == "name: Old Ltd → New Ltd"


def test_an_entry_shortens_long_lists_of_numbers_and_keeps_long_texts_whole():
    assert entry_words({"after": {"specimens": ["1", "2", "3"], "note": ""}}) == "specimens: 1 to 3 (3)"
    assert entry_words({"after": {"text": "x" * 3000}}) == f"text: {'x' * 3000}"


@pytest.mark.parametrize(
    ("items", "specimens", "told"),
    [
        (7, 56, "Seven items and 56 specimens are registered; print the labels now."),
        (1, 1, "One item and one specimen are registered; print the labels now."),
        (1, 0, "One item is registered; print the labels now."),
        (2, 0, "Two items are registered; print the labels now."),
    ],
)
def test_what_a_parcel_brought_is_counted_by_items_and_specimens(items, specimens, told):
    assert registered_words(items, specimens) == told

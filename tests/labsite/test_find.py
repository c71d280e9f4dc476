"""The Find box leads to pages or says what was wrong with the number."""

import pytest
from django.urls import reverse

SENTENCES = [
    ("", "Type or scan the number of an order, an item, a specimen, an instrument or a certificate."),
    ("2604146", "The check digit of “2604146” does not fit: one digit is mistyped, or two changed places."),
    ("26-04", "“26-04” has 4 digits; orders have 7, items and specimens 10, instruments 6."),
    ("hello", "“hello” is not a number of this laboratory: only digits, hyphens and spaces can stand in one."),
    ("<b>", "“&lt;b&gt;” is not a number of this laboratory"),
]


@pytest.mark.parametrize(("typed", "sentence"), SENTENCES)
def test_it_says_what_was_wrong(signed_in, typed, sentence):
    answer = signed_in("counter").get(reverse("find"), {"number": typed})
    assert sentence in answer.text
    assert answer.status_code == (404 if typed else 200)


def test_a_sound_number_that_nobody_has(signed_in):
    answer = signed_in("counter").get(reverse("find"), {"number": "26-9999-7"})
    assert "“26-9999-7” is a sound number, but nothing here has it." in answer.text

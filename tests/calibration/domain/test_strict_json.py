"""Strict reading: RFC 8259 JSON, with digits kept and anything doubtful refused."""

from decimal import Decimal

import pytest

from calibration.domain.strict_json import JsonError, Member, read_json


def test_numbers_keep_their_digits() -> None:
    assert [str(number) for number in read_json("[3.0, 3.10, 3, 0.1]")] == ["3.0", "3.10", "3", "0.1"]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "Line 1, column 1: this is not JSON (Expecting value)."),
        ('{"a": 1,\n "b" 2}', "Line 2, column 6: this is not JSON (Expecting ':' delimiter)."),
        ('{"a": NaN}', "NaN is not a number that can be judged."),
        ('{"a": -Infinity}', "-Infinity is not a number that can be judged."),
        ('{"a": 1E9999999999999999999}', "1E999999999999999999 is not a number that can be judged."),
        ('{"a": ["\\ud800"]}', "A text holds half a character (an escape from \\ud800 to \\udfff without its pair)."),
        ('{"\\udc00": 1}', "A text holds half a character (an escape from \\ud800 to \\udfff without its pair)."),
        ('{"a": 1, "a": 2}', "'a' stands twice in one object."),
        ("[" * 200_000, "The brackets are nested too deeply to be read."),
    ],
)
def test_malformed_text_is_refused_with_its_place(text: str, sentence: str) -> None:
    with pytest.raises(JsonError) as refusal:
        read_json(text)
    assert str(refusal.value) == sentence


def test_unknown_names_are_refused_by_name() -> None:
    with pytest.raises(JsonError) as refusal:
        Member("top", read_json('{"forse": 1}')).members(("force",))
    assert str(refusal.value) == "top: 'forse' is not known here; known are force."


@pytest.mark.parametrize(
    ("reader", "text", "sentence"),
    [
        ("number", '"1"', 'x: a number is needed, not "1".'),
        ("number", "true", "x: a number is needed, not true."),
        ("number", "1e400", "x: 1E+400 has more than 15 digits."),
        ("text", "3", "x: a text is needed, not 3."),
        ("text", '" "', 'x: a text is needed, not " ".'),
        ("count", "0", "x: a whole number from 1 to 1000 is needed, not 0."),
        ("count", "1.5", "x: a whole number from 1 to 1000 is needed, not 1.5."),
        ("optional_yes_no", "1", "x: true or false is needed, not 1."),
        ("items", "{}", "x: a list in brackets is needed, not {}."),
        ("mapping", "[]", "x: an object in braces is needed, not []."),
        ("value", "[1.0]", 'x: a number, a text, true, false or null is needed, not ["1.0"].'),
    ],
)
def test_what_is_not_of_its_kind_is_refused_with_its_place(reader: str, text: str, sentence: str) -> None:
    with pytest.raises((JsonError, ValueError)) as refusal:
        getattr(Member("x", read_json(text)), reader)()
    assert str(refusal.value) == sentence


def test_null_and_missing_are_unknown() -> None:
    for member in (Member("x"), Member("x", None)):
        assert (member.optional_number(), member.optional_text(), member.optional_yes_no()) == (None, None, None)
        assert member.value() is None
    assert Member("x").items() == ()


def test_a_missing_member_that_is_needed_says_so() -> None:
    with pytest.raises(JsonError) as refusal:
        Member("severity").number()
    assert str(refusal.value) == "severity: a number is needed, and it is missing."
    assert Decimal(Member("severity", Decimal("850")).number()) == Decimal(850)

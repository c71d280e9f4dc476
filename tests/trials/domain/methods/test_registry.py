"""The registry answers with editions or with one clear sentence."""

import pytest

from trials.domain.methods.registry import EDITIONS, UnknownMethodError, method_edition


def test_keys_are_slug_and_edition() -> None:
    assert {key: f"{e.slug}@{e.edition}" for key, e in EDITIONS.items()} == {key: key for key in EDITIONS}
    assert {e.edition for e in EDITIONS.values() if e.slug == "glow-wire-end-product"} == {"2000", "2014", "2021"}


def test_an_unknown_key_is_said_with_those_there_are() -> None:
    with pytest.raises(UnknownMethodError) as refusal:
        method_edition("glow-wire@1999")
    assert str(refusal.value) == (
        f"There is no method edition 'glow-wire@1999'; known are {', '.join(sorted(EDITIONS))}."
    )

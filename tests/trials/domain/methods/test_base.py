"""Parameters as data: limits inclusive, words for screen and paper, revisions."""

from dataclasses import replace
from decimal import Decimal

import pytest

from tests.trials.domain.glow_wire_trial import EDITION_2021
from trials.domain.statements import Parameter

D = Decimal


@pytest.mark.parametrize(
    ("parameter", "text", "inside", "outside"),
    [
        (Parameter("f", "F", D("0.95"), "N", tolerance=D("0.10")), "0.95 ± 0.10 N", ("0.85", "1.05"), ("0.84", "1.06")),
        (Parameter("f", "F", None, "N", low=D("0.8"), high=D("1.2")), "0.8 to 1.2 N", ("0.8", "1.2"), ("0.79", "1.21")),
        (Parameter("b", "B", None, "mm", low=D(10)), "at least 10 mm", ("10", "99"), ("9.9",)),
        (Parameter("l", "L", None, "lx", high=D(20)), "at most 20 lx", ("20", "0"), ("20.1",)),
        (Parameter("d", "D", None, "mm", low=D("1.0"), high=D("1.0")), "1.0 mm", ("1.00",), ("0.9", "1.1")),
    ],
)
def test_limits_include_their_ends(
    parameter: Parameter, text: str, inside: tuple[str, ...], outside: tuple[str, ...]
) -> None:
    assert parameter.limit_text == text
    assert [parameter.admits(D(found)) for found in inside] == [True] * len(inside)
    assert [parameter.admits(D(found)) for found in outside] == [False] * len(outside)


@pytest.mark.parametrize(("value", "text"), [(True, "yes"), (False, "no"), (D(2), "2"), ("in doubt", "in doubt")])
def test_plain_values_have_words(value: Decimal | str | bool, text: str) -> None:
    assert Parameter("k", "K", value).limit_text == text


def test_a_limit_is_one_kind_of_limit() -> None:
    with pytest.raises(ValueError, match="a tolerance or a range, not both"):
        Parameter("k", "K", D(1), low=D(0), tolerance=D(1))
    with pytest.raises(ValueError, match="a tolerance needs a number"):
        Parameter("k", "K", None, tolerance=D(1))
    with pytest.raises(ValueError, match="'never' is none of in doubt, none"):
        Parameter("k", "K", "never", choices=("in doubt", "none"))


def test_a_revision_changes_what_it_names_and_nothing_else() -> None:
    force = replace(EDITION_2021.parameter("force_n"), value=D("1.00"))
    revised = EDITION_2021.revised(force)
    changed = [p.key for p, q in zip(EDITION_2021.parameters, revised.parameters, strict=True) if p != q]
    assert changed == ["force_n"]
    with pytest.raises(KeyError):
        EDITION_2021.revised(replace(force, key="colour"))


def test_every_figure_says_where_it_comes_from_and_every_default_that_it_is_one() -> None:
    assert [p.key for p in EDITION_2021.parameters if not p.source] == []
    unsure = [p for p in EDITION_2021.parameters if p.certainty != "published"]
    assert [p.key for p in unsure if "to be confirmed by the laboratory" not in p.note] == []


def test_one_sided_limits_are_numbers_too() -> None:
    assert EDITION_2021.number("steady_window_s") == D(60)
    assert EDITION_2021.number("steady_spread_k") == D(5)
    with pytest.raises(TypeError):
        EDITION_2021.number("tip_clean")


def test_every_limit_a_form_field_names_exists_and_keys_are_unique() -> None:
    keys = [p.key for p in EDITION_2021.parameters]
    assert len(keys) == len(set(keys))
    assert [f.key for f in EDITION_2021.setup_fields if f.parameter and f.parameter not in keys] == []
    assert {EDITION_2021.conditioning.hours, EDITION_2021.conditioning.use_within_hours} <= set(keys)
    assert {k.ends for k in EDITION_2021.observation_kinds if k.ends} <= {k.key for k in EDITION_2021.observation_kinds}

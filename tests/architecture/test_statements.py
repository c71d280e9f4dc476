"""What every edition states fits together: keys that exist, kinds of rigs and instruments that can be registered."""

from collections import Counter

import pytest

from calibration.models import InstrumentKind, RigKind
from specimens.domain.atmospheres import ATMOSPHERES
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import EDITIONS

EVERY = pytest.mark.parametrize("edition", EDITIONS.values(), ids=list(EDITIONS))
STARTS_AND_ENDS = ("contact", "watch_ends")


@EVERY
def test_its_rig_and_instruments_can_be_registered(edition: MethodEdition) -> None:
    assert edition.rig_kind in RigKind.values
    assert {need.kind for need in edition.instruments} <= set(InstrumentKind.values)


@EVERY
def test_its_atmospheres_are_known_and_their_hours_are_parameters(edition: MethodEdition) -> None:
    for need in edition.conditionings:
        assert {need.atmosphere, need.earlier_atmosphere} - {""} <= set(ATMOSPHERES)
        keys = (need.hours, need.earlier_hours, need.use_within_hours)
        assert [key for key in keys if key and not edition.has_parameter(key)] == []
    assert len({need.key for need in edition.conditionings}) == len(edition.conditionings)


@EVERY
def test_what_its_fields_kinds_and_steps_name_exists(edition: MethodEdition) -> None:
    kinds = {kind.key for kind in edition.observation_kinds}
    roles = {need.role for need in edition.instruments}
    named = [field.parameter for field in edition.setup_fields if field.parameter]
    named += [kind.decimals for kind in edition.observation_kinds if kind.decimals]
    named += [step.due_s for step in edition.steps if step.due_s and step.due_s != "severity"]
    assert [key for key in named if not edition.has_parameter(key)] == []
    assert {field.instrument_role for field in edition.setup_fields if field.instrument_role} <= roles
    assert {kind.ends for kind in edition.observation_kinds if kind.ends} <= kinds
    assert {step.kind for step in edition.steps} | {step.after for step in edition.steps} <= kinds
    assert (edition.steps[0].kind, edition.steps[-1].kind) == STARTS_AND_ENDS


@EVERY
def test_every_name_is_given_once(edition: MethodEdition) -> None:
    named = (
        [parameter.key for parameter in edition.parameters],
        [field.key for field in edition.setup_fields],
        [kind.key for kind in edition.observation_kinds],
        [quantity.key for quantity in edition.quantities],
        [need.role for need in edition.instruments],
        [severity.value for severity in edition.severities],
    )
    assert [name for names in named for name, count in Counter(names).items() if count > 1] == []


@EVERY
def test_the_digits_of_its_bench_keys_do_not_collide(edition: MethodEdition) -> None:
    """7 more, 9 stop and 0 take back belong to the page; a kind and the kind that ends it share a key."""
    fields = Counter(field.digit for field in edition.setup_fields if field.digit)
    assert {digit: count for digit, count in fields.items() if count > 1 or digit in "790"} == {}
    starts = Counter(k.digit for k in edition.observation_kinds if k.digit not in ("", "Enter", "7") and not k.ends)
    assert {digit: count for digit, count in starts.items() if count > 1 or digit in "90"} == {}


@EVERY
def test_every_figure_has_a_source_or_says_that_it_is_common_practice(edition: MethodEdition) -> None:
    assert [one.key for one in edition.parameters if one.certainty != "common practice" and not one.source] == []
    assert [one.key for one in edition.parameters if one.certainty == "published" and "general knowledge" in one.source
            and ";" not in one.source] == []  # fmt: skip

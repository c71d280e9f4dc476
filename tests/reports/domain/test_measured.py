"""What an edition measures, for the export by test clause."""

import pytest

from reports.domain.measured import measured_quantities
from trials.domain.methods.registry import EDITIONS, method_edition

GLOW_WIRE = method_edition("glow-wire-end-product@2021")


def by_title(edition):
    return {one.title: one for one in measured_quantities(edition)}


def test_a_field_comes_with_its_limit_its_place_and_its_instrument():
    force = by_title(GLOW_WIRE)["Force"]
    limit = GLOW_WIRE.parameter("force_n")
    assert (force.unit, force.limit, force.source, force.certainty) == (
        "N", "0.95 ± 0.10 N", limit.source, limit.certainty,
    )  # fmt: skip
    assert force.need is not None
    assert (force.kind, force.need.accuracy) == ("force gauge", "reads 0.01 N")


def test_what_no_instrument_is_named_for_says_so_and_yes_no_is_not_measured():
    found = by_title(GLOW_WIRE)
    assert (found["Light at the specimen"].need, found["Light at the specimen"].kind) == (None, "")
    assert (found["Heating current"].limit, found["Heating current"].kind) == ("recorded only", "ammeter")
    assert "Tip clean, no crack" not in found


def test_an_instrument_no_field_names_has_a_row_of_its_own():
    found = by_title(GLOW_WIRE)["What the thermocouple reads"]
    assert (found.kind, found.limit, found.source) == (
        "thermocouple", "no limit of its own", "IEC 60695-2-10, public excerpt of the 2000 text",
    )  # fmt: skip


@pytest.mark.parametrize("key", EDITIONS)
def test_every_instrument_of_every_edition_is_asked_for(key):
    edition = method_edition(key)
    kinds = {one.kind for one in measured_quantities(edition)}
    assert {need.kind for need in edition.instruments} <= kinds
    assert all(one.title for one in measured_quantities(edition))

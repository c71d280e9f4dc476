"""What the demo's technicians enter: within what can be, and within each limit of the edition."""

from decimal import Decimal

import pytest

from labsite.demo.setups import plausible_setup
from trials.domain.methods.registry import EDITIONS
from trials.domain.record_checks import impossibility

OWN = {"nominal_mm": "3.0", "thickness_mm": "3.02", "voltage_v": "400", "resistivity_ohm_m": "3.95"}
"""What lies with the trial and no edition states."""


@pytest.mark.parametrize("key", sorted(EDITIONS))
def test_what_is_made_up_can_be_and_keeps_to_its_limit(key: str) -> None:
    edition = EDITIONS[key]
    asked = {field.key for field in edition.setup_fields if field.kind == "number" and not field.parameter}
    made = plausible_setup(edition, {name: OWN.get(name, "1.0") for name in asked})
    wrong = []
    for field in edition.setup_fields:
        if field.kind != "number" or field.key not in made:
            continue
        value = Decimal(made[field.key])
        outside = field.parameter and not edition.parameter(field.parameter).admits(value)
        if impossibility(value, field.unit) or outside:
            wrong.append((field.key, made[field.key]))
    assert wrong == []

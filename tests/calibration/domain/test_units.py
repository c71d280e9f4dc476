"""One spelling for each unit, and the units an instrument measures in."""

from calibration.domain.units import UNITS, difference_unit, units_of
from calibration.models import InstrumentKind


def test_each_unit_is_listed_once_in_its_si_spelling():
    """Spellings of the SI Brochure, 9th edition; the micro sign is U+00B5, relative humidity as the trade writes it."""
    assert UNITS == ("°C", "K", "N", "s", "mm", "g", "% RH", "lx", "A", "V", "kPa", "\u00b5m", "mV")
    assert len(set(UNITS)) == len(UNITS)


def test_every_kind_of_instrument_measures_in_listed_units():
    assert {kind: [unit for unit in units_of(kind) if unit not in UNITS] for kind in InstrumentKind.values} == {
        kind: [] for kind in InstrumentKind.values
    }
    assert [kind for kind in InstrumentKind.values if units_of(kind) == UNITS] == []


def test_an_unknown_kind_may_have_any_unit():
    assert units_of("something new") == UNITS


def test_a_difference_of_degrees_celsius_is_in_kelvin():
    assert [difference_unit(unit) for unit in ("°C", "K", "N", "% RH")] == ["K", "K", "N", "% RH"]

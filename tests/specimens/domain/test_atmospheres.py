"""The named atmospheres hold the figures of their sources."""

from decimal import Decimal

import pytest

from specimens.domain.atmospheres import ATMOSPHERES, Band, band_around

# ISO 291:2008: 23/50 and 27/65; class 1 +-1 K, +-5 %; class 2 +-2 K, +-10 % (tolerances from memory). 15-35 degC with
# 45-75 % RH: public excerpts of IEC 60695-2-11; 23 +- 2 degC with 40-60 %: public excerpts of IEC 60695-2-13:2010;
# 23 +- 5 degC with 50 +- 10 %: IEC 60112, from memory; 50 +- 5 %: bar tests before 2013, from memory.
FIGURES = {
    "15-35/45-75": ("15", "35", "45", "75"),
    "23/50 class 2": ("21", "25", "40", "60"),
    "23/50 class 1": ("22", "24", "45", "55"),
    "23/40-60": ("21", "25", "40", "60"),
    "23/45-55": ("21", "25", "45", "55"),
    "18-28/40-60": ("18", "28", "40", "60"),
    "27/65 class 2": ("25", "29", "55", "75"),
    "27/65 class 1": ("26", "28", "60", "70"),
    "oven 70": ("68", "72", None, None),
    "desiccator": ("21", "25", "0", "20"),
}


def test_every_atmosphere_has_its_figures() -> None:
    found = {
        key: (
            str(each.temperature_c.low),
            str(each.temperature_c.high),
            None if each.humidity_percent is None else str(each.humidity_percent.low),
            None if each.humidity_percent is None else str(each.humidity_percent.high),
        )
        for key, each in ATMOSPHERES.items()
    }
    assert found == FIGURES


def test_every_atmosphere_says_where_it_is_from() -> None:
    assert [key for key, each in ATMOSPHERES.items() if not each.source or each.key != key] == []


def test_a_band_keeps_digits_and_its_order() -> None:
    assert band_around("23", "0.50") == Band(Decimal("22.50"), Decimal("23.50"))
    with pytest.raises(ValueError, match="low limit first"):
        Band(Decimal(2), Decimal(1))

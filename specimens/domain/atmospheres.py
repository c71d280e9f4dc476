"""Named conditioning atmospheres as data: the band, where it comes from and how sure we are of it."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

Certainty = Literal["published", "from memory", "common practice"]


@dataclass(frozen=True, slots=True)
class Band:
    """A closed range: both limits belong to it."""

    low: Decimal
    high: Decimal

    def __post_init__(self) -> None:
        if self.low > self.high:
            raise ValueError(f"A band needs its low limit first: {self.low} is above {self.high}.")


@dataclass(frozen=True, slots=True)
class Atmosphere:
    """What the air around a specimen must be; humidity None means that none is asked for."""

    key: str
    title: str
    temperature_c: Band
    humidity_percent: Band | None
    source: str
    certainty: Certainty


def band_around(nominal: str, tolerance: str) -> Band:
    """The band nominal - tolerance to nominal + tolerance, limits included; digits as typed."""
    return Band(Decimal(nominal) - Decimal(tolerance), Decimal(nominal) + Decimal(tolerance))


def _band(low: str, high: str) -> Band:
    return Band(Decimal(low), Decimal(high))


_ISO_291 = "ISO 291:2008, {}; remembered tolerances, compare with the laboratory's own copy"

_ROWS: tuple[Atmosphere, ...] = (
    Atmosphere(
        "15-35/45-75",
        "Room: 15 to 35 °C, 45 to 75 % RH",
        _band("15", "35"),
        _band("45", "75"),
        "IEC 60695-2-11 and IEC 60695-11-5 conditioning as given in public excerpts; the range is also IEC 160:1963",
        "published",
    ),
    Atmosphere(
        "23/50 class 2",
        "23 ± 2 °C, 50 ± 10 % RH",
        band_around("23", "2"),
        band_around("50", "10"),
        _ISO_291.format("atmosphere 23/50 class 2"),
        "from memory",
    ),
    Atmosphere(
        "23/50 class 1",
        "23 ± 1 °C, 50 ± 5 % RH",
        band_around("23", "1"),
        band_around("50", "5"),
        _ISO_291.format("atmosphere 23/50 class 1"),
        "from memory",
    ),
    Atmosphere(
        "23/40-60",
        "23 ± 2 °C, 40 to 60 % RH",
        band_around("23", "2"),
        _band("40", "60"),
        "IEC 60695-2-13:2010 conditioning of material specimens as given in public excerpts; taken the same for -2-12",
        "published",
    ),
    Atmosphere(
        "23/45-55",
        "23 ± 2 °C, 50 ± 5 % RH",
        band_around("23", "2"),
        band_around("50", "5"),
        "Small-flame tests on bars, editions before 2013; the tolerance of the humidity is remembered",
        "from memory",
    ),
    Atmosphere(
        "18-28/40-60",
        "23 ± 5 °C, 50 ± 10 % RH",
        band_around("23", "5"),
        band_around("50", "10"),
        "IEC 60112 conditioning before the tracking test, at least 24 h; figures remembered",
        "from memory",
    ),
    Atmosphere(
        "27/65 class 2",
        "27 ± 2 °C, 65 ± 10 % RH",
        band_around("27", "2"),
        band_around("65", "10"),
        _ISO_291.format("atmosphere 27/65 class 2"),
        "from memory",
    ),
    Atmosphere(
        "27/65 class 1",
        "27 ± 1 °C, 65 ± 5 % RH",
        band_around("27", "1"),
        band_around("65", "5"),
        _ISO_291.format("atmosphere 27/65 class 1"),
        "from memory",
    ),
    Atmosphere(
        "oven 70",
        "Ageing oven: 70 ± 2 °C, humidity not controlled",
        band_around("70", "2"),
        None,
        "IEC 60695-11-10 ageing before the vertical test, 168 h; the tolerance is remembered",
        "from memory",
    ),
    Atmosphere(
        "desiccator",
        "Desiccator: 23 ± 2 °C, at most 20 % RH",
        band_around("23", "2"),
        _band("0", "20"),
        "IEC 60695-11-10 cooling after the oven and storage of cotton; figures remembered",
        "from memory",
    ),
)

ATMOSPHERES: dict[str, Atmosphere] = {row.key: row for row in _ROWS}

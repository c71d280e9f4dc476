"""Method editions as the counter's tests offer them: figures invented where the tests need a difference."""

from dataclasses import replace
from decimal import Decimal

from specimens.domain.offers import MethodOffer, PlanOffer, SeverityOffer


def _levels(standard: str, by_product_standard: str = "") -> tuple[SeverityOffer, ...]:
    return (
        *(SeverityOffer(Decimal(value), True) for value in standard.split()),
        *(SeverityOffer(Decimal(value), False) for value in by_product_standard.split()),
    )


GLOW_WIRE = MethodOffer(
    key="glow-wire-end-product@2021",
    title="Glow-wire test on end products",
    short_title="Glow wire, end product",
    standard="IEC 60695-2-11:2021",
    short_standard="2-11:2021",
    severity_title="Severity",
    severity_unit="°C",
    severities=_levels("550 650 750 850 960", "775"),
    specimens_needed=1,
    decision_rules=("in the standard",),
    plans=(PlanOffer("", "", "15-35/45-75", Decimal(24), Decimal(4)),),
    rig_kind="glow-wire",
)
GLOW_WIRE_2000 = replace(
    GLOW_WIRE, key="glow-wire-end-product@2000", standard="IEC 60695-2-11:2000", short_standard="2-11:2000",
    severities=_levels("550 650 750 850 960"),
)  # fmt: skip
BALL = replace(
    GLOW_WIRE,
    key="ball-pressure@2014",
    title="Ball pressure test",
    short_title="Ball pressure",
    standard="IEC 60695-10-2:2014",
    short_standard="10-2:2014",
    severities=_levels("75 125"),
    decision_rules=("in the standard", "simple acceptance", "client's own"),
)


def catalogue() -> dict[str, MethodOffer]:
    """What settings.METHOD_CATALOGUE names in these tests."""
    return {offer.key: offer for offer in (GLOW_WIRE_2000, GLOW_WIRE, BALL)}

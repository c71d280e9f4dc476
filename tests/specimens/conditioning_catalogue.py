"""Method editions for the conditioning tests: 24 h in the room, 48 h at 23/50, nothing at all, two ways of it."""

from dataclasses import replace
from decimal import Decimal

from specimens.domain.offers import MethodOffer, PlanOffer
from tests.specimens.catalogue import GLOW_WIRE

ROOM = GLOW_WIRE
MATERIAL = replace(
    GLOW_WIRE,
    key="material@2021",
    title="Material test",
    short_title="Material",
    plans=(PlanOffer("", "", "23/50 class 2", Decimal(48), Decimal(4), use_within_enforced=True),),
)
NOTHING = replace(
    GLOW_WIRE,
    key="nothing@2021",
    plans=(PlanOffer("", "", None, Decimal(0)),),
)
BARS = replace(
    GLOW_WIRE,
    key="bars@2021",
    title="Bars in two sets",
    short_title="Bars",
    specimens_needed=10,
    plans=(
        PlanOffer("room", "From the room", "23/50 class 2", Decimal(48), Decimal(1), use_within_enforced=True),
        PlanOffer(
            "oven", "From the oven", "desiccator", Decimal(4), Decimal("0.5"), use_within_enforced=True,
            earlier_atmosphere_key="oven 70", earlier_hours=Decimal(168),
        ),
    ),
)  # fmt: skip
"""Hours and windows as the vertical small-flame test has them, IEC 60695-11-10 (figures from memory)."""


def catalogue() -> dict[str, MethodOffer]:
    """What settings.METHOD_CATALOGUE names in these tests."""
    return {offer.key: offer for offer in (ROOM, MATERIAL, NOTHING, BARS)}

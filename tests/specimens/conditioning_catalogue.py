"""Method editions for the conditioning tests: 24 h in the room, 48 h at 23/50, nothing at all; figures chosen here."""

from dataclasses import replace
from decimal import Decimal

from specimens.domain.offers import MethodOffer
from tests.specimens.catalogue import GLOW_WIRE

ROOM = GLOW_WIRE
MATERIAL = replace(
    GLOW_WIRE,
    key="material@2021",
    title="Material test",
    short_title="Material",
    atmosphere_key="23/50 class 2",
    conditioning_hours=Decimal(48),
    use_within_hours=Decimal(4),
    use_within_enforced=True,
)
NOTHING = replace(
    GLOW_WIRE,
    key="nothing@2021",
    atmosphere_key=None,
    conditioning_hours=Decimal(0),
    use_within_hours=None,
)


def catalogue() -> dict[str, MethodOffer]:
    """What settings.METHOD_CATALOGUE names in these tests."""
    return {offer.key: offer for offer in (ROOM, MATERIAL, NOTHING)}

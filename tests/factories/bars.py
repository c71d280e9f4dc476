"""Ten bars of one line with an oven, a desiccator and a conditioned room, each with its recorder."""

from datetime import datetime

from labsite.ledger.models import User
from specimens.actions.climate import attach_climate_record
from specimens.actions.conditioning import start_conditioning, take_out
from specimens.domain.conditioning_state import ConditioningState
from specimens.models import Specimen, Stay
from specimens.queries.conditioning import specimen_conditioning
from tests.factories.conditioning import MINUTE, chamber, hygrometer, recorder_csv, set_of_specimens
from tests.factories.ledger import PlaceFactory
from tests.factories.specimens import OrderLineFactory

AIR = {"oven 70": (70.0, 5.0), "desiccator": (23.0, 10.0), "23/50 class 2": (23.0, 50.0)}


class Bars:
    """The bars; `inside` puts some in for a time, with the climate record of that time."""

    def __init__(self, by: User, method_key: str = "bars@2021") -> None:
        self.by, self.line = by, OrderLineFactory.create(method_key=method_key)
        self.bars, self.shelf = set_of_specimens(10, line=self.line), PlaceFactory.create()
        keys = ("oven 70", "desiccator", "23/50 class 2")
        self.places = {key: (chamber(f"BAR-{n}"), hygrometer(f"HY-BAR-{n}")) for n, key in enumerate(keys)}

    def inside(
        self,
        bars: list[Specimen],
        atmosphere_key: str,
        from_at: datetime,
        until_at: datetime,
        *,
        recorded_until: datetime | None = None,
        out: bool = True,
    ) -> Stay:
        """Put bars in, bring the record in a minute after the end, take them out at the end unless told not to."""
        place, recorder = self.places[atmosphere_key]
        stay = start_conditioning(
            by=self.by,
            at=from_at,
            order_line=self.line,
            specimens=bars,
            chamber=place,
            atmosphere_key=atmosphere_key,
            recorder=recorder,
        )
        content = recorder_csv(from_at, recorded_until or until_at, air=lambda at: AIR[atmosphere_key])
        attach_climate_record(
            by=self.by, at=until_at + MINUTE, chamber=place, recorder=recorder, name="record.csv", content=content
        )
        if out:
            take_out(by=self.by, at=until_at, stay=stay, specimens=bars, place=self.shelf)
        return stay

    def state(self, at: datetime, number: int) -> ConditioningState:
        """How one of the bars is conditioned."""
        key = self.bars[number].pk
        return specimen_conditioning([key], at)[key]

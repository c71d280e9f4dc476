"""The copper block that confirms a test flame: what the bench asks of it and which instruments it needs."""

from decimal import Decimal

from trials.domain.criteria import Certainty
from trials.domain.statements import InstrumentNeed, SetupField

D = Decimal


def block_fields(runs: str) -> tuple[SetupField, ...]:
    """Return the set-up fields of three runs and of the block itself; `runs` says which runs count.

    The parameters are `confirm_s`, `block_mm` and `block_g`.
    """
    return (
        *(SetupField(f"confirm_{number}_s", f"Copper block, run {number}", "number", "s", D("0.1"), required=True,
                     parameter="confirm_s", instrument_role="timer", stays_with_rig=True, offered_from="flame check",
                     prompt=f"100 to 700 °C; {runs}") for number in (1, 2, 3)),
        SetupField("block_mm", "Copper block, diameter", "number", "mm", D("0.01"), required=True,
                   parameter="block_mm", stays_with_rig=True),
        SetupField("block_g", "Copper block, mass before drilling", "number", "g", D("0.001"), required=True,
                   parameter="block_g", instrument_role="balance", stays_with_rig=True),
    )  # fmt: skip


def block_instruments(source: str, certainty: Certainty, practice: str) -> tuple[InstrumentNeed, ...]:
    """Return the instruments of the block, none of which the trial itself needs."""
    return (
        InstrumentNeed("thermocouple", "thermocouple", "type K, sheathed, 0.5 mm, in the copper block", source,
                       certainty, required=False),
        InstrumentNeed("indicator", "indicator", "reads the copper block", source, certainty, required=False),
        InstrumentNeed("balance", "balance", "reads 0.001 g", practice, "common practice", required=False),
    )  # fmt: skip

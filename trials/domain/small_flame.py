"""The 50 W test flame of IEC 60695-11-4 and the bars of -11-10: figures, what the bench asks, and what must hold."""

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal

from trials.domain.criteria import Criterion, digits
from trials.domain.flame_confirmation import block_fields, block_instruments
from trials.domain.methods.base import MethodEdition
from trials.domain.nominal_thickness import nominal_criterion, thicknesses
from trials.domain.records import TrialRecord
from trials.domain.setup_criteria import stated_criteria
from trials.domain.statements import InstrumentNeed, Parameter, SetupField
from trials.domain.timeline import Timeline

D = Decimal
CONFIRM = "default, to be confirmed by the laboratory"
MEMORY = "IEC 60695-11-10, from general knowledge"
FLAME_MEMORY = "IEC 60695-11-4, 50 W flame, from general knowledge"
TWO_LABORATORIES = "public pages of two test laboratories on the 50 W flame tests"
ABSTRACT_2013 = "public abstract of IEC 60695-11-10:2013"
UL_2013 = "UL 94:2013, public excerpt"
UL_2016 = "UL 94:2016, clause 8.3, public excerpt"
HOUSE = "reading of the published rule"
PRACTICE = "practice of test laboratories"

PARAMETERS: tuple[Parameter, ...] = (
    Parameter("burner_bore_mm", "Burner, bore", D("9.5"), "mm", tolerance=D("0.3"),
              source=FLAME_MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("gas_percent", "Purity of the methane", None, "%", low=D(98),
              source=FLAME_MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("gas_ml_min", "Gas flow", D(105), "ml/min", tolerance=D(5),
              source=f"105 ml/min: a test laboratory's public page; tolerance: {FLAME_MEMORY}",
              certainty="from memory", note=CONFIRM),
    Parameter("back_pressure_mm", "Back pressure, below 10 mm of water", None, "mm", high=D("9.9"),
              source=FLAME_MEMORY, certainty="from memory", note=f"read to 0.1 mm; {CONFIRM}"),
    Parameter("flame_height_mm", "Height of the flame", D(20), "mm", tolerance=D(1),
              source=f"20 mm: a test laboratory's public page; tolerance: {FLAME_MEMORY}", certainty="from memory",
              note=f"blue, burner upright; {CONFIRM}"),
    Parameter("confirmed_current", "Flame confirmed since the gas was changed", True, source=PRACTICE, note=CONFIRM),
    Parameter("confirm_s", "Copper block from start to end temperature in", D(44), "s", tolerance=D(2),
              source=FLAME_MEMORY, certainty="from memory", note=f"three runs; {CONFIRM}"),
    Parameter("confirm_from_c", "Copper block, start temperature", D(100), "°C", tolerance=D(5),
              source=FLAME_MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("confirm_to_c", "Copper block, end temperature", D(700), "°C", tolerance=D(3),
              source=FLAME_MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("block_mm", "Copper block, diameter", D("5.50"), "mm", tolerance=D("0.01"),
              source=FLAME_MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("block_g", "Copper block, mass before drilling", D("1.76"), "g", tolerance=D("0.01"),
              source=FLAME_MEMORY, certainty="from memory",
              note=f"not the block of 10.00 g, which belongs to the 500 W flame; {CONFIRM}"),
    Parameter("chamber_m3", "Inside volume of the chamber", None, "m³", low=D("0.5"),
              source=MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("hood_off", "Hood off and chamber free of draught", True, source=MEMORY, certainty="from memory",
              note=CONFIRM),
    Parameter("bar_length_mm", "Bar, length", D(125), "mm", tolerance=D(5),
              source=f"125 mm: {TWO_LABORATORIES}; tolerance: {MEMORY}", certainty="from memory", note=CONFIRM),
    Parameter("bar_width_mm", "Bar, width", D("13.0"), "mm", tolerance=D("0.5"),
              source=f"13 mm: {TWO_LABORATORIES}; tolerance: {MEMORY}", certainty="from memory", note=CONFIRM),
    Parameter("thickness_mm", "Bar, thickness", None, "mm", high=D(13), source=TWO_LABORATORIES,
              certainty="published"),
    Parameter("thickness_off_mm", "Thickness measured, off the nominal one by", None, "mm", high=D("0.2"),
              source=PRACTICE, note=f"further off, one of both is wrong: not judged; {CONFIRM}"),
    Parameter("edge_radius_mm", "Bar, radius of the edges", None, "mm", high=D("1.3"), source=UL_2016,
              certainty="published"),
    Parameter("solid_material", "Apparent density above 250 kg/m³", True, source=ABSTRACT_2013,
              certainty="published", note="lighter foamed material: ISO 9772"),
    Parameter("conditioning_h", "Conditioned for", None, "h", low=D(48), source=TWO_LABORATORIES,
              certainty="published"),
    Parameter("use_within_h", "From conditioning to the flame", None, "h", high=D(1), source=MEMORY,
              certainty="from memory", note=f"a gate; {CONFIRM}"),
    Parameter("failing_extra", "A bar beyond those asked for that fails", "holds the line", source=HOUSE,
              choices=("holds the line", "is listed only"), note=f"it never changes the result by itself; {CONFIRM}"),
)  # fmt: skip

SETUP_FIELDS: tuple[SetupField, ...] = (
    SetupField("flame_height_mm", "Flame height", "number", "mm", D("0.5"), required=True, parameter="flame_height_mm",
               instrument_role="length gauge", digit="1", prompt="blue, burner upright, away from the bar",
               of_apparatus=True),
    SetupField("confirmed_current", "Flame confirmed since the gas was changed", "yes-no", required=True,
               parameter="confirmed_current", digit="2", prompt="after every change of gas supply"),
    SetupField("thickness_mm", "Thickness measured", "number", "mm", D("0.01"), required=True,
               parameter="thickness_mm", instrument_role="length gauge", digit="3"),
    SetupField("nominal_mm", "Nominal thickness", "number", "mm", D("0.1"), required=True,
               offered_from="item thickness", prompt="as the class is written, for instance 3.0"),
    SetupField("hood_off", "Hood off, no draught", "yes-no", required=True, parameter="hood_off", digit="6",
               prompt="back on after the trial"),
    SetupField("bar_length_mm", "Bar length", "number", "mm", D(1), required=True, parameter="bar_length_mm",
               instrument_role="length gauge"),
    SetupField("bar_width_mm", "Bar width", "number", "mm", D("0.1"), required=True, parameter="bar_width_mm",
               instrument_role="length gauge"),
    SetupField("edge_radius_mm", "Radius of the edges", "number", "mm", D("0.1"), parameter="edge_radius_mm",
               instrument_role="length gauge", prompt="edges smooth, no burrs"),
    SetupField("solid_material", "Above 250 kg/m³", "yes-no", required=True, parameter="solid_material",
               stays_with_rig=True, prompt="no light foam", of_apparatus=False),
    SetupField("chamber_m3", "Chamber volume", "number", "m³", D("0.01"), required=True, parameter="chamber_m3",
               stays_with_rig=True),
    SetupField("gas_percent", "Purity of the methane", "number", "%", D("0.1"), required=True, parameter="gas_percent",
               stays_with_rig=True, prompt="as on the cylinder's label"),
    SetupField("gas_ml_min", "Gas flow", "number", "ml/min", D(1), required=True, parameter="gas_ml_min",
               stays_with_rig=True),
    SetupField("back_pressure_mm", "Back pressure, mm of water", "number", "mm", D("0.1"), required=True,
               parameter="back_pressure_mm", stays_with_rig=True),
    SetupField("burner_bore_mm", "Burner bore", "number", "mm", D("0.1"), required=True, parameter="burner_bore_mm",
               instrument_role="length gauge", stays_with_rig=True),
    *block_fields("all three inside"),
)  # fmt: skip

INSTRUMENTS: tuple[InstrumentNeed, ...] = (
    InstrumentNeed("timer", "timer", "reads 0.1 s", PRACTICE, "common practice"),
    InstrumentNeed("length gauge", "length gauge", "reads 0.01 mm on the bar", PRACTICE, "common practice"),
    *block_instruments(FLAME_MEMORY, "from memory", PRACTICE),
)  # fmt: skip

CAUTIONS: tuple[str, ...] = (
    "Methane burns and explodes in air: check hose and valve for leaks, shut the valve after the trial, ventilate.",
    "Open flame: nothing flammable near it. Burning drips run and fly; gloves and eye protection on.",
    "Smoke may be toxic and corrosive. Hood on after the trial; wait until the chamber has cleared.",
    "Extinguisher and fire blanket within reach. Never alone.",
    "The laboratory's risk assessment, local codes and licensed practice come first.",
)


def start_criteria(edition: MethodEdition, record: TrialRecord) -> tuple[Criterion, ...]:
    """Return what must hold before the flame is put on: burner, gas, confirmed flame, bar, conditioning, instruments.

    A measured thickness too far off the nominal one leaves the trial unjudged until one of both is corrected.
    """
    return (*stated_criteria(edition, record), *_thickness_criteria(edition, record))


def burner_out_criteria(seen: Timeline, applications: Iterable[tuple[str, str]]) -> tuple[Criterion, ...]:
    """Return a broken criterion when the burner's flame was lost while it was applied: the bar is replaced.

    `applications` are the kinds of rows that begin and end each application; one without an end goes on.
    """
    if seen.moment("burner_out") is None:
        return ()
    for begun, ended in applications:
        start_s, end_s = seen.moment(begun), seen.moment(ended)
        for kind, out_s, _ in seen.findings:
            if kind != "burner_out" or out_s is None or start_s is None or out_s < start_s:
                continue
            if end_s is None or out_s <= end_s:
                at = f"{digits(out_s)} s"
                reason = f"the burner's flame was lost at {at}, while it was applied: the bar is replaced"
                return (Criterion("burner_out", "The burner stays lit", f"lost at {at}", "lit while it is applied",
                                  False, reason, MEMORY, "from memory"),)  # fmt: skip
    return ()


def taken_over(parameters: Iterable[Parameter], edition: str) -> tuple[Parameter, ...]:
    """Return the figures of one edition for another whose text was not seen: all of them wait for confirmation."""
    return tuple(
        replace(
            one,
            source=f"taken over from the {edition} edition ({one.source})",
            certainty="common practice",
            note=one.note if CONFIRM in one.note else "; ".join(filter(None, (one.note, CONFIRM))),
        )
        for one in parameters
    )


def _thickness_criteria(edition: MethodEdition, record: TrialRecord) -> tuple[Criterion, ...]:
    known = thicknesses(record)
    if known is None:
        return ()
    return (nominal_criterion("thickness_off", "the bar", *known, edition.parameter("thickness_off_mm")),)

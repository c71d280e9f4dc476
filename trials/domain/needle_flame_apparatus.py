"""Needle-flame apparatus of IEC 60695-11-5: burner, layer and flame confirmation, and what the bench asks of them."""

from decimal import Decimal

from trials.domain.criteria import NOT_RECORDED, Criterion, mid_sentence
from trials.domain.flame_confirmation import block_fields, block_instruments
from trials.domain.methods.base import MethodEdition
from trials.domain.records import TrialRecord
from trials.domain.setup_criteria import stated_criteria
from trials.domain.statements import InstrumentNeed, Parameter, SetupField

D = Decimal
CONFIRM = "default, to be confirmed by the laboratory"
FROM_MEMORY = "IEC 60695-11-5, from general knowledge"
NOTES = "public notes on the needle-flame test"
TEXT_2016 = "JIS C 60695-11-5:2018 (IEC 60695-11-5:2016), public text"
PRACTICE = "practice of test laboratories"

BELOW = "specimen above the layer"
STANDING = "equipment stands on the layer"
WALL = "wall equipment above the layer"

PARAMETERS: tuple[Parameter, ...] = (
    Parameter("burner_bore_mm", "Burner, bore", D("0.5"), "mm", tolerance=D("0.1"),
              source=FROM_MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("burner_outer_mm", "Burner, outer diameter", None, "mm", high=D("0.9"),
              source=FROM_MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("burner_length_mm", "Burner, length", None, "mm", low=D(35),
              source=FROM_MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("gas_percent", "Purity of the gas", None, "%", low=D(95),
              source=FROM_MEMORY, certainty="from memory", note=f"butane or propane, no air mixed in; {CONFIRM}"),
    Parameter("flame_height_mm", "Height of the flame, burner upright", D(12), "mm", tolerance=D(1),
              source=f"{NOTES}; tolerance from general knowledge", certainty="from memory", note=CONFIRM),
    Parameter("confirm_s", "Copper block from start to end temperature in", D("23.5"), "s", tolerance=D("1.0"),
              source=TEXT_2016, certainty="published",
              note="three runs, the first on a new block discarded (from general knowledge)"),
    Parameter("confirm_from_c", "Copper block, start temperature", D(100), "°C", tolerance=D(5),
              source=TEXT_2016, certainty="published"),
    Parameter("confirm_to_c", "Copper block, end temperature", D(700), "°C", tolerance=D(3),
              source=TEXT_2016, certainty="published"),
    Parameter("block_mm", "Copper block, diameter", D("4.00"), "mm", tolerance=D("0.01"),
              source=TEXT_2016, certainty="published"),
    Parameter("block_g", "Copper block, mass before drilling", D("0.58"), "g", tolerance=D("0.01"),
              source=TEXT_2016, certainty="published"),
    Parameter("confirmed_current", "Flame confirmed since the last change of gas", True,
              source=TEXT_2016, certainty="published"),
    Parameter("layer_distance_mm", "Flame to layer", D(200), "mm", tolerance=D(5), source=NOTES, certainty="published"),
    Parameter("layer_margin_mm", "Layer round equipment that stands on it", None, "mm", low=D(100),
              source=NOTES, certainty="published"),
    Parameter("tissue_g_m2", "Wrapping tissue", None, "g/m²", low=D(12), high=D(30),
              source=TEXT_2016, certainty="published"),
    Parameter("board_mm", "Wooden board under the tissue", None, "mm", low=D(10), source=NOTES, certainty="published"),
    Parameter("new_layer", "New tissue for this specimen", True, source=PRACTICE, note=CONFIRM),
    Parameter("chamber_m3", "Inside volume of the chamber", None, "m³", low=D("0.5"),
              source=FROM_MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("light_lx", "Light at the specimen", None, "lx", high=D(20),
              source=FROM_MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("hood_off", "Hood off and chamber free of draught", True,
              source=FROM_MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("corner_mm", "Place of the flame from a corner", None, "mm", low=D(10),
              source="IEC 60335-1 annex E as quoted in public", certainty="published",
              note="where it can be; warns only"),
    Parameter("cut_edge_allowed", "The flame may be put to a cut edge", False, source=NOTES, certainty="published",
              note=f"warns only; IEC 60335-1 annex E aims at the edge of a printed board; {CONFIRM}"),
)  # fmt: skip

DISTANCE_ASKED = ("layer_distance_mm", "layer_margin_mm")
"""Which distance is asked of the layer: the first, and the other one where the equipment stands on it."""

PLACES = ("surface", "edge as made", "cut edge", "lower edge", "other place")

SETUP_FIELDS: tuple[SetupField, ...] = (
    SetupField("flame_height_mm", "Flame height", "number", "mm", D("0.5"), required=True, parameter="flame_height_mm",
               instrument_role="length gauge", digit="1", prompt="burner upright, away from the specimen",
               of_apparatus=True),
    SetupField("confirmed_current", "Flame confirmed since the gas was changed", "yes-no", required=True,
               parameter="confirmed_current", digit="2", prompt="after every change of gas supply"),
    SetupField("new_layer", "New tissue under this specimen", "yes-no", required=True, parameter="new_layer",
               digit="3", prompt="flat, in close contact with the board"),
    SetupField("hood_off", "Hood off, no draught", "yes-no", required=True, parameter="hood_off", digit="4",
               prompt="back on after the trial"),
    SetupField("place", "Where the flame is put", "choice", required=True, choices=PLACES, digit="5",
               prompt="where a fault would put a flame; name the edge"),
    SetupField("place_text", "Place in words", "text", prompt="so that somebody else finds it again"),
    SetupField("corner_mm", "Distance from the nearest corner", "number", "mm", D(1), enforced=False,
               parameter="corner_mm", instrument_role="length gauge"),
    SetupField("position", "Position of the specimen", "text", prompt="as in use, the least favourable one"),
    SetupField("burner_angle", "Burner", "choice", choices=("upright", "tilted by 45°"),
               prompt="tilt it so that drips miss it; it may be moved to follow the material"),
    SetupField("light_lx", "Light at the specimen", "number", "lx", D(1), required=True, parameter="light_lx",
               stays_with_rig=True, digit="6"),
    SetupField("arrangement", "Layer", "choice", required=True, choices=(BELOW, STANDING, WALL), stays_with_rig=True),
    SetupField("layer_distance_mm", "Flame to layer", "number", "mm", D(1),
               parameter="layer_distance_mm", instrument_role="length gauge", stays_with_rig=True,
               prompt="needed unless the equipment stands on the layer"),
    SetupField("layer_margin_mm", "Layer round the equipment", "number", "mm", D(1), parameter="layer_margin_mm",
               instrument_role="length gauge", prompt="needed where it stands on the layer"),
    SetupField("tissue_g_m2", "Tissue", "number", "g/m²", D("0.1"), required=True, parameter="tissue_g_m2",
               stays_with_rig=True, prompt="as on the lot's label", of_apparatus=False),
    SetupField("board_mm", "Board thickness", "number", "mm", D("0.1"), required=True, parameter="board_mm",
               instrument_role="length gauge", stays_with_rig=True),
    SetupField("chamber_m3", "Chamber volume", "number", "m³", D("0.01"), required=True, parameter="chamber_m3",
               stays_with_rig=True),
    SetupField("gas", "Gas", "choice", required=True, choices=("butane", "propane"), stays_with_rig=True),
    SetupField("gas_percent", "Purity of the gas", "number", "%", D("0.1"), required=True, parameter="gas_percent",
               stays_with_rig=True, prompt="as on the cylinder's label"),
    SetupField("burner_bore_mm", "Burner bore", "number", "mm", D("0.01"), required=True, parameter="burner_bore_mm",
               stays_with_rig=True),
    SetupField("burner_outer_mm", "Burner outer diameter", "number", "mm", D("0.01"), required=True,
               parameter="burner_outer_mm", instrument_role="length gauge", stays_with_rig=True),
    SetupField("burner_length_mm", "Burner length", "number", "mm", D(1), required=True, parameter="burner_length_mm",
               instrument_role="length gauge", stays_with_rig=True),
    *block_fields("the first run on a new block is discarded"),
)  # fmt: skip

INSTRUMENTS: tuple[InstrumentNeed, ...] = (
    InstrumentNeed("timer", "timer", "within 0.5 s, reads 0.1 s", TEXT_2016, "published"),
    InstrumentNeed("length gauge", "length gauge", "reads 0.5 mm", PRACTICE, "common practice"),
    *block_instruments(TEXT_2016, "published", PRACTICE),
)  # fmt: skip

CAUTIONS: tuple[str, ...] = (
    "Butane and propane are heavier than air: check for leaks, shut the valve after the trial, ventilate.",
    "Open flame: nothing flammable near it. Burning drips go through the air; gloves and eye protection on.",
    "Smoke may be toxic and corrosive. Hood on after the trial; wait until the chamber has cleared.",
    "Extinguisher and fire blanket within reach. Never alone.",
    "The laboratory's risk assessment, local codes and licensed practice come first.",
)


def start_criteria(edition: MethodEdition, record: TrialRecord) -> tuple[Criterion, ...]:
    """Return what must hold before the flame is put on: burner, gas, confirmed flame, layer, conditioning, instruments.

    Equipment that stands on the layer has no distance to it; the margin of the layer round it is asked instead.
    """
    standing = record.setup.get("arrangement") == STANDING
    asked, left_out = DISTANCE_ASKED[::-1] if standing else DISTANCE_ASKED
    found = [criterion for criterion in stated_criteria(edition, record) if criterion.key != left_out]
    if record.setup.get(asked) is None:
        found = [_unknown_distance(edition, asked) if criterion.key == asked else criterion for criterion in found]
    return tuple(found)


def place_warnings(edition: MethodEdition, record: TrialRecord) -> tuple[str, ...]:
    """Return what is to be said about the place of the flame."""
    if record.setup.get("place") == "cut edge" and edition.parameter("cut_edge_allowed").value is not True:
        return ("The flame was put to a cut edge; the method keeps away from cut edges where it can.",)
    return ()


def _unknown_distance(edition: MethodEdition, key: str) -> Criterion:
    parameter = edition.parameter(key)
    return Criterion(key, parameter.title, NOT_RECORDED, parameter.limit_text, None,
                     f"{mid_sentence(parameter.title)}: the distance is not recorded", parameter.source,
                     parameter.certainty)  # fmt: skip

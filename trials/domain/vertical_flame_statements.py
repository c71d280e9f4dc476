"""What the vertical small-flame test states: classes with their lines, set-up fields, observations, steps, figures."""

from decimal import Decimal

from trials.domain.criteria import Certainty
from trials.domain.flame_classes import CLASS_QUANTITIES, class_severities
from trials.domain.small_flame import CONFIRM, HOUSE, MEMORY, TWO_LABORATORIES, UL_2013
from trials.domain.statements import ConditioningNeed, ObservationKind, Parameter, QuantityKind, SetupField, Step
from trials.domain.vertical_bar import HALF_UP, ROUNDINGS

D = Decimal
ROOM, OVEN = "room", "oven"
SUPPLIERS = "public pages of four suppliers and laboratories on V-0, V-1 and V-2"
SECOND_SET = "a public page quoting the text of UL 94, clause 8.1"
FLAGGED, AT_ONCE = "a second set, flagged", "fails at once"


def _class(prefix: str, label: str, each: int, total: int, glow: int, cotton: bool) -> tuple[Parameter, ...]:
    glow_certainty: Certainty = "published" if prefix == "v0" else "from memory"
    return (
        Parameter(f"{prefix}_each_s", f"{label}: each t1 and each t2", None, "s", high=D(each), source=SUPPLIERS,
                  certainty="published"),
        Parameter(f"{prefix}_total_s", f"{label}: total of t1 + t2 over a set", None, "s", high=D(total),
                  source=SUPPLIERS, certainty="published"),
        Parameter(f"{prefix}_retest_total_s", f"{label}: a total up to this calls for a second set", None, "s",
                  high=D(total + 5), source=SECOND_SET, certainty="published",
                  note=f"from {total + 1} s on; the second set has no such window"),
        Parameter(f"{prefix}_glow_s", f"{label}: t2 + t3 of each bar", None, "s", high=D(glow),
                  source=SUPPLIERS if prefix == "v0" else MEMORY, certainty=glow_certainty,
                  note="" if prefix == "v0" else f"one public page says 30 s for V-1; {CONFIRM}"),
        Parameter(f"{prefix}_cotton", f"{label}: the cotton must not catch", cotton, source=SUPPLIERS,
                  certainty="published"),
    )  # fmt: skip


OWN_PARAMETERS: tuple[Parameter, ...] = (
    Parameter("application_s", "Each application of the flame", D(10), "s", tolerance=D("0.5"), source=UL_2013,
              certainty="published"),
    Parameter("tip_gap_mm", "Burner below the bar", D(10), "mm", tolerance=D(1), source=UL_2013,
              certainty="published"),
    Parameter("clamped", "Held by the upper 6 mm, bar upright", True, source=UL_2013, certainty="published"),
    Parameter("cotton_distance_mm", "Bar to cotton", D(300), "mm", tolerance=D(10), source=UL_2013,
              certainty="published"),
    Parameter("cotton_g", "Cotton, mass", None, "g", high=D("0.08"), source=UL_2013, certainty="published",
              note="50 mm × 50 mm"),
    Parameter("cotton_mm", "Cotton, thickness", None, "mm", high=D(6), source=UL_2013, certainty="published"),
    Parameter("new_cotton", "New cotton for this bar", True, source=HOUSE, note=CONFIRM),
    Parameter("cotton_dry_h", "Cotton in the desiccator for", None, "h", low=D(24), source=MEMORY,
              certainty="from memory", note=f"the 2013 edition brought it in; {CONFIRM}"),
    Parameter("cotton_out_min", "Cotton used after the desiccator within", None, "min", high=D(30), source=MEMORY,
              certainty="from memory", note=f"the 2013 edition brought it in; {CONFIRM}"),
    Parameter("second_prompt_s", "Second application after the flame is out within", None, "s", high=D(3),
              source=HOUSE, note=f"warns only; the text says at once; {CONFIRM}"),
    Parameter("oven_h", "Oven: at 70 °C for", D(168), "h", tolerance=D(2),
              source=f"168 h: {TWO_LABORATORIES}; tolerance: {MEMORY}", certainty="from memory",
              note=f"industrial laminates may have 24 h at 125 °C instead, not offered here; {CONFIRM}"),
    Parameter("desiccator_h", "Oven: then in the desiccator for", None, "h", low=D(4), source=TWO_LABORATORIES,
              certainty="published"),
    Parameter("desiccator_within_h", "Oven: from the desiccator to the flame", None, "h", high=D("0.5"),
              source=MEMORY, certainty="from memory", note=f"a gate; {CONFIRM}"),
    *_class("v0", "V-0", 10, 50, 30, cotton=True),
    *_class("v1", "V-1", 30, 250, 60, cotton=True),
    *_class("v2", "V-2", 30, 250, 60, cotton=False),
    Parameter("burned_to_clamp", "Bar must not burn to the clamp", True, source=(
              "a public page on V-0; in the 2013 edition by its abstract"), certainty="published",
              note="before the second application: t2 and t3 are not applied, and the bar is bad"),
    Parameter("watched", "Watched to the end", True, source=HOUSE, note=CONFIRM),
    Parameter("rounding", "Each of t1, t2, t3 is counted in", HALF_UP, certainty="published",
              source=f"nearest second: {UL_2013}; halves: {HOUSE}", choices=ROUNDINGS,
              note=f"times as timed are kept beside; totals are never rounded; {CONFIRM}"),
    Parameter("bars_per_set", "Bars in a set", D(5), source=TWO_LABORATORIES, certainty="published"),
    Parameter("specimens_needed", "Specimens: two sets, by the two ways of conditioning", D(10),
              source=TWO_LABORATORIES, certainty="published", note="a second set takes five more"),
    Parameter("both_in_window", "One bad bar and a total inside the window is", FLAGGED, source=HOUSE,
              choices=(FLAGGED, AT_ONCE), note=f"no text covers it; {CONFIRM}"),
)  # fmt: skip

OWN_FIELDS: tuple[SetupField, ...] = (
    SetupField("new_cotton", "New cotton under this bar", "yes-no", required=True, parameter="new_cotton", digit="4"),
    SetupField("tip_gap_mm", "Burner below the bar", "number", "mm", D(1), required=True, parameter="tip_gap_mm",
               instrument_role="length gauge", digit="5", prompt="kept as the bar moves or burns away"),
    SetupField("clamped", "Clamped by the upper 6 mm", "yes-no", required=True, parameter="clamped",
               prompt="long side upright"),
    SetupField("cotton_distance_mm", "Bar to cotton", "number", "mm", D(1), required=True,
               parameter="cotton_distance_mm", instrument_role="length gauge", stays_with_rig=True),
    SetupField("cotton_g", "Cotton, mass", "number", "g", D("0.01"), required=True, parameter="cotton_g",
               instrument_role="balance", stays_with_rig=True, prompt="50 mm × 50 mm", of_apparatus=False),
    SetupField("cotton_mm", "Cotton, thickness", "number", "mm", D("0.5"), required=True, parameter="cotton_mm",
               stays_with_rig=True, of_apparatus=False),
)  # fmt: skip

COTTON_FIELDS: tuple[SetupField, ...] = (
    SetupField("cotton_dry_h", "Cotton in the desiccator for", "number", "h", D(1), required=True,
               parameter="cotton_dry_h", stays_with_rig=True, of_apparatus=False),
    SetupField("cotton_out_min", "Cotton out of the desiccator for", "number", "min", D(1), required=True,
               parameter="cotton_out_min"),
)  # fmt: skip
"""What the edition of 2013 asks of the cotton besides."""

OBSERVATION_KINDS: tuple[ObservationKind, ...] = (
    ObservationKind("contact", "Flame on", "t0", repeats=False, digit="Enter"),
    ObservationKind("ignites", "Bar ignites", "ti", digit="1", prompt="the bar, not the burner"),
    ObservationKind("flame_out", "Flame out", "out", ends="ignites", digit="1", prompt="glow can still follow"),
    ObservationKind("drip", "Drip", "drip", digit="2"),
    ObservationKind("layer_catches", "Cotton catches", "cotton", digit="3"),
    ObservationKind("layer_out", "Cotton out", "cotton out", ends="layer_catches", digit="3"),
    ObservationKind("glow_starts", "Glow starts", "glow", digit="4",
                    prompt="touch it with cotton in tweezers: what lights it is flame"),
    ObservationKind("glow_ends", "Glow ends", "glow out", ends="glow_starts", digit="4"),
    ObservationKind("burned_to_clamp", "Burned to the clamp", "clamp", digit="5"),
    ObservationKind("shrank", "Shrank away", "shrank", digit="6", prompt="from the flame, without igniting"),
    ObservationKind("withdrawn", "Flame off", "off", repeats=False, digit="Enter"),
    ObservationKind("second_on", "Flame on again", "on 2", repeats=False, digit="Enter"),
    ObservationKind("second_off", "Flame off again", "off 2", repeats=False, digit="Enter"),
    ObservationKind("watch_ends", "Watch ends", "end", digit="Enter", prompt="nothing burns, glows or can still catch"),
    ObservationKind("put_out", "Put out by hand", "put out", digit="8"),
    ObservationKind("burner_out", "Burner blown out", "burner", digit="7", prompt="the bar is replaced"),
    ObservationKind("gas_out", "Burner put out by the bar's gas", "gas", digit="7", prompt="relight it at once"),
    ObservationKind("relit", "Burner lit again", "relit", digit="7", prompt="10 s of flame in all"),
    ObservationKind("tilted", "Burner tilted", "tilted", digit="7", prompt="by 45°, when it drips"),
    ObservationKind("note", "Something else", "note", "text", timed=False, when="both", digit="7"),
)  # fmt: skip

STEPS: tuple[Step, ...] = (
    Step("contact", "Put the flame on"),
    Step("withdrawn", "Take the flame away", due_s="application_s"),
    Step("second_on", "Put the flame on again", after="withdrawn", once_out=True, left_out_after=("burned_to_clamp",)),
    Step("second_off", "Take the flame away again", after="second_on", due_s="application_s"),
    Step("watch_ends", "End watching", after="second_off", once_out=True),
)

QUANTITIES: tuple[QuantityKind, ...] = (
    QuantityKind("nominal", "Nominal thickness", "", "mm"),
    QuantityKind("thickness", "Thickness", "d", "mm"),
    QuantityKind("t1", "Afterflame, first", "t1", "s", table=True),
    QuantityKind("t2", "Afterflame, second", "t2", "s", table=True),
    QuantityKind("t3", "Afterglow, second", "t3", "s", table=True),
    QuantityKind("glow", "Afterflame and afterglow", "t2 + t3", "s"),
    QuantityKind("t1_timed", "Afterflame, first, as timed", "t1", "s"),
    QuantityKind("t2_timed", "Afterflame, second, as timed", "t2", "s"),
    QuantityKind("t3_timed", "Afterglow, second, as timed", "t3", "s"),
    QuantityKind("cotton", "Cotton", "", "", table=True),
    QuantityKind("clamp", "Burned to the clamp", "", "", table=True),
    QuantityKind("drips", "Drips", "", ""),
    *CLASS_QUANTITIES,
)

SEVERITIES = class_severities((0, "V-0"), (1, "V-1"), (2, "V-2"))
PREFIXES = {D(0): "v0", D(1): "v1", D(2): "v2"}
"""How the keys of each class's parameters begin, by its level; best class first."""


def conditionings(room: str) -> tuple[ConditioningNeed, ...]:
    """Return the two ways of conditioning, `room` being the edition's atmosphere at 23 °C and 50 %."""
    return (
        ConditioningNeed(room, "conditioning_h", "use_within_h", enforced=True, use_within_enforced=True, key=ROOM,
                         title="From the room"),
        ConditioningNeed("desiccator", "desiccator_h", "desiccator_within_h", enforced=True, use_within_enforced=True,
                         key=OVEN, title="From the oven", earlier_atmosphere="oven 70", earlier_hours="oven_h"),
    )  # fmt: skip

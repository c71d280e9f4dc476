"""What the horizontal 50 W flame test states: its figures, questions, observations, classes and table."""

from decimal import Decimal

from trials.domain.decided_criteria import DECISION_PARAMETERS, uncertainty_parameter
from trials.domain.flame_classes import CLASS_QUANTITIES, class_severities
from trials.domain.horizontal_bar import AS_MEASURED, NOMINAL_CLASS
from trials.domain.small_flame import CONFIRM, HOUSE, MEMORY
from trials.domain.statements import ConditioningNeed, ObservationKind, Parameter, QuantityKind, SetupField, Step

D = Decimal
TEXT_2003 = "text of IEC 60695-11-10:2003 on classes as quoted in public"
TWO_PAGES = "two public pages on the horizontal burning test"
SUMMARY = "a public summary of the horizontal burning test"

HB40, HB75, HB = class_severities((40, "HB40"), (75, "HB75"), (0, "HB"))

OWN_PARAMETERS: tuple[Parameter, ...] = (
    Parameter("application_s", "Flame applied for", D(30), "s", tolerance=D(1),
              source=f"30 s: {TWO_PAGES}; tolerance: {MEMORY}", certainty="from memory",
              note=f"or until the front is at the first mark; {CONFIRM}"),
    Parameter("off_at_mark_s", "Flame taken away and front at the first mark, apart by", None, "s", high=D(1),
              source=HOUSE, note=CONFIRM),
    Parameter("first_mark_mm", "First mark", D(25), "mm", source=TWO_PAGES, certainty="published"),
    Parameter("second_mark_mm", "Second mark", D(100), "mm", source=TWO_PAGES, certainty="published"),
    Parameter("at_second_mark_passed", "A front exactly at the second mark has passed it", False, source=HOUSE,
              note=CONFIRM),
    Parameter("rate_slow_mm_min", "Burning rate: HB40, and HB from 3.0 mm", None, "mm/min", high=D(40),
              source=TEXT_2003, certainty="published"),
    Parameter("rate_fast_mm_min", "Burning rate: HB75, and HB below 3.0 mm", None, "mm/min", high=D(75),
              source=TEXT_2003, certainty="published"),
    Parameter("thickness_rule", "Thickness that decides on HB", NOMINAL_CLASS, source=HOUSE,
              choices=(NOMINAL_CLASS, AS_MEASURED), note=f"2.8 to 3.2 mm is a bar of 3.0 mm; {CONFIRM}"),
    Parameter("thick_class_from_mm", "Nominal class of 3.0 mm from", D("2.8"), "mm", source=TEXT_2003,
              certainty="published", note="3.0 mm, 0.2 mm more or less"),
    Parameter("thick_class_to_mm", "Nominal class of 3.0 mm up to", D("3.2"), "mm", source=TEXT_2003,
              certainty="published"),
    Parameter("thick_from_mm", "Lower rate from a measured thickness of", D("3.0"), "mm", source=TEXT_2003,
              certainty="published", note="where the thickness decides as measured"),
    Parameter("carries_down_to_mm", "HB at 3.0 mm within the lower rate holds down to", D("1.5"), "mm",
              source=TEXT_2003, certainty="published"),
    Parameter("bar_level", "Bar level, cross axis at 45°", True, source=MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("burner_right", "Burner at 45°, flame about 6 mm into the lower edge", True, source=MEMORY,
              certainty="from memory", note=CONFIRM),
    Parameter("gauze_mm", "Bar to wire gauze", D(10), "mm", tolerance=D(1), source=SUMMARY, certainty="published",
              note="20 mesh, 125 mm square"),
    Parameter("specimens_needed", "Bars in a set", D(3), source=MEMORY, certainty="from memory",
              note=f"a second set where only one of the three fails; {CONFIRM}"),
    *DECISION_PARAMETERS,
    uncertainty_parameter("u_rate_mm_min", "the burning rate", "mm/min"),
)  # fmt: skip

OWN_FIELDS: tuple[SetupField, ...] = (
    SetupField("bar_level", "Bar level, cross axis at 45°", "yes-no", required=True, parameter="bar_level", digit="4",
               prompt="marks at 25 and 100 mm drawn"),
    SetupField("gauze_mm", "Bar to gauze", "number", "mm", D(1), required=True, parameter="gauze_mm",
               instrument_role="length gauge", digit="5"),
    SetupField("burner_right", "Burner at 45°, 6 mm into the edge", "yes-no", required=True, parameter="burner_right"),
    SetupField("support", "Support under the bar", "choice", choices=("none", "support fixture"),
               prompt="for thin bars that sag"),
)  # fmt: skip

OBSERVATION_KINDS: tuple[ObservationKind, ...] = (
    ObservationKind("contact", "Flame on", "t0", repeats=False, digit="Enter"),
    ObservationKind("ignites", "Bar ignites", "ti", digit="1", prompt="the bar, not the burner"),
    ObservationKind("flame_out", "Flame out", "out", ends="ignites", digit="1"),
    ObservationKind("front_first", "Front at 25 mm", "25", repeats=False, digit="2", prompt="take the burner away"),
    ObservationKind("front_second", "Front passes 100 mm", "100", repeats=False, digit="3",
                    prompt="beyond the mark, not at it"),
    ObservationKind("drip", "Drip", "drip", digit="4"),
    ObservationKind("withdrawn", "Flame off", "off", repeats=False, digit="Enter"),
    ObservationKind("watch_ends", "Watch ends", "end", digit="Enter", prompt="nothing burns any more"),
    ObservationKind("put_out", "Put out by hand", "put out", digit="8", prompt="before 100 mm the bar is replaced"),
    ObservationKind("burner_out", "Burner went out", "burner", digit="7", prompt="the bar is replaced"),
    ObservationKind("damaged_length", "Damaged from the first mark", "L", "number", unit="mm", resolution=D(1),
                    timed=False, repeats=False, when="after", prompt="where the front stopped between the marks"),
    ObservationKind("note", "Something else", "note", "text", timed=False, when="both", digit="7"),
)  # fmt: skip

STEPS: tuple[Step, ...] = (
    Step("contact", "Put the flame on"),
    Step("withdrawn", "Take the flame away", due_s="application_s", at_once_after="front_first"),
    Step("watch_ends", "End watching", after="withdrawn", once_out=True),
)

QUANTITIES: tuple[QuantityKind, ...] = (
    QuantityKind("nominal", "Nominal thickness", "", "mm"),
    QuantityKind("thickness", "Thickness", "d", "mm", table=True),
    QuantityKind("application", "Flame applied", "t_a", "s"),
    QuantityKind("at_first", "Front at 25 mm", "", "s", table=True),
    QuantityKind("at_second", "Front passes 100 mm", "", "s", table=True),
    QuantityKind("length", "Burnt between the marks", "L", "mm", table=True),
    QuantityKind("burning", "Time for it", "t", "s"),
    QuantityKind("rate", "Burning rate", "v", "mm/min", table=True),
    *CLASS_QUANTITIES,
)


def conditioned(atmosphere: str) -> ConditioningNeed:
    """Return the one way of conditioning bars, in the atmosphere of the edition."""
    return ConditioningNeed(atmosphere, "conditioning_h", "use_within_h", enforced=True, use_within_enforced=True)

"""What the glow-wire test on end products states: its own figures, levels, set-up fields and observations."""

from decimal import Decimal

from trials.domain.flame_line import AFTER_WITHDRAWAL, FAILS, LONGEST, NEEDLE_FLAME, OFF, WHOLE
from trials.domain.glow_wire_apparatus import CONFIRM
from trials.domain.small_part import CIRCLES, SIZE_FIELDS, SMALL_PART_RULES
from trials.domain.statements import ObservationKind, Parameter, SetupField, Severity

D = Decimal
FROM_MEMORY = "IEC 60695-2-11, from general knowledge"
LAB_PAGE = "a test laboratory's public page on the end-product test"
ABSTRACT_2014 = "public abstract of IEC 60695-2-11:2014 with its change list"
SMALL_2014 = "JIS C 60695-2-11:2016 (IEC 60695-2-11:2014), public text"
CLAUSE_30_2_3_2 = "IEC 60335-1, 30.2.3.2, as quoted by engineers in public"
HOUSE = "reading of the published rule"

OWN_PARAMETERS: tuple[Parameter, ...] = (
    Parameter("burn_after_withdrawal_s", "Flames and glow end after withdrawal within", None, "s", high=D(30),
              source=f"{LAB_PAGE}; a trade journal", certainty="published", note="30 s exactly passes"),
    Parameter("limit_counts_from", "The limit counts from", "measured", source=HOUSE,
              choices=("measured", "nominal"), note=f"measured or nominal time in contact; {CONFIRM}"),
    Parameter("watch_after_withdrawal_s", "Watch goes on after withdrawal for", None, "s", low=D(30),
              source=FROM_MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("judge_glow", "Glow past the limit fails the specimen", True, source=HOUSE,
              note=f"also where there was no flame; {CONFIRM}"),
    Parameter("layer_must_not_catch", "The layer must not catch", True,
              source=f"{LAB_PAGE}; a trade journal", certainty="published",
              note="also where the specimen itself shows no flame"),
    Parameter("judge_consumed", "Specimen must not be consumed", True, source=FROM_MEMORY, certainty="from memory",
              note=f"from the 2014 edition on; without any flame or glow it is flagged, not judged; {CONFIRM}"),
    Parameter("judge_surroundings", "Surroundings that catch fire fail the specimen", True, source=FROM_MEMORY,
              certainty="from memory", note=f"judged when recorded; {CONFIRM}"),
    Parameter("judge_scorching", "Scorching of the board fails the specimen", False, source=HOUSE,
              note=f"on by the older text and where a product standard asks for it; {CONFIRM}"),
    Parameter("height_required", "Flame height must be recorded", False, source=ABSTRACT_2014,
              certainty="published", note="the 2014 edition took it out"),
    Parameter("height_step_mm", "Flame height is rounded up to the next", D(5), "mm",
              source="IEC 60695-2-11:2000, from general knowledge", certainty="from memory", note=CONFIRM),
    Parameter("height_flash_s", "Flame height ignores the flash of the first", D(1), "s",
              source="IEC 60695-2-11:2000, from general knowledge", certainty="from memory", note=CONFIRM),
    Parameter("conditioning_h", "Conditioned for", None, "h", low=D(24), source=LAB_PAGE, certainty="published"),
    Parameter("use_within_h", "From conditioning to contact", None, "h", high=D(4), source=FROM_MEMORY,
              certainty="from memory", note=f"shown, not enforced; {CONFIRM}"),
    Parameter("specimens_needed", "Specimens", D(1), source=FROM_MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("further_specimens", "Further specimens, all of which must pass", D(2), source=FROM_MEMORY,
              certainty="from memory", note=CONFIRM),
    Parameter("further_rule", "Further specimens are tested", "in doubt", source=FROM_MEMORY,
              certainty="from memory", choices=("in doubt", "after a fail", "none"),
              note=f"a doubt is recorded before the verdict and never covers a plain fail; {CONFIRM}"),
    Parameter("failing_extra", "A specimen beyond those asked for that fails", "holds the line", source=HOUSE,
              choices=("holds the line", "is listed only"), note=f"it never changes the result by itself; {CONFIRM}"),
    Parameter("several_ordered", "When more specimens are ordered", "all must pass", source=HOUSE,
              choices=("all must pass", "first decides"), note=CONFIRM),
    Parameter("flame_line", "A flame longer than the line", OFF, source=CLAUSE_30_2_3_2, certainty="published",
              choices=(OFF, NEEDLE_FLAME, FAILS), note=f"only where a product standard draws the line; {CONFIRM}"),
    Parameter("flame_line_s", "The line on the length of a flame", None, "s", high=D(2), source=CLAUSE_30_2_3_2,
              certainty="published", note="2 s exactly is inside"),
    Parameter("flame_line_measure", "Length that is held against the line", LONGEST, source=HOUSE,
              choices=(LONGEST, WHOLE, AFTER_WITHDRAWAL), note=f"engineers read the clause in three ways; {CONFIRM}"),
    Parameter("flame_line_cylinder_mm", "Parts above: width of the cylinder", D(20), "mm", source=CLAUSE_30_2_3_2,
              certainty="published"),
    Parameter("flame_line_height_mm", "Parts above: height of the cylinder", D(50), "mm", source=CLAUSE_30_2_3_2,
              certainty="published"),
    Parameter("small_part_rule", "Small parts, to which the test does not apply", CIRCLES, source=SMALL_2014,
              certainty="published", choices=SMALL_PART_RULES,
              note=f"the product standard may state another rule; a warning, never a verdict; {CONFIRM}"),
    Parameter("small_part_instead", "What a small part is tested by instead",
              "what the product standard says", source=FROM_MEMORY, certainty="from memory", note=CONFIRM),
)  # fmt: skip

SEVERITIES = tuple(
    Severity(D(level), "°C", "standard" if level in (550, 650, 750, 850, 960) else "by product standard")
    for level in (500, 550, 600, 650, 700, 750, 800, 850, 900, 960)
)

OWN_FIELDS: tuple[SetupField, ...] = (
    SetupField("specimen_form", "What is tested", "choice",
               choices=("complete product", "part cut out", "part taken off", "plate of the material")),
    SetupField("point", "Where the tip is applied", "text",
               prompt="thinnest place, 15 mm from the upper edge if it can be"),
    SetupField("position", "Position of the specimen", "text",
               prompt="as in use; tested surface upright, tip square to it"),
    *SIZE_FIELDS,
)  # fmt: skip

FLAME = ("bright", "colourless", "corona")

OBSERVATION_KINDS: tuple[ObservationKind, ...] = (
    ObservationKind("contact", "Contact", "t0", repeats=False, digit="Enter"),
    ObservationKind("ignites", "Ignites", "ti", "choice", value_optional=True, choices=FLAME, digit="1",
                    prompt="bright flame; say so when it is colourless, or a corona round the tip"),
    ObservationKind("flame_out", "Flame out", "te", "choice", value_optional=True, choices=FLAME, ends="ignites",
                    digit="1", prompt="glow can still follow"),
    ObservationKind("drip", "Drip", "drip", digit="2"),
    ObservationKind("layer_catches", "Layer catches", "layer", digit="3"),
    ObservationKind("layer_out", "Layer out", "layer out", ends="layer_catches", digit="3"),
    ObservationKind("flame_height", "Flame height", "h", "number", unit="mm", resolution=D(5), when="both", digit="4"),
    ObservationKind("glow_starts", "Glow starts", "glow", digit="5"),
    ObservationKind("glow_ends", "Glow ends", "glow out", ends="glow_starts", digit="5"),
    ObservationKind("wire_through", "Wire went through", "through", digit="6"),
    ObservationKind("withdrawn", "Withdrawn", "ta", repeats=False, digit="Enter"),
    ObservationKind("watch_ends", "Watch ends", "end", digit="Enter", prompt="nothing burns, glows or can still catch"),
    ObservationKind("put_out", "Put out by hand", "put out", digit="8"),
    ObservationKind("carried_off", "Flame left with the wire", "carried", digit="7"),
    ObservationKind("surroundings_catch", "Surroundings catch fire", "around", digit="7"),
    ObservationKind("other_part_ignites", "Other part ignites by other heat", "other", digit="7",
                    prompt="not from the glow wire; spoils the trial"),
    ObservationKind("consumed", "Specimen consumed", "consumed", "yes-no", timed=False, repeats=False, when="after",
                    prompt="yes only if nothing is left"),
    ObservationKind("board_scorched", "Board scorched", "board", "yes-no", timed=False, repeats=False, when="after"),
    ObservationKind("note", "Something else", "note", "text", timed=False, when="both", digit="7"),
)  # fmt: skip

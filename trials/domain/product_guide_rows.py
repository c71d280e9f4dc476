"""All rows of the product-standard guide: appliances, luminaires, accessories, switchgear, controls, electronics."""

from typing import Final

from trials.domain import product_guide_appliances as appliances
from trials.domain.material_evidence import EvidenceAsked
from trials.domain.product_guide import GuideRow, StatedChanges
from trials.domain.product_guide_appliances import BALL, END_PRODUCT, NEEDLE
from trials.domain.small_part import SQUARE

VERTICAL = "vertical-flame"
DECISION_593 = "decision 593 of testing laboratories on parts near contacts, public copy"
QUOTED_598 = "IEC 60598-1, 13.2 and 13.3, as quoted in public"
LAB_439 = "a test laboratory's public page on assemblies"
LISTING = "a maker's public listing of its products' levels"
COLD_DIP: StatedChanges = {"oven_tolerance_k": {"value": "5"}, "cooling_scheme": {"value": "cold water for 10 s"}}
NO_SCORCH: StatedChanges = {"judge_scorching": {"value": True}}
CONFIRM_CLAUSE = "The laboratory compares the clause with its own copy."


def _memory(standard: str) -> str:
    return f"{standard}, from general knowledge"


LUMINAIRES: tuple[GuideRow, ...] = (
    GuideRow("60598-1-13.3-shock", "IEC 60598-1", "13.3.2", "insulating parts that protect against electric shock",
             END_PRODUCT, "650", f"{QUOTED_598}; a luminaire maker's page", "published",
             condition="not keeping live parts in position; also parts that hold SELV",
             note="Covers and shades without an insulating function may fail and still be accepted: 30 mm or more from "
             "heated parts, or behind a screen 3 mm or more from them that passes the needle flame."),
    GuideRow("60598-1-13.3-live", "IEC 60598-1", "13.3.1", "insulating parts that keep live parts in position", NEEDLE,
             "10", "public notes on the needle-flame test; the limit from general knowledge", "from memory",
             changes={"limit_inclusive": {"value": True}}, note="Burning for exactly 30 s is allowed."),
    GuideRow("60598-1-13.2-external", "IEC 60598-1", "13.2.1", "external insulating parts", BALL, "75", QUOTED_598,
             "published", condition="75 °C, or the temperature in operation plus 25 °C if that is more",
             changes=COLD_DIP, note="Oven ± 5 °C. The quoted text, of an edition not named, cools in cold water for "
             "10 s. Ceramic and wire insulation are out."),
    GuideRow("60598-1-13.2-live", "IEC 60598-1", "13.2.1", "insulating parts that keep live parts in position", BALL,
             "125", QUOTED_598, "published",
             condition="125 °C, or the temperature in operation plus 25 °C if that is more",
             changes=COLD_DIP, note="Oven ± 5 °C. The quoted text, of an edition not named, cools in cold water for "
             "10 s. Ceramic and wire insulation are out."),
    GuideRow("60838-1-17.3", "IEC 60838-1", "17.3", "external insulating parts of lampholders", END_PRODUCT, "650",
             "IEC 60838-1:2020, public excerpt", "published",
             small_part_instead="a plate 30 mm x 30 mm of the same material and thickness",
             note="The layer is tissue in five layers, which drops must not ignite; flames and glow end within 30 s."),
)  # fmt: skip

ACCESSORIES: tuple[GuideRow, ...] = (
    GuideRow("60884-1-28-fixed", "IEC 60884-1", "28", "parts of fixed accessories that keep live or earth parts",
             END_PRODUCT, "850", _memory("IEC 60884-1"), "from memory", changes=NO_SCORCH,
             note="Parts that keep the earth belong to this group. The board must not be scorched."),
    GuideRow("60884-1-28-portable", "IEC 60884-1", "28", "parts of portable accessories that keep live or earth parts",
             END_PRODUCT, "750", _memory("IEC 60884-1"), "from memory", changes=NO_SCORCH,
             note="Parts that keep the earth belong to this group. The board must not be scorched."),
    GuideRow("60884-1-28-other", "IEC 60884-1", "28", "other insulating parts", END_PRODUCT, "650",
             _memory("IEC 60884-1"), "from memory", changes=NO_SCORCH, note="The board must not be scorched."),
    GuideRow("60884-1-25", "IEC 60884-1", "25", "parts that keep live parts", BALL, "125",
             _memory("IEC 60884-1"), "from memory", note="One hour at 125 ± 2 °C."),
    GuideRow("60669-1-24-live", "IEC 60669-1", "24", "parts that keep live parts", END_PRODUCT, "850",
             _memory("IEC 60669-1"), "from memory", small_part_rule=SQUARE, note=CONFIRM_CLAUSE),
    GuideRow("60669-1-24-other", "IEC 60669-1", "24", "other insulating parts", END_PRODUCT, "650",
             _memory("IEC 60669-1"), "from memory", small_part_rule=SQUARE, note=CONFIRM_CLAUSE),
    GuideRow("60670-1-boxes", "IEC 60670-1", "", "boxes and other parts", END_PRODUCT, "650", LISTING, "published"),
    GuideRow("60670-1-cavity", "IEC 60670-1", "", "boxes for hollow walls", END_PRODUCT, "850", LISTING, "published"),
    GuideRow("60670-1-live", "IEC 60670-1", "", "parts that keep live parts", END_PRODUCT, "850",
             _memory("IEC 60670-1"), "from memory", note=CONFIRM_CLAUSE),
    GuideRow("60320-1-750", "IEC 60320-1", "", "insulating parts, the higher level of the clause", END_PRODUCT, "750",
             "IEC 60320-1:2021 in a national adoption names the methods; the levels from general knowledge",
             "from memory", note=CONFIRM_CLAUSE),
    GuideRow("60320-1-650", "IEC 60320-1", "", "other insulating parts", END_PRODUCT, "650",
             "IEC 60320-1:2021 in a national adoption names the methods; the levels from general knowledge",
             "from memory", note=CONFIRM_CLAUSE),
)  # fmt: skip

SMALL_439 = "another method that the standard allows; ceramic is exempt"
SWITCHGEAR: tuple[GuideRow, ...] = (
    *(row for series in ("60898-1", "61008-1", "61009-1") for row in (
        GuideRow(f"{series}-live", f"IEC {series}", "", "external parts needed to hold current-carrying or "
                 "protective-circuit parts", END_PRODUCT, "960", f"{_memory(f'IEC {series}')}; {LAB_439}",
                 "from memory", small_part_rule=SQUARE, note="Small washers and ceramic are out."),
        GuideRow(f"{series}-other", f"IEC {series}", "", "other external parts", END_PRODUCT, "650",
                 f"{_memory(f'IEC {series}')}; {LAB_439}", "from memory", small_part_rule=SQUARE,
                 note="Small washers and ceramic are out."),
    )),
    GuideRow("61439-1-live", "IEC 61439-1", "10.2.3.2", "parts that keep current-carrying parts", END_PRODUCT, "960",
             LAB_439, "published", small_part_rule=SQUARE, small_part_instead=SMALL_439,
             instead=(EvidenceAsked("GWFI", "960"),),
             note="Not parts that hold only the protective conductor. The maker's own data may do; that and the rule "
             "on small parts are from general knowledge."),
    GuideRow("61439-1-wall", "IEC 61439-1", "10.2.3.2", "parts for hollow walls", END_PRODUCT, "850",
             _memory("IEC 61439-1"), "from memory", small_part_rule=SQUARE, small_part_instead=SMALL_439,
             instead=(EvidenceAsked("GWFI", "850"),), note="The maker's own data may do."),
    GuideRow("61439-1-other", "IEC 61439-1", "10.2.3.2", "other parts, and those that hold the protective conductor",
             END_PRODUCT, "650", LAB_439, "published", small_part_rule=SQUARE, small_part_instead=SMALL_439,
             instead=(EvidenceAsked("GWFI", "650"),),
             note="The maker's own data may do; that and the rule on small parts are from general knowledge."),
    GuideRow("60947-1-contacts", "IEC 60947-1", "", "parts near contacts", END_PRODUCT, "650", DECISION_593,
             "published"),
    GuideRow("60947-1-live-850", "IEC 60947-1", "", "parts that keep current-carrying parts, lower level", END_PRODUCT,
             "850", _memory("IEC 60947-1"), "from memory", condition="where the product part asks for 850 °C",
             note=CONFIRM_CLAUSE),
    GuideRow("60947-1-live-960", "IEC 60947-1", "", "parts that keep current-carrying parts, higher level", END_PRODUCT,
             "960", _memory("IEC 60947-1"), "from memory", condition="where the product part asks for 960 °C",
             note=CONFIRM_CLAUSE),
)  # fmt: skip

CONTROLS: tuple[GuideRow, ...] = (
    *(GuideRow(f"61058-1-{level}", "IEC 61058-1", "21", "parts in contact with or within reach of live parts",
               END_PRODUCT, level, f"{_memory('IEC 61058-1')}; {DECISION_593}", "from memory",
               condition=f"switch declared with {level} °C", note="Parts close to contacts belong to it too.")
      for level in ("650", "750", "850")),
    *(GuideRow(f"60730-1-{category}", "IEC 60730-1", "", "non-metallic parts", END_PRODUCT, level,
               _memory("IEC 60730-1"), "from memory", condition=f"control of category {category}",
               note="Category A asks for no glow wire.")
      for category, level in (("B", "550"), ("C", "750"), ("D", "850"))),
    GuideRow("62368-1-enclosure", "IEC 62368-1", "", "fire enclosures", VERTICAL, "V-1",
             f"a public test report form; {_memory('IEC 62368-1')}", "from memory", condition="V-1 or better",
             instead=(EvidenceAsked("class", "V-1"),), note="Glow wire is seldom asked for."),
    GuideRow("62368-1-S", "IEC 62368-1", "Annex S", "parts the annex sends to the needle flame", NEEDLE, "",
             "a public test report form", "published", condition="time of application as the annex states",
             note="Most other materials are taken by their flame class."),
)  # fmt: skip

ROWS: Final[tuple[GuideRow, ...]] = (*appliances.ROWS, *LUMINAIRES, *ACCESSORIES, *SWITCHGEAR, *CONTROLS)


def guide_row(key: str) -> GuideRow | None:
    """Return the row called `key`, None where there is none."""
    return next((row for row in ROWS if row.key == key), None)

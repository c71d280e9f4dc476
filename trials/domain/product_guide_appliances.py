"""Rows of the product-standard guide for household appliances, IEC 60335-1."""

from typing import Final

from trials.domain.material_evidence import EvidenceAsked
from trials.domain.product_guide import GuideRow, StatedChanges
from trials.domain.small_part import CIRCLES, MASS

STANDARD = "IEC 60335-1"
END_PRODUCT, GWFI, NEEDLE, BALL, TRACKING = (
    "glow-wire-end-product", "glow-wire-flammability-index", "needle-flame", "ball-pressure", "tracking",
)  # fmt: skip
SLIDES = "public slides of standards engineers on clause 30.2"
MAKERS_NOTE = "a contact maker's public note on clause 30.2"
QUOTED = "the clause as engineers quote it in public"
ANNEX_E = "IEC 60335-1:2015, annex E, in a national adoption, public text"
ANNEX_N = "IEC 60335-1, annex N, in a national adoption, public text"
BALL_QUOTED = "IEC 60335-1:2006, 30.1, as quoted in public"
GENERAL = "IEC 60335-1, from general knowledge"

SMALL = (
    "any one of GWIT at least {gwit}, GWFI at least {gwfi}, the needle flame of annex E, V-0 or V-1, on plates no "
    "thicker than the part"
)
SMALL_HIGH, SMALL_LOW = SMALL.format(gwit=775, gwfi=750), SMALL.format(gwit=675, gwfi=650)
OUT = (
    "Out of it: welded connections, low-power circuits of 19.11.1, soldered joints and small components on printed "
    "boards, each with its 3 mm zone (from general knowledge)."
)
WAIVER = "The waiver by GWFI is from general knowledge."
NEEDLE_BY_ANNEX_E: StatedChanges = {
    "application_deviation_s": {"high": "1"},
    "limit_inclusive": {"value": True},
    "specimens_needed": {"value": "1"},
    "further_rule": {"value": "after a fail"},
}
FLAME_LINE: StatedChanges = {"flame_line": {"value": "asks for the needle flame"}}
LINE_NOTE = (
    "A part that passes with one flame longer than 2 s: needle flame on the parts above it. The line belongs to this "
    "clause only and fails nothing by itself."
)

ROWS: Final[tuple[GuideRow, ...]] = (
    GuideRow("60335-1-30.2.1", STANDARD, "30.2.1", "all non-metallic parts", END_PRODUCT, "550", SLIDES, "published",
             small_part_rule=MASS,
             small_part_instead="nothing, unless several within 3 mm of each other could carry fire on",
             instead=(EvidenceAsked("GWFI", "550"), EvidenceAsked("class", "HB40")),
             note="Decorative trim and knobs are out; soft or foamed parts go by ISO 9772, class HBF. The waivers and "
             "exclusions are from general knowledge."),
    GuideRow("60335-1-30.2.2-750", STANDARD, "30.2.2", "supports of connections, and parts within 3 mm of them",
             END_PRODUCT, "750", f"{SLIDES}; {MAKERS_NOTE}", "published",
             condition="attended appliance, connections that carry more than 0.5 A",
             small_part_rule=CIRCLES, small_part_instead=SMALL_HIGH, instead=(EvidenceAsked("GWFI", "750"),),
             note=f"{WAIVER} {OUT}"),
    GuideRow("60335-1-30.2.2-650", STANDARD, "30.2.2", "supports of other connections, and parts within 3 mm of them",
             END_PRODUCT, "650", MAKERS_NOTE, "published", condition="attended appliance, connections up to 0.5 A",
             small_part_rule=CIRCLES, small_part_instead=SMALL_LOW, instead=(EvidenceAsked("GWFI", "650"),),
             note=f"{WAIVER} {OUT}"),
    GuideRow("60335-1-30.2.3.1", STANDARD, "30.2.3.1", "material of supports of connections, and within 3 mm of them",
             GWFI, "850", f"{MAKERS_NOTE}; a plastics maker's page; a decision of testing laboratories", "published",
             condition="unattended appliance, connections that carry more than 0.2 A",
             note="A proof at 850 °C on plates of the material. A maker's statement alone is not accepted. " + OUT),
    GuideRow("60335-1-30.2.3.1-part", STANDARD, "30.2.3.1", "the part itself, in place of the material's GWFI",
             END_PRODUCT, "850", "a decision of testing laboratories, public copy; the level is our reading of it",
             "published", condition="unattended appliance, connections that carry more than 0.2 A",
             small_part_rule=CIRCLES, small_part_instead=SMALL_HIGH,
             note="Only where no GWFI of at least 850 is shown for the material."),
    GuideRow("60335-1-30.2.3.2-750", STANDARD, "30.2.3.2", "supports of connections, and parts within 3 mm of them",
             END_PRODUCT, "750", f"a plastics maker's page; {QUOTED}; the level from general knowledge", "from memory",
             condition="unattended appliance, connections that carry more than 0.2 A",
             small_part_rule=CIRCLES, small_part_instead=SMALL_HIGH, changes=FLAME_LINE,
             instead=(EvidenceAsked("GWIT", "775"),), note=f"{LINE_NOTE} {OUT}"),
    GuideRow("60335-1-30.2.3.2-650", STANDARD, "30.2.3.2", "supports of other connections, and parts within 3 mm",
             END_PRODUCT, "650", f"{MAKERS_NOTE}; the level from general knowledge", "from memory",
             condition="unattended appliance, connections up to 0.2 A",
             small_part_rule=CIRCLES, small_part_instead=SMALL_LOW, changes=FLAME_LINE,
             instead=(EvidenceAsked("GWIT", "675"),), note=f"{LINE_NOTE} {OUT}"),
    GuideRow("60335-1-30.2.3.2-above", STANDARD, "30.2.3.2", "parts above one that burned longer than 2 s", NEEDLE,
             "30", QUOTED, "published",
             condition="inside an upright cylinder 20 mm wide and 50 mm high above it",
             changes=NEEDLE_BY_ANNEX_E, instead=(EvidenceAsked("class", "V-1"),),
             note="Not where a tested barrier shields the part."),
    GuideRow("60335-1-E", STANDARD, "Annex E", "parts the standard sends to the needle flame", NEEDLE, "30", ANNEX_E,
             "published", changes=NEEDLE_BY_ANNEX_E,
             note="30 ± 1 s; burning for exactly 30 s is allowed; one specimen, two more after a fail, both must pass. "
             "The annex aims at an edge: name it as the place."),
    GuideRow("60335-1-30.2.4", STANDARD, "30.2.4", "base material of printed boards", NEEDLE, "30",
             f"{ANNEX_E}; the rest from general knowledge", "from memory",
             changes={**NEEDLE_BY_ANNEX_E, "burn_after_removal_s": {"high": "15"}, "cut_edge_allowed": {"value": True}},
             instead=(EvidenceAsked("class", "V-0"),),
             note="At the edge with the least heat sinking; 15 s. Not for low-power circuits; VTM-0 counts as V-0."),
    GuideRow("60335-1-30.1-external", STANDARD, "30.1", "external non-metallic parts", BALL, "75",
             f"{MAKERS_NOTE}; {BALL_QUOTED}", "published",
             condition="75 °C, or 40 °C plus the highest rise of clause 11 if that is more",
             note="Temperatures ± 2 °C. Ceramic and the insulation of cords and wires are out."),
    GuideRow("60335-1-30.1-live", STANDARD, "30.1", "insulating parts that support live parts", BALL, "125",
             f"{MAKERS_NOTE}; {BALL_QUOTED}", "published",
             condition="125 °C, or 40 °C plus the highest rise of clause 11 if that is more",
             note="Temperatures ± 2 °C. Ceramic and the insulation of cords and wires are out."),
    GuideRow("60335-1-30.1-insulation", STANDARD, "30.1", "thermoplastic supplementary or reinforced insulation", BALL,
             "", BALL_QUOTED, "published",
             condition="25 °C plus the highest rise of clause 19, where that is more than the other formula",
             note="Rises of 19.4 do not count when a cut-out that only a cover or a tool resets ends them."),
    *(GuideRow(f"60335-1-N-{volts}", STANDARD, "Annex N", f"insulation declared with PTI {volts}", TRACKING, volts,
               ANNEX_N, "published",
               note="Solution A, five specimens. In doubt it passes if it withstands 100 drops at 25 V less, and the "
               "report must say so.")
      for volts in ("100", "175", "400", "600")),
)  # fmt: skip
"""In the order of the clauses a contract review meets them."""

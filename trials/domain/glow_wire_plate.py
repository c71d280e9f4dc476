"""What the two glow-wire tests on plates of a material share: the plate, its conditioning, the search for an index."""

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal

from trials.domain.burning_criteria import application_criterion, consumed_criteria, watch_criterion
from trials.domain.burning_quantities import QUANTITIES as BURNING_QUANTITIES
from trials.domain.burning_quantities import burning_quantities
from trials.domain.criteria import NOT_RECORDED, Criterion, digits
from trials.domain.end_product_statements import OBSERVATION_KINDS as END_PRODUCT_KINDS
from trials.domain.glow_wire_apparatus import CONFIRM, PARAMETERS_2000, PARAMETERS_2013, tip_criteria
from trials.domain.index_line import COUNTS_BELOW, HOLDS, THICKNESS
from trials.domain.methods.base import MethodEdition
from trials.domain.nominal_thickness import nominal_criterion, thicknesses
from trials.domain.records import Observation, TrialRecord
from trials.domain.setup_criteria import plain_record_criteria, stated_criteria
from trials.domain.statements import (
    ConditioningNeed,
    ObservationKind,
    Parameter,
    QuantityKind,
    SetupField,
    Severity,
    replaced,
)
from trials.domain.timeline import Timeline
from trials.domain.verdicts import Quantity

D = Decimal
CONTACT_S = D(0)
EXCERPT_2013 = "IEC 60695-2-13:2010 and JIS C 60695-2-13:2013, public excerpts"
GOST_SEARCH = "GOST IEC 60695-2-13-2012 (IEC 60695-2-13:2010), 8.3, public text"
TRADE_JOURNAL = "a trade journal on terminal blocks"
MEMORY = "IEC 60695-2-12 and -2-13, from general knowledge"
HOUSE = "reading of the published rule"

COARSE_C = (500, 550, 600, 650, 700, 750, 800, 850, 900, 960)
FINE_C = (525, 575, 625, 675, 725, 775, 825, 875, 930)
"""The levels between, used in the last stage: 25 K apart, 30 K at the top."""

PARAMETERS: tuple[Parameter, ...] = (
    Parameter("watch_after_withdrawal_s", "Watch goes on after withdrawal for", None, "s", low=D(30),
              source="public test descriptions: the application and the 30 s after it", certainty="published"),
    Parameter("judge_consumed", "Specimen must not be consumed", True,
              source="public abstracts of the 2010 editions", certainty="published",
              note="without any flame or glow it is flagged, not judged"),
    Parameter("conditioning_h", "Conditioned for", None, "h", low=D(48), source=EXCERPT_2013, certainty="published"),
    Parameter("use_within_h", "From conditioning to contact", None, "h", high=D(4), source=EXCERPT_2013,
              certainty="published"),
    Parameter("specimens_needed", "Specimens at each level, all of which must pass", D(3),
              source="a national adoption, a certifier's page and a test laboratory's page", certainty="published"),
    Parameter("turned_round", "A pass above a fail", COUNTS_BELOW, source=HOUSE, choices=(COUNTS_BELOW, HOLDS),
              note=f"flagged either way; {CONFIRM}"),
    Parameter("first_fail_ends", "The first failing specimen ends a level", True, source=HOUSE,
              note=f"the others at that level may be left out; {CONFIRM}"),
    Parameter("start_c", "The search starts at, where nothing is agreed", D(650), "°C", source=GOST_SEARCH,
              certainty="published"),
    Parameter("fine_step", "The last stage steps by 25 K, 30 K at the top", True, source=GOST_SEARCH,
              certainty="published"),
    Parameter("plate_mm", "Thickness of a plate", None, "mm", low=D("0.1"), high=D("6.0"), source=TRADE_JOURNAL,
              certainty="published"),
    Parameter("plate_side_mm", "Sides of a plate inside the clamps", None, "mm", low=D(60), source=MEMORY,
              certainty="from memory", note=CONFIRM),
    Parameter("thin_off_mm", "A plate may be off its nominal thickness by", None, "mm", high=D("0.1"), source=MEMORY,
              certainty="from memory", note=f"below 3 mm; further off it is not judged; {CONFIRM}"),
    Parameter("thick_off_mm", "A plate of 3 mm and more may be off by", None, "mm", high=D("0.2"), source=MEMORY,
              certainty="from memory", note=f"further off it is not judged; {CONFIRM}"),
    Parameter("height_step_mm", "Flame height is rounded up to the next", D(5), "mm", source=MEMORY,
              certainty="from memory", note=CONFIRM),
    Parameter("height_flash_s", "Flame height ignores the flash of the first", D(1), "s", source=MEMORY,
              certainty="from memory", note=CONFIRM),
)  # fmt: skip


def _in_the_room_of_plates(parameters: tuple[Parameter, ...]) -> tuple[Parameter, ...]:
    rooms = [one for one in parameters if one.key in ("room_temperature_c", "room_humidity_percent")]
    return replaced(parameters, *(replace(one, source=EXCERPT_2013, certainty="published", note="") for one in rooms))


APPARATUS_2013 = _in_the_room_of_plates(PARAMETERS_2013)
APPARATUS_2000 = _in_the_room_of_plates(PARAMETERS_2000)

FIELDS: tuple[SetupField, ...] = (
    SetupField("nominal_mm", "Nominal thickness", "number", "mm", D("0.1"), required=True, parameter="plate_mm",
               offered_from="item thickness", prompt="as it is to be written behind the index, digits kept"),
    SetupField("thickness_mm", "Measured thickness", "number", "mm", D("0.01"), required=True,
               instrument_role="length gauge", prompt="where the tip will touch"),
    SetupField("plate_side_mm", "Shorter side of the plate", "number", "mm", D(1), parameter="plate_side_mm",
               instrument_role="length gauge", prompt="inside the clamps"),
    SetupField("face", "Face under test", "text", prompt="which face the tip touches, and where"),
)  # fmt: skip

CONDITIONING = ConditioningNeed("23/40-60", "conditioning_h", "use_within_h", enforced=True, use_within_enforced=True)

_NOT_ON_A_PLATE = ("surroundings_catch", "other_part_ignites", "board_scorched")

OBSERVATION_KINDS: tuple[ObservationKind, ...] = tuple(
    kind for kind in END_PRODUCT_KINDS if kind.key not in _NOT_ON_A_PLATE
)


def severities(lowest_c: int) -> tuple[Severity, ...]:
    """Return the levels of the search in °C from `lowest_c` on, the finer ones included."""
    return tuple(Severity(D(level), "°C") for level in sorted((*COARSE_C, *FINE_C)) if level >= lowest_c)


def quantities(*own: QuantityKind, without: Iterable[str] = ()) -> tuple[QuantityKind, ...]:
    """Return the figures of a plate: the nominal thickness, the method's own, and those of the burning."""
    left_out = (*without, "longest_flame")
    kept = tuple(kind for kind in BURNING_QUANTITIES if kind.key not in left_out)
    return (QuantityKind(THICKNESS, "Nominal thickness", "d", "mm"), *own, *kept)


def plate_quantities(
    edition: MethodEdition,
    record: TrialRecord,
    seen: Timeline,
    latest_s: Decimal | None,
    own: dict[str, tuple[Decimal | None, str]],
) -> tuple[Quantity, ...]:
    """Return the edition's figures; `own` are the method's by key as (value, word where there is none)."""
    nominal = record.figure("nominal_mm")
    known = {THICKNESS: (nominal if isinstance(nominal, Decimal) else None, NOT_RECORDED)} | own
    return burning_quantities(edition, record, seen, latest_s, known)


def plate_criteria(edition: MethodEdition, record: TrialRecord) -> tuple[Criterion, ...]:
    """Return whether the plate is as thick as it is called; empty while one of both figures is not recorded."""
    known = thicknesses(record)
    if known is None:
        return ()
    allowed = edition.parameter("thin_off_mm" if known[0] < 3 else "thick_off_mm")
    return (nominal_criterion("off_nominal", "the plate", *known, allowed),)


def start_criteria(
    edition: MethodEdition, record: TrialRecord, contact_s: Decimal = CONTACT_S
) -> tuple[Criterion, ...]:
    """Return what must hold before contact; `contact_s` is the moment of contact on the clock of the readings."""
    return (
        *tip_criteria(edition, record, contact_s),
        *stated_criteria(edition, record),
        *plate_criteria(edition, record),
    )


def trial_criteria(
    edition: MethodEdition, record: TrialRecord, rows: tuple[Observation, ...], seen: Timeline
) -> tuple[Criterion, ...]:
    """Return whether the trial itself was right: what must hold before contact, the time in contact, the rows."""
    return (
        *start_criteria(edition, record, seen.contact_s),
        application_criterion(edition.parameter("application_s"), seen),
        *plain_record_criteria(edition, rows),
    )


def watched_criterion(edition: MethodEdition, seen: Timeline) -> Criterion:
    """Return whether somebody watched as long after withdrawal as the edition asks."""
    watch = edition.parameter("watch_after_withdrawal_s")
    watch_s = None if seen.application_s is None else seen.application_s + edition.number(watch.key)
    return watch_criterion(watch, seen, watch_s)


def remarks(edition: MethodEdition, seen: Timeline) -> tuple[str, ...]:
    """Return what neither index judges and must still be said."""
    said = []
    carried_s = seen.moment("carried_off")
    if carried_s is not None:
        said.append(f"To be reported: at {digits(carried_s)} s the burning material left with the wire.")
    if seen.finding("consumed") is True and not consumed_criteria(edition.parameter("judge_consumed"), seen):
        said.append("The specimen was consumed; this is not judged here and a lead should look at it.")
    return tuple(said)

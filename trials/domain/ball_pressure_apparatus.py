"""Ball-pressure apparatus of IEC 60695-10-2: its figures by edition, what the bench asks, and the oven's criteria."""

from dataclasses import replace
from decimal import Decimal

from trials.domain.criteria import NOT_RECORDED, Criterion, digits, with_unit
from trials.domain.methods.base import MethodEdition
from trials.domain.records import RecordError, TrialRecord
from trials.domain.setup_criteria import reading_refusal, reading_words, stated_criteria
from trials.domain.stability import reading_at, steadiness
from trials.domain.statements import InstrumentNeed, Parameter, SetupField, SteadyNeed, Step, replaced
from trials.domain.timeline import Timeline

D = Decimal
CONFIRM = "default, to be confirmed by the laboratory"
FROM_MEMORY = "IEC 60695-10-2, from general knowledge"
DECISION_SHEET = "decision sheet 391 of the certification bodies' committee of testing laboratories, public copy"
LAB_PAGE = "a test laboratory's public page on the ball-pressure test"
QUOTED_60598 = "IEC 60598-1, 13.2.1 as quoted in public (edition not named)"
PRACTICE = "practice of test laboratories"

CONTACT_S = D(0)
WATER, COLD_DIP = "cooled in water", "cold water for 10 s"

PARAMETERS_2014: tuple[Parameter, ...] = (
    Parameter("oven_tolerance_k", "Oven temperature, tolerance", D(2), "K", source=DECISION_SHEET,
              certainty="published", note="IEC 60598-1 allows 5 K"),
    Parameter("steady_window_s", "Oven steady before the ball is put on", D(600), "s", source=PRACTICE, note=CONFIRM),
    Parameter("steady_spread_k", "Spread of the oven while steady", None, "K", high=D(4), source=PRACTICE,
              note=f"twice the tolerance; {CONFIRM}"),
    Parameter("reading_gap_s", "Longest time between two readings", None, "s", high=D(300), source=PRACTICE,
              note=CONFIRM),
    Parameter("preheated", "Apparatus and support as hot as the oven", True, source=DECISION_SHEET,
              certainty="published", note="24 h at the temperature, or until they are equal, whichever is first"),
    Parameter("sensor_near", "Sensor close to the specimen", True, source=DECISION_SHEET, certainty="published"),
    Parameter("ball_mm", "Ball, diameter", D("5.00"), "mm", tolerance=D("0.05"),
              source=f"public text of a mark's requirements; tolerance: {FROM_MEMORY}", certainty="from memory",
              note=CONFIRM),
    Parameter("force_n", "Force of the ball", D("20.0"), "N", tolerance=D("0.2"),
              source=f"{DECISION_SHEET}; public text of a mark's requirements", certainty="published"),
    Parameter("load_s", "Time under load", None, "s", low=D(3600), high=D(3720),
              source=DECISION_SHEET, certainty="published", note="60 min, at most 2 min more"),
    Parameter("into_water_s", "From the ball off to the water", None, "s", high=D(10),
              source=f"{DECISION_SHEET}; {LAB_PAGE}", certainty="published"),
    Parameter("cooling_scheme", "Cooling", WATER, source=DECISION_SHEET, certainty="published",
              choices=(WATER, COLD_DIP), note=f"the other by {QUOTED_60598}"),
    Parameter("cooling_s", "Time in water", D(360), "s", high=D(480),
              source=f"8 min: {DECISION_SHEET}; 6 min: {LAB_PAGE}", certainty="published"),
    Parameter("cooling_least_s", "Time in water, shortest", None, "s", low=D(240), source=FROM_MEMORY,
              certainty="from memory", note=f"warns only; {CONFIRM}"),
    Parameter("cold_dip_s", "Time in cold water", None, "s", low=D(10), source=QUOTED_60598, certainty="published",
              note=f"used by that way of cooling only; the text gives no tolerance; {CONFIRM}"),
    Parameter("water_c", "Water", D(20), "°C", tolerance=D(5), source=f"20 °C: {LAB_PAGE}; tolerance: {FROM_MEMORY}",
              certainty="from memory", note=CONFIRM),
    Parameter("measure_within_s", "From the water to the measurement", None, "s", high=D(180),
              source=f"{DECISION_SHEET}; {LAB_PAGE}", certainty="published"),
    Parameter("thickness_mm", "Thickness of the specimen or the stack", D("3.0"), "mm", tolerance=D("0.5"),
              source=FROM_MEMORY, certainty="from memory", note=f"a few layers where it is thinner; {CONFIRM}"),
    Parameter("layers", "Layers in the stack", None, "", low=D(1), source=FROM_MEMORY, certainty="from memory",
              note=CONFIRM),
    Parameter("width_mm", "Width of the specimen", None, "mm", low=D(10), source=FROM_MEMORY, certainty="from memory",
              note=CONFIRM),
    Parameter("level", "Surface under the ball flat and level", True, source=FROM_MEMORY, certainty="from memory",
              note=f"a surface that bends is supported under the ball; {CONFIRM}"),
)  # fmt: skip

_P = {parameter.key: parameter for parameter in PARAMETERS_2014}

PARAMETERS_2003: tuple[Parameter, ...] = replaced(
    PARAMETERS_2014,
    replace(
        _P["thickness_mm"], value=None, tolerance=None, low=D("2.5"), note=f"stacked where it is thinner; {CONFIRM}"
    ),
)  # fmt: skip

SETUP_FIELDS: tuple[SetupField, ...] = (
    SetupField("preheated", "Apparatus as hot as the oven", "yes-no", required=True, parameter="preheated", digit="1",
               prompt="24 h, or until it reads the same"),
    SetupField("sensor_near", "Sensor close to the specimen", "yes-no", required=True, parameter="sensor_near",
               digit="2"),
    SetupField("level", "Flat and level under the ball", "yes-no", required=True, parameter="level", digit="3",
               prompt="supported where it bends"),
    SetupField("thickness_mm", "Thickness, whole stack", "number", "mm", D("0.1"), required=True,
               parameter="thickness_mm", instrument_role="length gauge", digit="4", offered_from="item thickness"),
    SetupField("layers", "Layers", "number", "", D(1), required=True, parameter="layers", digit="5",
               prompt="1 for a single piece"),
    SetupField("water_c", "Water", "number", "°C", D("0.1"), required=True, parameter="water_c",
               instrument_role="indicator", digit="6"),
    SetupField("width_mm", "Width", "number", "mm", D("0.1"), required=True, parameter="width_mm",
               instrument_role="length gauge"),
    SetupField("point", "Where the ball is put", "text", prompt="so that somebody else finds it again"),
    SetupField("force_n", "Force", "number", "N", D("0.01"), required=True, parameter="force_n",
               instrument_role="force gauge", stays_with_rig=True),
    SetupField("ball_mm", "Ball diameter", "number", "mm", D("0.01"), required=True, parameter="ball_mm",
               stays_with_rig=True),
)  # fmt: skip

INSTRUMENTS: tuple[InstrumentNeed, ...] = (
    InstrumentNeed("thermocouple", "thermocouple", "class 1, close to the specimen", PRACTICE, "common practice"),
    InstrumentNeed("indicator", "indicator", "reads 0.1 K", PRACTICE, "common practice"),
    InstrumentNeed("timer", "timer", "reads 1 s", PRACTICE, "common practice"),
    InstrumentNeed("measuring microscope", "length gauge", "reads 0.05 mm or better", PRACTICE, "common practice"),
    InstrumentNeed("force gauge", "force gauge", "reads 0.05 N", PRACTICE, "common practice", required=False),
    InstrumentNeed("length gauge", "length gauge", "reads 0.1 mm", PRACTICE, "common practice", required=False),
)  # fmt: skip

CAUTIONS: tuple[str, ...] = (
    "Hot steel: ball, weight and support are as hot as the oven for an hour. Heat-proof gloves, and tongs.",
    "The specimen goes into the water within 10 s: clear the way from oven to water before you open the door.",
    "Hot plastic may give off fumes and steam rises from the water: extraction on, face away from the door.",
    "A weight that slips falls: keep feet clear and the arm guided.",
    "The laboratory's risk assessment, local codes and licensed practice come first.",
)

STEPS: tuple[Step, ...] = (
    Step("contact", "Put the ball on"),
    Step("withdrawn", "Take the ball off", due_s="load_s"),
    Step("in_water", "Put it into the water", after="withdrawn", due_s="into_water_s"),
    Step("out_of_water", "Take it out of the water", after="in_water", due_s="cooling_s"),
    Step("watch_ends", "Dent measured", after="out_of_water", due_s="measure_within_s"),
)


def tolerance_key(_edition: MethodEdition, _severity_c: Decimal) -> str:
    """Return the key of the oven's tolerance in K, the same at every level."""
    return "oven_tolerance_k"


STEADY = SteadyNeed("Oven", tolerance_key)


def start_criteria(
    edition: MethodEdition, record: TrialRecord, contact_s: Decimal = CONTACT_S
) -> tuple[Criterion, ...]:
    """Return what must hold before the ball is put on; `contact_s` is that moment on the clock of the readings."""
    dip = edition.parameter("cooling_scheme").value == COLD_DIP
    stated = (one for one in stated_criteria(edition, record) if not (dip and one.key == "water_c"))
    return (*_oven_criteria(edition, record, contact_s), *stated)


def held_criterion(edition: MethodEdition, record: TrialRecord, seen: Timeline) -> Criterion:
    """Return whether the oven stayed within its tolerance under load: lowest and highest, and all readings between."""
    level_c, parameter = _level_c(record), edition.parameter("oven_tolerance_k")
    tolerance_k = edition.number(parameter.key)
    ends_s = None if seen.application_s is None else seen.contact_s + seen.application_s
    during = [
        r.temperature_c for r in record.temperature_readings if ends_s is not None and seen.contact_s <= r.t_s <= ends_s
    ]
    stated = [
        record.corrected(kind, value)
        for kind in ("oven_lowest", "oven_highest")
        if isinstance(value := seen.finding(kind), Decimal)
    ]
    found, holds, reason = NOT_RECORDED, None, "the lowest and the highest oven temperature under load are not recorded"
    known = [*stated, *during]
    limit = f"{digits(level_c)} ± {with_unit(tolerance_k, '°C')}"
    if known:
        found = f"{digits(min(known))} to {with_unit(max(known), '°C')}"
        inside = all(abs(value - level_c) <= tolerance_k for value in known)
        whole = len(stated) == 2 and stated[0] <= stated[1]
        holds = (True if whole else None) if inside else False
        reason = "" if holds else f"the oven stood at {found} under load, outside {limit}"
        if holds is None and len(stated) == 2:
            reason = "the lowest oven temperature recorded is above the highest"
        elif holds is None:
            reason = "the lowest and the highest oven temperature under load are not both recorded"
    return Criterion("oven_held", "Oven temperature under load", found, limit, holds, reason, parameter.source,
                     parameter.certainty)  # fmt: skip


def _oven_criteria(edition: MethodEdition, record: TrialRecord, contact_s: Decimal) -> tuple[Criterion, Criterion]:
    window_s, gap_s = edition.number("steady_window_s"), edition.number("reading_gap_s")
    tolerance, spread = edition.parameter("oven_tolerance_k"), edition.parameter("steady_spread_k")
    level_c, tolerance_k = _level_c(record), edition.number(tolerance.key)
    reading = reading_at(record.temperature_readings, contact_s, oldest_s=gap_s)
    limit = f"{digits(level_c)} ± {with_unit(tolerance_k, '°C')}"
    found, holds, why = NOT_RECORDED, None, "the oven temperature when the ball was put on is not recorded"
    if reading is not None:
        found = with_unit(reading.temperature_c, "°C")
        holds = abs(reading.temperature_c - level_c) <= tolerance_k
        read = "" if reading.correction_k is None else reading_words(record, reading)
        why = read if holds else f"the oven stood at {found} when the ball was put on, outside {limit}"
        if holds and (refusal := reading_refusal(record, reading)):
            holds, why = None, refusal
    state = steadiness(
        record.temperature_readings, contact_s,
        window_s=window_s, spread_limit_k=edition.number(spread.key), longest_gap_s=gap_s,
    )  # fmt: skip
    unknown = state.lack == "no reading"
    unproved = "whether the oven was steady is not recorded"
    why_steady = unproved if unknown else f"the oven was not proved steady: {state.sentence}"
    return (
        Criterion("temperature", "Oven temperature, ball on", found, limit, holds, why, tolerance.source,
                  tolerance.certainty),
        Criterion("steady", "Oven steady before the ball is on", NOT_RECORDED if unknown else state.sentence,
                  f"{spread.limit_text} in {digits(window_s)} s", None if unknown else state.steady,
                  "" if state.steady else why_steady, spread.source, spread.certainty),
    )  # fmt: skip


def _level_c(record: TrialRecord) -> Decimal:
    if record.severity is None:
        raise RecordError("severity: a trial with the ball needs its oven temperature.")
    return record.severity

"""Glow-wire apparatus of IEC 60695-2-10: its figures by edition, what the bench asks, and the tip's criteria."""

from dataclasses import replace
from decimal import Decimal

from trials.domain.criteria import NOT_RECORDED, Criterion, digits
from trials.domain.methods.base import MethodEdition
from trials.domain.records import RecordError, TrialRecord
from trials.domain.setup_criteria import reading_refusal, reading_words
from trials.domain.stability import reading_at, steadiness
from trials.domain.statements import InstrumentNeed, Parameter, SetupField, SteadyNeed, Step, replaced

D = Decimal
CONFIRM = "default, to be confirmed by the laboratory"
APPARATUS = "IEC 60695-2-10, from general knowledge"
EXCERPT_2013 = "text of IEC 60695-2-10:2013 in a national adoption, public excerpt"
NEEDLE_LAYER = "IEC 60695-11-5 layer clause, public notes; the same layer is used here"

PARAMETERS_2013: tuple[Parameter, ...] = (
    Parameter("temperature_tolerance_low_k", "Tip temperature, tolerance up to 750 °C", D(10), "K",
              source=APPARATUS, certainty="from memory", note=f"10 K also at 775 °C, the safe value; {CONFIRM}"),
    Parameter("temperature_tolerance_high_k", "Tip temperature, tolerance from 800 °C", D(15), "K",
              source=APPARATUS, certainty="from memory", note=CONFIRM),
    Parameter("temperature_tolerance_high_from_c", "The wider tolerance begins at", D(800), "°C",
              source=APPARATUS, certainty="from memory", note=CONFIRM),
    Parameter("steady_window_s", "Tip steady before contact", D(60), "s",
              source="IEC 60838-1:2020, 17.3, public excerpt (one minute)", certainty="published"),
    Parameter("steady_spread_k", "Spread of the tip while steady", None, "K", high=D(5),
              source="IEC 60695-2-10:2013, from general knowledge", certainty="from memory", note=CONFIRM),
    Parameter("reading_gap_s", "Longest time between two readings", None, "s", high=D(30),
              source="practice of test laboratories", note=CONFIRM),
    Parameter("application_s", "Time in contact", D(30), "s", tolerance=D(1),
              source=f"public test descriptions; tolerance: {EXCERPT_2013}", certainty="published"),
    Parameter("force_n", "Force of the tip on the specimen", D("0.95"), "N", tolerance=D("0.10"),
              source=EXCERPT_2013, certainty="published"),
    Parameter("penetration_mm", "Depth stop", D("7.0"), "mm", tolerance=D("0.5"),
              source=EXCERPT_2013, certainty="published"),
    Parameter("approach_mm_s", "Speed of approach and withdrawal", None, "mm/s", low=D(10), high=D(25),
              source=EXCERPT_2013, certainty="published"),
    Parameter("layer_distance_mm", "Tip to layer", D(200), "mm", tolerance=D(5),
              source=NEEDLE_LAYER, certainty="published"),
    Parameter("tissue_g_m2", "Wrapping tissue", None, "g/m²", low=D(12), high=D(30),
              source="JIS C 60695-11-5:2018 (IEC 60695-11-5:2016), public text", certainty="published"),
    Parameter("board_mm", "Wooden board under the tissue", None, "mm", low=D(10),
              source=APPARATUS, certainty="from memory", note=CONFIRM),
    Parameter("new_layer", "New tissue for this specimen", True, source="practice of test laboratories", note=CONFIRM),
    Parameter("chamber_m3", "Inside volume of the chamber", None, "m³", low=D("0.5"),
              source=APPARATUS, certainty="from memory", note=CONFIRM),
    Parameter("light_lx", "Light at the specimen", None, "lx", high=D(20),
              source=APPARATUS, certainty="from memory", note=CONFIRM),
    Parameter("hood_off", "Hood off and chamber free of draught", True,
              source=APPARATUS, certainty="from memory", note=CONFIRM),
    Parameter("tip_clean", "Tip brushed clean, no crack", True,
              source=APPARATUS, certainty="from memory", note=CONFIRM),
    Parameter("tip_wear_percent", "Tip against its first measure", None, "%", low=D("97.5"),
              source="a trade news page", certainty="published", note=f"one weak source; warns only; {CONFIRM}"),
    Parameter("foil_check_c", "Reading when the silver foil melts", D(960), "°C", tolerance=D(10),
              source=APPARATUS, certainty="from memory", note=f"some texts allow 15 K; {CONFIRM}"),
    Parameter("foil_check_current", "Foil check made today and since the last change of wire or thermocouple", True,
              source="practice of test laboratories", note=CONFIRM),
    Parameter("thermocouple_mm", "Thermocouple, overall diameter", D("1.0"), "mm", low=D("1.0"), high=D("1.0"),
              source="a trade news page; agrees with general knowledge", certainty="published", note=CONFIRM),
    Parameter("room_temperature_c", "Room temperature", None, "°C", low=D(15), high=D(35),
              source="IEC 60695-2-11, from general knowledge", certainty="from memory", note=CONFIRM),
    Parameter("room_humidity_percent", "Room humidity", None, "% RH", low=D(45), high=D(75),
              source="IEC 60695-2-11, from general knowledge", certainty="from memory", note=CONFIRM),
)  # fmt: skip

_P = {parameter.key: parameter for parameter in PARAMETERS_2013}

PARAMETERS_2000: tuple[Parameter, ...] = replaced(
    PARAMETERS_2013,
    replace(_P["force_n"], value=D("1.0"), tolerance=None, low=D("0.8"), high=D("1.2"),
            source="IEC 60695-2-10:2000, from general knowledge", certainty="from memory", note=CONFIRM),
    replace(_P["steady_spread_k"], certainty="common practice", source="taken over from the 2013 edition",
            note=f"the 2000 text asks for a constant temperature without a figure; {CONFIRM}"),
    replace(_P["penetration_mm"], certainty="common practice", source="7 mm: public excerpt; tolerance of 2013",
            note=f"the 2000 text states the stop at 7 mm; {CONFIRM}"),
    replace(_P["approach_mm_s"], certainty="from memory", source=APPARATUS, note=CONFIRM),
    replace(_P["tip_wear_percent"], low=D(90)),
    replace(_P["thermocouple_mm"], low=D("0.5"),
            source="IEC 60695-2-10:2000, public excerpt", note="0.5 mm decides in dispute"),
)  # fmt: skip

SETUP_FIELDS: tuple[SetupField, ...] = (
    SetupField("force_n", "Force", "number", "N", D("0.01"), required=True, parameter="force_n",
               instrument_role="force gauge", digit="1", prompt="read on the gauge just before the trial",
               of_apparatus=True),
    SetupField("tip_clean", "Tip clean, no crack", "yes-no", required=True, parameter="tip_clean", digit="2",
               prompt="brush while hot, clear of the thermocouple"),
    SetupField("new_layer", "New tissue under this specimen", "yes-no", required=True, parameter="new_layer",
               digit="3", prompt="flat, in close contact with the board"),
    SetupField("hood_off", "Hood off, no draught", "yes-no", required=True, parameter="hood_off", digit="5",
               prompt="back on after the trial"),
    SetupField("light_lx", "Light at the specimen", "number", "lx", D(1), required=True, parameter="light_lx",
               stays_with_rig=True, digit="4"),
    SetupField("penetration_mm", "Depth stop", "number", "mm", D("0.1"), required=True, parameter="penetration_mm",
               instrument_role="length gauge", stays_with_rig=True, digit="6",
               prompt="checked again for every new kind of specimen"),
    SetupField("layer_distance_mm", "Tip to layer", "number", "mm", D(1), required=True,
               parameter="layer_distance_mm", instrument_role="length gauge", stays_with_rig=True),
    SetupField("tissue_g_m2", "Tissue", "number", "g/m²", D("0.1"), required=True, parameter="tissue_g_m2",
               stays_with_rig=True, prompt="as on the lot's label", of_apparatus=False),
    SetupField("board_mm", "Board thickness", "number", "mm", D("0.1"), required=True, parameter="board_mm",
               instrument_role="length gauge", stays_with_rig=True),
    SetupField("chamber_m3", "Chamber volume", "number", "m³", D("0.01"), required=True, parameter="chamber_m3",
               stays_with_rig=True),
    SetupField("thermocouple_mm", "Thermocouple diameter", "number", "mm", D("0.1"), required=True,
               parameter="thermocouple_mm", stays_with_rig=True),
    SetupField("foil_check_c", "Foil check reading", "number", "°C", D("0.1"), required=True,
               parameter="foil_check_c", instrument_role="indicator", stays_with_rig=True,
               offered_from="foil check", prompt="indicated when the silver foil melts"),
    SetupField("foil_check_current", "Foil check still current", "yes-no", enforced=False,
               parameter="foil_check_current", prompt="made today, and since the last change"),
    SetupField("approach_mm_s", "Approach speed", "number", "mm/s", D(1), parameter="approach_mm_s",
               stays_with_rig=True),
    SetupField("tip_wear_percent", "Tip wear", "number", "%", D("0.1"), enforced=False, parameter="tip_wear_percent",
               instrument_role="length gauge", stays_with_rig=True, prompt="measured against the new wire",
               of_apparatus=False),
    SetupField("heating_current_a", "Heating current", "number", "A", D("0.1"), enforced=False,
               instrument_role="ammeter", prompt="read while the tip is steady"),
    SetupField("room_temperature_c", "Room temperature", "number", "°C", D("0.1"), enforced=False,
               parameter="room_temperature_c"),
    SetupField("room_humidity_percent", "Room humidity", "number", "% RH", D(1), enforced=False,
               parameter="room_humidity_percent"),
)  # fmt: skip

INSTRUMENTS: tuple[InstrumentNeed, ...] = (
    InstrumentNeed("thermocouple", "thermocouple", "type K, class 1, sheathed, insulated junction",
                   "IEC 60695-2-10, public excerpt of the 2000 text", "published"),
    InstrumentNeed("indicator", "indicator", "chain with the thermocouple proved by the foil check",
                   APPARATUS, "from memory"),
    InstrumentNeed("force gauge", "force gauge", "reads 0.01 N", "practice of test laboratories", "common practice"),
    InstrumentNeed("timer", "timer", "reads 0.1 s", "practice of test laboratories", "common practice"),
    InstrumentNeed("length gauge", "length gauge", "reads 0.1 mm", "practice of test laboratories",
                   "common practice", required=False),
    InstrumentNeed("ammeter", "ammeter", "true RMS, reads 0.1 A", "practice of test laboratories",
                   "common practice", required=False),
)  # fmt: skip

CAUTIONS: tuple[str, ...] = (
    "Wire up to 960 °C at more than 100 A: no hand inside the chamber, nothing flammable near it.",
    "Smoke may be toxic and corrosive. Hood on after the trial; wait until the chamber has cleared.",
    "Extinguisher and fire blanket within reach. Never alone.",
    "Do not touch current or voltage from the steady minute until the trial ends; back to zero before switching off.",
    "The laboratory's risk assessment, local codes and licensed practice come first.",
)


STEPS: tuple[Step, ...] = (
    Step("contact", "Touch"),
    Step("withdrawn", "Withdraw", due_s="application_s", out_within_s="burn_after_withdrawal_s"),
    Step("watch_ends", "End watching", after="withdrawn", due_s="watch_after_withdrawal_s", once_out=True),
)


def tolerance_key(edition: MethodEdition, severity_c: Decimal) -> str:
    """Return the key of the tolerance in K at a level in °C: the wider one from 800 °C on, so 10 K at 775 °C."""
    wide = severity_c >= edition.number("temperature_tolerance_high_from_c")
    return "temperature_tolerance_high_k" if wide else "temperature_tolerance_low_k"


STEADY = SteadyNeed("Tip", tolerance_key)


def tip_criteria(edition: MethodEdition, record: TrialRecord, contact_s: Decimal) -> tuple[Criterion, Criterion]:
    """Return the criteria on the tip at contact and on its steadiness up to then.

    `contact_s` is the moment of contact on the clock of the readings. Without a single reading both are unknown;
    readings that do not prove the steady minute make it broken.
    """
    window_s, gap_s = edition.number("steady_window_s"), edition.number("reading_gap_s")
    spread = edition.parameter("steady_spread_k")
    level_c = _level_c(record)
    at_contact = edition.parameter(tolerance_key(edition, level_c))
    tolerance_k = edition.number(at_contact.key)
    reading = reading_at(record.temperature_readings, contact_s, oldest_s=gap_s)
    limit = f"{digits(level_c)} ± {digits(tolerance_k)} °C"
    found, holds, why = NOT_RECORDED, None, "the temperature of the tip at contact is not recorded"
    if reading is not None:
        found = f"{digits(reading.temperature_c)} °C"
        holds = abs(reading.temperature_c - level_c) <= tolerance_k
        why = reading_words(record, reading)
        if not holds:
            why = f"the tip stood at {found} at contact, outside {limit}"
        elif refusal := reading_refusal(record, reading):
            holds, why = None, refusal
    state = steadiness(
        record.temperature_readings, contact_s,
        window_s=window_s, spread_limit_k=edition.number("steady_spread_k"), longest_gap_s=gap_s,
    )  # fmt: skip
    unknown = state.lack == "no reading"
    unproved = "whether the tip was steady is not recorded"
    why_steady = unproved if unknown else f"the tip was not proved steady: {state.sentence}"
    return (
        Criterion("temperature", "Tip temperature at contact", found, limit, holds, why,
                  at_contact.source, at_contact.certainty),
        Criterion("steady", "Steady before contact", NOT_RECORDED if unknown else state.sentence,
                  f"{spread.limit_text} in {digits(window_s)} s", None if unknown else state.steady,
                  "" if state.steady else why_steady, spread.source, spread.certainty),
    )  # fmt: skip


def _level_c(record: TrialRecord) -> Decimal:
    if record.severity is None:
        raise RecordError("severity: a trial with the glow-wire needs its temperature.")
    return record.severity

"""Tracking apparatus of IEC 60112: its figures, what the bench asks, and what must hold at the first drop."""

from decimal import Decimal

from trials.domain.criteria import Criterion, digits, with_unit
from trials.domain.methods.base import MethodEdition
from trials.domain.records import RecordError, TrialRecord
from trials.domain.setup_criteria import stated_criteria
from trials.domain.statements import Beat, InstrumentNeed, Parameter, SetupField, Step

D = Decimal
CONFIRM = "default, to be confirmed by the laboratory"
MEMORY = "IEC 60112, from general knowledge"
ONE_PAGE = "public page of a material laboratory on the tracking test"
TWO_PAGES = "public pages of two testing bodies on the tracking test"

PARAMETERS: tuple[Parameter, ...] = (
    Parameter("thickness_mm", "Thickness of the specimen, stacked if need be", None, "mm", low=D(3),
              source=TWO_PAGES, certainty="published"),
    Parameter("side_mm", "Shorter side of the surface", None, "mm", low=D(15),
              source=TWO_PAGES, certainty="published", note="below 20 mm only where nothing runs off the edge"),
    Parameter("side_run_off_mm", "Below this side nothing may run off the edge", D(20), "mm",
              source=TWO_PAGES, certainty="published"),
    Parameter("electrodes_right", "Electrodes of platinum, 5 mm × 2 mm, 30° chisel, set at 60°", True,
              source=ONE_PAGE, certainty="published"),
    Parameter("edge_radius_mm", "Radius of the chisel edge", None, "mm", low=D("0.01"), high=D("0.1"),
              source=MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("force_n", "Force of each electrode", D("1.00"), "N", tolerance=D("0.05"),
              source=ONE_PAGE, certainty="published"),
    Parameter("gap_mm", "Gap between the electrodes", D("4.0"), "mm", tolerance=D("0.1"),
              source=ONE_PAGE, certainty="published"),
    Parameter("electrodes_rinsed", "Electrodes rinsed for this run", True, source=MEMORY, certainty="from memory",
              note=CONFIRM),
    Parameter("surface_clean", "Surface clean", True, source=TWO_PAGES, certainty="published"),
    Parameter("new_site", "New specimen, or new site clear of splash", True, source=MEMORY, certainty="from memory",
              note=CONFIRM),
    Parameter("solution", "Solution ordered", "A", source=ONE_PAGE, certainty="published", choices=("A", "B"),
              note="A unless the order says B; the result by B carries its letter"),
    Parameter("resistivity_a_ohm_m", "Resistivity of solution A", D("3.95"), "Ω·m", tolerance=D("0.05"),
              source=ONE_PAGE, certainty="published"),
    Parameter("resistivity_b_ohm_m", "Resistivity of solution B", D("1.98"), "Ω·m", tolerance=D("0.05"),
              source=ONE_PAGE, certainty="published"),
    Parameter("mass_20_drops_g", "Mass of 20 drops", None, "g", low=D("0.380"), high=D("0.480"),
              source=MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("mass_50_drops_g", "Mass of 50 drops", None, "g", low=D("0.997"), high=D("1.147"),
              source=MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("drop_height_mm", "Height the drops fall", None, "mm", low=D(30), high=D(40),
              source=TWO_PAGES, certainty="published"),
    Parameter("drop_interval_s", "Time from drop to drop", D(30), "s", tolerance=D(5),
              source=TWO_PAGES, certainty="published"),
    Parameter("fifty_drops_min", "Time for 50 drops", D("24.5"), "min", tolerance=D(2),
              source=MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("voltage_deviation_percent", "Voltage against the level, either way", None, "%", high=D("1.5"),
              source="accuracy of the voltmeter as generally known", note=CONFIRM),
    Parameter("short_circuit_a", "Short-circuit current", D("1.0"), "A", tolerance=D("0.1"),
              source=MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("trip_current_a", "Over-current device trips at", D("0.50"), "A", tolerance=D("0.05"),
              source="0.5 A: three public pages; 10 %: general knowledge", certainty="from memory", note=CONFIRM),
    Parameter("trip_delay_s", "Over-current device trips after", D("2.00"), "s", tolerance=D("0.20"),
              source="2 s: three public pages; 10 %: general knowledge", certainty="from memory", note=CONFIRM),
    Parameter("room_temperature_c", "Room temperature", D(23), "°C", tolerance=D(5),
              source=MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("conditioning_h", "Conditioned for", None, "h", low=D(24),
              source=MEMORY, certainty="from memory", note=CONFIRM),
)  # fmt: skip

DROPS_OFFERED = ("50", "100")

SETUP_FIELDS: tuple[SetupField, ...] = (
    SetupField("drops_asked", "Drops", "choice", required=True, choices=DROPS_OFFERED, digit="1",
               prompt="as the next step on the job's page says"),
    SetupField("voltage_v", "Voltage at the electrodes", "number", "V", D(1), required=True,
               instrument_role="voltmeter", digit="2", prompt="as read; what is allowed is a share of the level"),
    SetupField("electrodes_rinsed", "Electrodes rinsed", "yes-no", required=True, parameter="electrodes_rinsed",
               digit="3"),
    SetupField("surface_clean", "Surface clean", "yes-no", required=True, parameter="surface_clean", digit="4"),
    SetupField("new_site", "New specimen or clear site", "yes-no", required=True, parameter="new_site", digit="5",
               prompt="clear of all earlier splash"),
    SetupField("force_n", "Force of each electrode", "number", "N", D("0.01"), required=True, parameter="force_n",
               instrument_role="force gauge", stays_with_rig=True, digit="6"),
    SetupField("gap_mm", "Gap", "number", "mm", D("0.1"), required=True, parameter="gap_mm",
               instrument_role="length gauge", digit="8", of_apparatus=True),
    SetupField("thickness_mm", "Thickness", "number", "mm", D("0.1"), required=True, parameter="thickness_mm",
               instrument_role="length gauge", offered_from="item thickness", prompt="of the whole stack"),
    SetupField("layers", "Layers in the stack", "number", "", D(1)),
    SetupField("side_mm", "Shorter side", "number", "mm", D(1), required=True, parameter="side_mm",
               instrument_role="length gauge"),
    SetupField("solution", "Solution", "choice", required=True, parameter="solution", choices=("A", "B"),
               stays_with_rig=True),
    SetupField("resistivity_ohm_m", "Resistivity of the solution", "number", "Ω·m", D("0.01"), required=True,
               stays_with_rig=True, prompt="at 23 °C; its limit follows the solution"),
    SetupField("mass_20_drops_g", "Mass of 20 drops", "number", "g", D("0.001"), parameter="mass_20_drops_g",
               instrument_role="balance", stays_with_rig=True, prompt="or weigh 50"),
    SetupField("mass_50_drops_g", "Mass of 50 drops", "number", "g", D("0.001"), parameter="mass_50_drops_g",
               instrument_role="balance", stays_with_rig=True, prompt="or weigh 20"),
    SetupField("drop_height_mm", "Drop height", "number", "mm", D(1), required=True, parameter="drop_height_mm",
               instrument_role="length gauge", stays_with_rig=True),
    SetupField("short_circuit_a", "Short-circuit current", "number", "A", D("0.01"), required=True,
               parameter="short_circuit_a", instrument_role="ammeter", prompt="set anew for each voltage",
               of_apparatus=True),
    SetupField("trip_current_a", "Trips at", "number", "A", D("0.01"), required=True, parameter="trip_current_a",
               instrument_role="ammeter", stays_with_rig=True),
    SetupField("trip_delay_s", "Trips after", "number", "s", D("0.01"), required=True, parameter="trip_delay_s",
               instrument_role="timer", stays_with_rig=True),
    SetupField("electrodes_right", "Electrodes as the standard shapes them", "yes-no", required=True,
               parameter="electrodes_right", stays_with_rig=True, prompt="platinum, 5 mm × 2 mm, 30° chisel, at 60°"),
    SetupField("edge_radius_mm", "Edge radius", "number", "mm", D("0.01"), required=True, parameter="edge_radius_mm",
               stays_with_rig=True),
    SetupField("room_temperature_c", "Room temperature", "number", "°C", D("0.1"), required=True,
               parameter="room_temperature_c"),
)  # fmt: skip

INSTRUMENTS: tuple[InstrumentNeed, ...] = (
    InstrumentNeed("voltmeter", "voltmeter", "within 1.5 %", MEMORY, "from memory"),
    InstrumentNeed("ammeter", "ammeter", "reads 0.01 A", "practice of test laboratories", "common practice"),
    InstrumentNeed("timer", "timer", "reads 0.1 s", "practice of test laboratories", "common practice"),
    InstrumentNeed("force gauge", "force gauge", "reads 0.01 N", "practice of test laboratories", "common practice"),
    InstrumentNeed("length gauge", "length gauge", "reads 0.1 mm", "practice of test laboratories",
                   "common practice"),
    InstrumentNeed("balance", "balance", "reads 0.001 g", "practice of test laboratories", "common practice",
                   required=False),
)  # fmt: skip

CAUTIONS: tuple[str, ...] = (
    "Up to 600 V at the electrodes: interlock closed before voltage is on; voltage off before a hand goes in.",
    "Ammonium chloride solution irritates eyes and skin: goggles and gloves, wipe up what spills.",
    "Smoke from the specimen may be toxic and corrosive: extraction on; wait until the chamber has cleared.",
    "The specimen can catch fire: extinguisher within reach, never leave a run alone.",
    "The laboratory's risk assessment, local codes and licensed practice come first.",
)

STEPS: tuple[Step, ...] = (
    Step("contact", "Let the first drop fall"),
    Step("withdrawn", "Last drop has fallen", left_out_after=("trip",)),
    Step("watch_ends", "End watching", after="withdrawn", due_s="watch_after_last_drop_s", once_out=True),
)

BEAT = Beat("Drop", "drop_interval_s", asked="drops_asked", last="withdrawn")


def start_criteria(edition: MethodEdition, record: TrialRecord) -> tuple[Criterion, ...]:
    """Return what must hold at the first drop; RecordError for a trial that has no voltage."""
    if record.severity is None:
        raise RecordError("severity: a tracking trial needs its voltage.")
    return (
        *_voltage_criteria(edition, record, record.severity),
        *_resistivity_criteria(edition, record),
        _drop_mass_criterion(edition, record),
        *stated_criteria(edition, record),
    )


def _voltage_criteria(edition: MethodEdition, record: TrialRecord, level_v: Decimal) -> tuple[Criterion, ...]:
    """Whether the voltage read is near enough to the level; nothing while it is not recorded."""
    voltage_v, allowed = record.figure("voltage_v"), edition.parameter("voltage_deviation_percent")
    if not isinstance(voltage_v, Decimal):
        return ()
    limit = f"{digits(level_v)} V ± {with_unit(edition.number(allowed.key), '%')}"
    holds = abs(voltage_v - level_v) * 100 <= edition.number(allowed.key) * level_v
    reason = "" if holds else f"the voltage was {digits(voltage_v)} V, outside {limit}"
    return (Criterion("voltage_at_level", "Voltage at the level", with_unit(voltage_v, "V"), limit, holds, reason,
                      allowed.source, allowed.certainty),)  # fmt: skip


def _resistivity_criteria(edition: MethodEdition, record: TrialRecord) -> tuple[Criterion, ...]:
    """Whether the solution has the resistivity of its kind; nothing while kind or figure are not recorded."""
    found, solution = record.figure("resistivity_ohm_m"), record.setup.get("solution")
    if not isinstance(found, Decimal) or not isinstance(solution, str):
        return ()
    parameter = edition.parameter(f"resistivity_{solution.lower()}_ohm_m")
    text, holds = with_unit(found, parameter.unit), parameter.admits(found)
    reason = "" if holds else f"the resistivity of solution {solution} was {text}, outside {parameter.limit_text}"
    return (Criterion("resistivity", parameter.title, text, parameter.limit_text, holds, reason, parameter.source,
                      parameter.certainty),)  # fmt: skip


def _drop_mass_criterion(edition: MethodEdition, record: TrialRecord) -> Criterion:
    """Whether drops were weighed at all: 20 or 50 of them, each with its own limit among the stated criteria."""
    weighed = [n for n in ("20", "50") if record.setup.get(f"mass_{n}_drops_g") is not None]
    parameter = edition.parameter("mass_20_drops_g")
    found, holds = (f"{' and '.join(weighed)} drops weighed", True) if weighed else ("not recorded", None)
    reason = "" if weighed else "neither the mass of 20 drops nor that of 50 is recorded"
    return Criterion("drop_mass", "Drops weighed", found, "20 or 50 drops", holds, reason, parameter.source,
                     parameter.certainty)  # fmt: skip

"""Ball-pressure test, IEC 60695-10-2, editions of 2003 and 2014."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from calibration.domain.decisions import ALL_RULES
from trials.domain import ball_pressure_apparatus as apparatus
from trials.domain.criteria import NOT_RECORDED, Criterion, digits, with_unit
from trials.domain.decided_criteria import DECISION_PARAMETERS, decided_criterion, uncertainty_parameter
from trials.domain.dent import dent_text, diameters, judged_mm, readings_missing, shown_mm
from trials.domain.level_line import level_line
from trials.domain.line_result import Asked, Doubt, LineResult, LineTrial
from trials.domain.methods.base import MethodEdition
from trials.domain.observations import standing
from trials.domain.record_checks import check_record
from trials.domain.records import TrialRecord
from trials.domain.setup_criteria import override_warnings, plain_record_criteria
from trials.domain.spoiled import spoiled_criteria
from trials.domain.stability import reading_at
from trials.domain.statements import (
    ConditioningNeed,
    DecidedLimit,
    ObservationKind,
    Parameter,
    QuantityKind,
    Severity,
)
from trials.domain.timeline import Timeline, timeline_of
from trials.domain.verdicts import Quantity, Verdict, verdict_from

D = Decimal
SLUG = "ball-pressure"
RULE_VERSION = 1
CONFIRM = apparatus.CONFIRM
DENT = DecidedLimit("dent_mm", "u_dent_mm", "dent")
HOUSE = "reading of the published rule"

OWN_PARAMETERS: tuple[Parameter, ...] = (
    Parameter("dent_mm", "Diameter of the dent", None, "mm", high=D("2.0"),
              source="public text of a mark's requirements; general knowledge", certainty="published"),
    Parameter("dent_decimals", "Decimal places of the diameter as typed", D(1), source=apparatus.DECISION_SHEET,
              certainty="published", note="read and typed to one decimal place: 2.0 mm passes, 2.1 mm fails"),
    Parameter("dent_judged", "Of several readings is judged", "largest", source=HOUSE, choices=("largest", "mean"),
              note=f"the mean is compared unrounded; {CONFIRM}"),
    Parameter("readings_needed", "Readings of the diameter", None, "", low=D(1), source=HOUSE,
              note=f"two at right angles are common practice; {CONFIRM}"),
    uncertainty_parameter("u_dent_mm", "the diameter", "mm"),
    *DECISION_PARAMETERS,
    Parameter("conditioning_h", "Conditioned for", None, "h", low=D(24), source=apparatus.FROM_MEMORY,
              certainty="from memory", note=CONFIRM),
    Parameter("specimens_needed", "Specimens", D(1), source=apparatus.FROM_MEMORY, certainty="from memory",
              note=f"the product standard may ask for more; {CONFIRM}"),
    Parameter("further_specimens", "Further specimens, all of which must pass", D(2), source=HOUSE, note=CONFIRM),
    Parameter("further_rule", "Further specimens are tested", "none", source=HOUSE,
              choices=("none", "in doubt", "after a fail"), note=CONFIRM),
    Parameter("several_ordered", "When more specimens are ordered", "all must pass", source=HOUSE,
              choices=("all must pass", "first decides"), note=CONFIRM),
)  # fmt: skip

SEVERITIES = tuple(
    Severity(D(level), "°C", "standard" if level in (75, 125) else "by product standard") for level in range(40, 201, 5)
)

OBSERVATION_KINDS: tuple[ObservationKind, ...] = (
    ObservationKind("contact", "Ball on", "t0", repeats=False, digit="Enter"),
    ObservationKind("withdrawn", "Ball off", "off", repeats=False, digit="Enter"),
    ObservationKind("in_water", "In the water", "water", repeats=False, digit="Enter"),
    ObservationKind("out_of_water", "Out of the water", "out", repeats=False, digit="Enter",
                    prompt="dry it before you measure"),
    ObservationKind("watch_ends", "Dent measured", "end", repeats=False, digit="Enter"),
    ObservationKind("diameter", "Diameter of the dent", "d", "number", unit="mm", resolution=D("0.1"), timed=False,
                    decimals="dent_decimals", when="both", digit="1",
                    prompt="the round dent only, not the raised rim; once in each direction"),
    ObservationKind("oven_lowest", "Lowest oven temperature under load", "T low", "number", unit="°C",
                    resolution=D("0.1"), timed=False, repeats=False, when="both", digit="2",
                    instrument_role="indicator", prompt="as read; the correction is added"),
    ObservationKind("oven_highest", "Highest oven temperature under load", "T high", "number", unit="°C",
                    resolution=D("0.1"), timed=False, repeats=False, when="both", digit="3",
                    instrument_role="indicator", prompt="as read; the correction is added"),
    ObservationKind("ball_moved", "Ball slipped or lifted", "slipped", digit="4", prompt="spoils the trial"),
    ObservationKind("note", "Something else", "note", "text", timed=False, when="both", digit="7"),
)  # fmt: skip

QUANTITIES: tuple[QuantityKind, ...] = (
    QuantityKind("dent", "Diameter of the dent", "d", "mm", table=True),
    QuantityKind("readings", "Readings", "n", "", table=True),
    QuantityKind("spread", "Spread of the readings", "", "mm", table=True),
    QuantityKind("temperature", "Oven, ball on", "T", "°C", table=True),
    QuantityKind("load", "Under load", "", "s"),
    QuantityKind("into_water", "Ball off to water", "", "s"),
    QuantityKind("cooling", "In the water", "", "s"),
    QuantityKind("measured", "Water to measurement", "", "s"),
)


def judge(edition: MethodEdition, record: TrialRecord) -> Verdict:
    """Return the verdict on one specimen: validity first, then the dent by the order's decision rule.

    The diameter is judged as typed, the largest of several readings or their unrounded mean. Raises RecordError for a
    record that does not fit the edition, and DecisionError for figures of a decision rule that leave nothing to pass.
    """
    check_record(edition, record)
    rows = standing(record.observations)
    seen = timeline_of(rows)
    readings = diameters(rows)
    dent = decided_criterion(
        edition, DENT, judged_mm(edition, readings),
        title="Diameter of the dent", name="the dent", found=dent_text(edition, readings),
        unknown=readings_missing(edition, readings),
    )  # fmt: skip
    return verdict_from(
        method_key=edition.key,
        rule_version=edition.rule_version,
        severity=edition.severity_text(record.severity),
        setup_criteria=(
            *apparatus.start_criteria(edition, record, seen.contact_s),
            apparatus.held_criterion(edition, record, seen),
            *_timing_criteria(edition, seen),
            *plain_record_criteria(edition, rows),
            *spoiled_criteria(
                seen,
                "ball_moved",
                title="The ball stays in place",
                limit="must not move",
                what="the ball",
                happened="moved",
                ended="it was taken off",
                source=apparatus.PRACTICE,
            ),
        ),
        criteria=(dent,),
        passed_because=lambda: _passed_because(dent),
        quantities=_quantities(edition, record, seen, readings),
        warnings=(*override_warnings(record), *seen.warnings),
        parameters=edition.parameter_texts,
    )


def judge_line(
    edition: MethodEdition, asked: Asked, trials: Sequence[LineTrial], doubts: Sequence[Doubt]
) -> LineResult:
    """Return the result of an order line, with its dents written behind the temperature once it is decided."""
    line = level_line(edition, asked, trials, doubts)
    if line.state not in ("passed", "failed"):
        return line
    parts = (*line.counted, *line.further)
    dents: dict[str, str] = {}
    for trial in sorted(trials, key=lambda t: (t.sequence, t.specimen)):
        if trial.severity in (None, asked.severity) and _has_dent(trial.verdict):
            dents.setdefault(trial.specimen, trial.verdict.quantity("dent").text)
    written = ", ".join(dents[specimen] for specimen in parts if specimen in dents)
    return replace(line, result=f"ball pressure {edition.severity_text(asked.severity)}: d = {written} mm")


def _passed_because(dent: Criterion) -> str:
    if dent.statement == "conditional pass":
        return dent.reason
    return f"the dent is {dent.found}, {dent.limit} is allowed"


def _has_dent(verdict: Verdict) -> bool:
    return verdict.outcome in ("pass", "fail") and verdict.quantity("dent").value is not None


def _timing_criteria(edition: MethodEdition, seen: Timeline) -> tuple[Criterion, ...]:
    off_s, into_s, out_s = seen.application_s, seen.moment("in_water"), seen.moment("out_of_water")
    on_s = D(0) if off_s is not None else None
    dip = edition.parameter("cooling_scheme").value == apparatus.COLD_DIP
    cooling = ("cold_dip_s",) if dip else ("cooling_s", "cooling_least_s")
    return (
        _span(edition.parameter("load_s"), on_s, off_s, "the time under load"),
        _span(edition.parameter("into_water_s"), off_s, into_s, "the time from the ball off to the water"),
        *(_span(edition.parameter(key), into_s, out_s, "the time in the water", key != "cooling_least_s")
          for key in cooling),
        _span(edition.parameter("measure_within_s"), out_s, seen.watch_ends_s, "the time to the measurement"),
    )  # fmt: skip


def _span(
    parameter: Parameter, from_s: Decimal | None, until_s: Decimal | None, name: str, enforced: bool = True
) -> Criterion:
    """Whether the time between two moments is within its limit; one that runs backwards is not known."""
    found, holds, reason = NOT_RECORDED, None, f"{name} is not recorded"
    if from_s is not None and until_s is not None:
        span_s = until_s - from_s
        found = with_unit(span_s, "s")
        holds = parameter.admits(span_s) if span_s >= 0 else None
        reason = "" if holds else f"{name} was {found}, outside {parameter.limit_text}"
        if holds is None:
            reason = f"{name} runs backwards, {found}: one of its moments is wrong"
    return Criterion(parameter.key, parameter.title, found, parameter.limit_text, holds, reason, parameter.source,
                     parameter.certainty, enforced=enforced)  # fmt: skip


def _quantities(
    edition: MethodEdition, record: TrialRecord, seen: Timeline, readings: Sequence[Decimal]
) -> tuple[Quantity, ...]:
    oven = reading_at(record.temperature_readings, seen.contact_s, oldest_s=edition.number("reading_gap_s"))
    into_s, out_s, end_s = seen.moment("in_water"), seen.moment("out_of_water"), seen.watch_ends_s
    known: dict[str, Decimal | None] = {
        "dent": judged_mm(edition, readings),
        "readings": D(len(readings)) if readings else None,
        "spread": max(readings) - min(readings) if len(readings) > 1 else None,
        "temperature": None if oven is None else oven.temperature_c,
        "load": seen.application_s,
        "into_water": _between(seen.application_s, into_s),
        "cooling": _between(into_s, out_s),
        "measured": _between(out_s, end_s),
    }
    texts = {key: NOT_RECORDED if value is None else digits(value) for key, value in known.items()}
    if known["dent"] is not None:
        texts["dent"] = shown_mm(edition, known["dent"])
    if len(readings) == 1:
        texts["spread"] = "one reading"
    return tuple(
        Quantity(kind.key, kind.title, kind.symbol, kind.unit, known[kind.key], texts[kind.key])
        for kind in edition.quantities
    )


def _between(from_s: Decimal | None, until_s: Decimal | None) -> Decimal | None:
    return None if from_s is None or until_s is None else until_s - from_s


EDITION_2014 = MethodEdition(
    key=f"{SLUG}@2014",
    slug=SLUG,
    edition="2014",
    title="Ball-pressure test",
    short_title="Ball pressure",
    standard="IEC 60695-10-2:2014",
    apparatus="IEC 60695-10-2:2014",
    short_standard="10-2:2014",
    rule_version=RULE_VERSION,
    rig_kind="ball pressure",
    parameters=(*apparatus.PARAMETERS_2014, *OWN_PARAMETERS),
    severities=SEVERITIES,
    severity_title="Oven temperature",
    conditionings=(ConditioningNeed("15-35/45-75", "conditioning_h", "", enforced=True, use_within_enforced=False),),
    instruments=apparatus.INSTRUMENTS,
    setup_fields=apparatus.SETUP_FIELDS,
    observation_kinds=OBSERVATION_KINDS,
    steps=apparatus.STEPS,
    steady=apparatus.STEADY,
    quantities=QUANTITIES,
    decision_rules=ALL_RULES,
    decided_limits=(DENT,),
    cautions=apparatus.CAUTIONS,
    trial_judge=judge,
    start_judge=apparatus.start_criteria,
    line_judge=judge_line,
    heat_source="ball",
    layer_name="",
    burns=False,
)

EDITION_2003 = replace(
    EDITION_2014,
    key=f"{SLUG}@2003",
    edition="2003",
    standard="IEC 60695-10-2:2003",
    apparatus="IEC 60695-10-2:2003",
    short_standard="10-2:2003",
    parameters=(*apparatus.PARAMETERS_2003, *OWN_PARAMETERS),
)

EDITIONS = (EDITION_2003, EDITION_2014)

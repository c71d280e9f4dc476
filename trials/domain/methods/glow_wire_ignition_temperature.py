"""Glow-wire ignition temperature of a material, IEC 60695-2-13, editions of 2000, 2010, 2014 and 2021."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from calibration.domain.decisions import IN_THE_STANDARD
from trials.domain import glow_wire_apparatus as apparatus
from trials.domain import glow_wire_plate as plate
from trials.domain.burning_criteria import consumed_criteria
from trials.domain.criteria import NOT_RECORDED, Criterion, digits, with_unit
from trials.domain.index_line import IndexName, judge_index_line, search_rule
from trials.domain.line_result import Asked, Doubt, LineResult, LineTrial
from trials.domain.methods.base import MethodEdition
from trials.domain.observations import standing
from trials.domain.record_checks import check_record
from trials.domain.records import TrialRecord
from trials.domain.setup_criteria import override_warnings
from trials.domain.statements import IndexSearch, Parameter, QuantityKind, SetupField, replaced
from trials.domain.timeline import BurnEvent, Timeline, merged_spans, timeline_of
from trials.domain.verdicts import Verdict, verdict_from

D = Decimal
SLUG = "glow-wire-ignition-temperature"
RULE_VERSION = 1
ABSTRACTS = "public abstracts of IEC 60695-2-13, a certifier's page, a trade journal and a laboratory's page"
NO_LAYER = "IEC 60695-2-13:2010 and JIS C 60695-2-13:2013, public excerpts: the layer clause does not apply"

OWN_PARAMETERS: tuple[Parameter, ...] = (
    Parameter("ignition_flame_s", "A single flame lasts", None, "s", high=D(5), source=ABSTRACTS,
              certainty="published", note="longer than 5 s is ignition, 5 s exactly is not; touching flames are one"),
    Parameter("flames_counted", "Flames that count", "whenever they fall", source=plate.HOUSE,
              choices=("whenever they fall", "after withdrawal only"),
              note=f"during the contact and after it; {apparatus.CONFIRM}"),
)  # fmt: skip

_LAYER_FIELDS = ("new_layer", "layer_distance_mm", "tissue_g_m2", "board_mm")

SETUP_FIELDS: tuple[SetupField, ...] = (
    *(field for field in apparatus.SETUP_FIELDS if field.key not in _LAYER_FIELDS),
    *plate.FIELDS,
    SetupField("layer_used", "Layer under the specimen", "yes-no", digit="3",
               prompt="this test asks for none; it is recorded and never judged"),
    *(replace(field, required=False, enforced=False, parameter="", digit="") for field in apparatus.SETUP_FIELDS
      if field.key in _LAYER_FIELDS),
)  # fmt: skip
"""What is recorded of a layer is never judged here; with it the trial can be read for the flammability index too."""

PARAMETERS_2013 = tuple(one for one in plate.APPARATUS_2013 if one.key not in _LAYER_FIELDS)
PARAMETERS_2000 = tuple(one for one in plate.APPARATUS_2000 if one.key not in _LAYER_FIELDS)

QUANTITIES = plate.quantities(QuantityKind("longest_flame", "Longest flame", "", "s", table=True), without=("latest",))


def judge(edition: MethodEdition, record: TrialRecord) -> Verdict:
    """Return the verdict on one plate at its level: validity first, then the longest single flame and what is left.

    Times are compared unrounded; a layer is never judged. Raises RecordError for a record that does not fit the
    edition.
    """
    check_record(edition, record)
    rows = standing(record.observations)
    seen = timeline_of(rows)
    counted = _counted(edition, seen)
    return verdict_from(
        method_key=edition.key,
        rule_version=edition.rule_version,
        severity=edition.severity_text(record.severity),
        setup_criteria=plate.trial_criteria(edition, record, rows, seen),
        criteria=(
            flame_criterion(edition, counted),
            *consumed_criteria(edition.parameter("judge_consumed"), seen),
            plate.watched_criterion(edition, seen),
        ),
        passed_because=lambda: _passed_because(counted),
        quantities=plate.plate_quantities(
            edition, record, seen, None,
            {"longest_flame": (counted.longest_flame_s, NOT_RECORDED if seen.flames else "no flame")},
        ),
        warnings=(*override_warnings(record), *_remarks(edition, seen), *seen.warnings),
        parameters=edition.parameter_texts,
    )  # fmt: skip


def flame_criterion(edition: MethodEdition, seen: Timeline) -> Criterion:
    """Return whether no single flame lasted longer than allowed; what is known to have lasted longer breaks it.

    A flame put out by hand lasted at least until then. A corona never counts.
    """
    parameter = edition.parameter("ignition_flame_s")
    limit = with_unit(edition.number(parameter.key), "s")

    def criterion(found: str, holds: bool | None, reason: str) -> Criterion:
        return Criterion("single_flame", "Longest single flame", found, parameter.limit_text, holds, reason,
                         parameter.source, parameter.certainty)  # fmt: skip

    if not seen.flames:
        return criterion("no flame", True, "")
    spans = [(f.start_s, f.end_s) for f in seen.flames if f.start_s is not None and f.end_s is not None]
    longest = seen.longest_flame_s if not any(f.put_out for f in seen.flames) else None
    known_s = max((end_s - start_s for start_s, end_s in merged_spans(spans)), default=None)
    if known_s is not None and not parameter.admits(known_s):
        return criterion(with_unit(known_s, "s"), False, f"a flame lasted {with_unit(known_s, 's')}, {limit} allowed")
    if longest is None:
        return criterion(NOT_RECORDED, None, "how long each flame lasted is not known")
    return criterion(with_unit(longest, "s"), True, "")


def _counted(edition: MethodEdition, seen: Timeline) -> Timeline:
    """The course with the flames that count; by the other reading only what burned after withdrawal."""
    if edition.parameter("flames_counted").value == "whenever they fall" or seen.application_s is None:
        return seen
    taken_s = seen.application_s
    return replace(seen, events=tuple(_after(event, taken_s) for event in seen.events if _lasts(event, taken_s)))


def _lasts(event: BurnEvent, taken_s: Decimal) -> bool:
    return event.end_s is None or event.end_s > taken_s


def _after(event: BurnEvent, taken_s: Decimal) -> BurnEvent:
    return event if event.start_s is None or event.start_s >= taken_s else replace(event, start_s=taken_s)


def _passed_because(counted: Timeline) -> str:
    if not counted.flames:
        return "no flame"
    return f"the longest flame lasted {digits(counted.longest_flame_s or D(0))} s"


def _remarks(edition: MethodEdition, seen: Timeline) -> tuple[str, ...]:
    """Return what is not judged and must still be said."""
    shared, caught_s = plate.remarks(edition, seen), seen.layer_ignites_s
    if caught_s is None:
        return shared
    return (*shared, f"The layer caught at {digits(caught_s)} s; this is recorded and never judged here.")


FULL_GRID = tuple(severity.value for severity in plate.severities(500))


def _figure(grid: Sequence[Decimal], level: Decimal) -> str:
    """The temperature is one level of the full table above the highest one passed: +25 K, +30 K from 900 °C on."""
    above = next((one for one in FULL_GRID if one > level), None)
    return f">{digits(level)}" if above is None else digits(above)


def _below(grid: Sequence[Decimal]) -> str:
    return f"below {_figure(grid, grid[0])} °C"


def _highest_passed(index: Decimal) -> Decimal:
    """The level below an index, the other way round: 775 means passed at 750, 930 passed at 900."""
    return index - (D(30) if index > 900 else D(25))


INDEX = IndexName("GWIT", _figure, _below)


def judge_line(
    edition: MethodEdition, asked: Asked, trials: Sequence[LineTrial], doubts: Sequence[Doubt]
) -> LineResult:
    """Return the ignition temperature, or the proof at the level ordered, and what is tested next."""
    line = judge_index_line(INDEX, edition, asked, trials, doubts)
    if line.state != "not started" or asked.severity is None:
        return line
    return replace(line, flags=(*line.flags, f"A pass here stands for GWIT {_figure((), asked.severity)}."))


EDITION_2021 = MethodEdition(
    key=f"{SLUG}@2021",
    slug=SLUG,
    edition="2021",
    title="Glow-wire ignition temperature of materials",
    short_title="GWIT",
    standard="IEC 60695-2-13:2021",
    apparatus="IEC 60695-2-10:2021",
    short_standard="2-13:2021",
    rule_version=RULE_VERSION,
    rig_kind="glow wire",
    parameters=(*PARAMETERS_2013, *plate.PARAMETERS, *OWN_PARAMETERS),
    severities=plate.severities(500),
    severity_title="Level",
    conditionings=(plate.CONDITIONING,),
    instruments=apparatus.INSTRUMENTS,
    setup_fields=SETUP_FIELDS,
    observation_kinds=plate.OBSERVATION_KINDS,
    steps=apparatus.STEPS,
    steady=apparatus.STEADY,
    quantities=QUANTITIES,
    decision_rules=(IN_THE_STANDARD,),
    cautions=apparatus.CAUTIONS,
    trial_judge=judge,
    start_judge=plate.start_criteria,
    line_judge=judge_line,
    open_severity="Index search",
    open_start=True,
    search=IndexSearch(search_rule, _highest_passed),
)

EDITION_2014 = replace(
    EDITION_2021,
    key=f"{SLUG}@2014",
    edition="2014",
    standard="IEC 60695-2-13:2010+A1:2014",
    apparatus="IEC 60695-2-10:2013",
    short_standard="2-13:2014",
)

EDITION_2010 = replace(
    EDITION_2021,
    key=f"{SLUG}@2010",
    edition="2010",
    standard="IEC 60695-2-13:2010",
    apparatus="IEC 60695-2-10:2000",
    short_standard="2-13:2010",
    parameters=(*PARAMETERS_2000, *plate.PARAMETERS, *OWN_PARAMETERS),
)

_SHARED = {parameter.key: parameter for parameter in plate.PARAMETERS}

EDITION_2000 = replace(
    EDITION_2010,
    key=f"{SLUG}@2000",
    edition="2000",
    standard="IEC 60695-2-13:2000",
    short_standard="2-13:2000",
    parameters=(
        *PARAMETERS_2000,
        *replaced(
            plate.PARAMETERS,
            replace(_SHARED["judge_consumed"], value=False, note="the 2000 text asks for no such thing"),
        ),
        *OWN_PARAMETERS,
    ),
)

EDITIONS = (EDITION_2000, EDITION_2010, EDITION_2014, EDITION_2021)

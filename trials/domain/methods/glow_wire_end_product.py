"""Glow-wire test on end products, IEC 60695-2-11, editions of 2000, 2014 and 2021."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from trials.domain import glow_wire_apparatus as apparatus
from trials.domain.burning_criteria import (
    application_criterion,
    burning_criterion,
    consumed_criteria,
    layer_criterion,
    scorching_criteria,
    surroundings_criteria,
    watch_criterion,
)
from trials.domain.burning_quantities import QUANTITIES, burning_quantities
from trials.domain.criteria import NOT_RECORDED, Criterion, digits, with_unit
from trials.domain.line_result import Asked, Doubt, LineResult, LineTrial, line_result
from trials.domain.methods.base import MethodEdition, line_rule
from trials.domain.observations import standing
from trials.domain.record_checks import check_record
from trials.domain.records import TrialRecord
from trials.domain.setup_criteria import override_warnings, plain_record_criteria, stated_criteria
from trials.domain.statements import (
    ConditioningNeed,
    DecisionRule,
    ObservationKind,
    Parameter,
    SetupField,
    Severity,
    replaced,
)
from trials.domain.timeline import Timeline, timeline_of
from trials.domain.verdicts import Verdict, verdict_from

D = Decimal
SLUG = "glow-wire-end-product"
RULE_VERSION = 1
CONTACT_S = D(0)
CONFIRM = apparatus.CONFIRM
FROM_MEMORY = "IEC 60695-2-11, from general knowledge"
LAB_PAGE = "a test laboratory's public page on the end-product test"
ABSTRACT_2014 = "public abstract of IEC 60695-2-11:2014 with its change list"
HOUSE = "reading of the published rule"

OWN_PARAMETERS: tuple[Parameter, ...] = (
    Parameter("burn_after_withdrawal_s", "Flames and glow end after withdrawal within", None, "s", high=D(30),
              source=f"{LAB_PAGE}; a trade journal", certainty="published", note="30 s exactly passes"),
    Parameter("limit_counts_from", "The limit counts from", "measured", source=HOUSE,
              choices=("measured", "nominal"), note=f"measured or nominal time in contact; {CONFIRM}"),
    Parameter("watch_after_withdrawal_s", "Watch goes on after withdrawal for", None, "s", low=D(30),
              source=FROM_MEMORY, certainty="from memory", note=CONFIRM),
    Parameter("layer_must_not_catch", "The layer must not catch", True,
              source=f"{LAB_PAGE}; a trade journal", certainty="published"),
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
    Parameter("several_ordered", "When more specimens are ordered", "all must pass", source=HOUSE,
              choices=("all must pass", "first decides"), note=CONFIRM),
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


def judge(edition: MethodEdition, record: TrialRecord) -> Verdict:
    """Return the verdict on one specimen: validity first, then layer, burning time, what is left, surroundings.

    Times are compared unrounded. Raises RecordError for a record that does not fit the edition.
    """
    check_record(edition, record)
    rows = standing(record.observations)
    seen = timeline_of(rows)
    nominal = edition.parameter("limit_counts_from").value == "nominal"
    application_s = edition.number("application_s") if nominal else seen.application_s
    latest_s = None if application_s is None else application_s + edition.number("burn_after_withdrawal_s")
    return verdict_from(
        method_key=edition.key,
        rule_version=edition.rule_version,
        severity=edition.severity_text(record.severity),
        setup_criteria=(
            *start_criteria(edition, record, seen.contact_s),
            application_criterion(edition.parameter("application_s"), seen),
            *plain_record_criteria(edition, rows),
            *_spoiled_criteria(seen),
            *_height_criteria(edition, seen),
        ),
        criteria=_result_criteria(edition, seen, application_s, latest_s),
        passed_because=lambda: _passed_because(seen),
        quantities=burning_quantities(edition, record, seen, latest_s),
        warnings=(*override_warnings(record), *_remarks(edition, seen), *seen.warnings),
        parameters=edition.parameter_texts,
    )


def start_criteria(
    edition: MethodEdition, record: TrialRecord, contact_s: Decimal = CONTACT_S
) -> tuple[Criterion, ...]:
    """Return what must hold before contact; `contact_s` is the moment of contact on the clock of the readings."""
    return (*apparatus.tip_criteria(edition, record, contact_s), *stated_criteria(edition, record))


def judge_line(
    edition: MethodEdition, asked: Asked, trials: Sequence[LineTrial], doubts: Sequence[Doubt]
) -> LineResult:
    """Return the result of an order line by the edition's rule on specimens and doubt."""
    severity = edition.severity_text(asked.severity)
    return line_result(line_rule(edition), severity, trials, doubts, asked.specimens)


def _result_criteria(
    edition: MethodEdition, seen: Timeline, application_s: Decimal | None, latest_s: Decimal | None
) -> tuple[Criterion, ...]:
    burn = edition.parameter("burn_after_withdrawal_s")
    limit = "not known" if application_s is None else f"{digits(application_s)} s + {with_unit(burn.high or D(0), 's')}"
    watch_s = None if seen.application_s is None else seen.application_s + edition.number("watch_after_withdrawal_s")
    return (
        layer_criterion(edition.parameter("layer_must_not_catch"), seen),
        burning_criterion(burn, seen, latest_s, limit),
        *consumed_criteria(edition.parameter("judge_consumed"), seen),
        *surroundings_criteria(edition.parameter("judge_surroundings"), seen),
        *scorching_criteria(edition.parameter("judge_scorching"), seen),
        watch_criterion(edition.parameter("watch_after_withdrawal_s"), seen, watch_s),
    )


def _spoiled_criteria(seen: Timeline) -> tuple[Criterion, ...]:
    lit_s = seen.moment("other_part_ignites")
    if lit_s is None:
        return ()
    reason = f"another part ignited at {digits(lit_s)} s from heat that was not the glow wire"
    return (Criterion("other_part", "Only the glow wire heats the specimen", f"other part lit at {digits(lit_s)} s",
                      "no other part lit by other heat", False, reason,
                      "JIS C 60695-2-11:2016 (IEC 60695-2-11:2014), public text", "published"),)  # fmt: skip


def _height_criteria(edition: MethodEdition, seen: Timeline) -> tuple[Criterion, ...]:
    parameter = edition.parameter("height_required")
    if parameter.value is not True or not seen.flames:
        return ()
    holds, found = (True, "recorded") if seen.heights else (None, NOT_RECORDED)
    reason = "" if holds else "the flame height is not recorded"
    return (Criterion("height", "Flame height recorded", found, "must be recorded", holds, reason,
                      parameter.source, parameter.certainty),)  # fmt: skip


def _passed_because(seen: Timeline) -> str:
    if not seen.flames and not seen.glows:
        return "no flame and no glow, and the layer did not catch"
    ends = ((seen.flames_end_s, "flame"), (seen.glow_ends_s, "glow"))
    last_s, what = max((end_s, name) for end_s, name in ends if end_s is not None)
    return f"the {what} was out at {digits(last_s)} s, and the layer did not catch"


def _remarks(edition: MethodEdition, seen: Timeline) -> tuple[str, ...]:
    """Return what is not judged and must still be said."""
    remarks = []
    carried_s, consumed, scorched = seen.moment("carried_off"), seen.finding("consumed"), seen.finding("board_scorched")
    if carried_s is not None:
        remarks.append(f"To be reported: at {digits(carried_s)} s the burning material left with the wire.")
    if consumed is True and not consumed_criteria(edition.parameter("judge_consumed"), seen):
        remarks.append("The specimen was consumed; this is not judged here and a lead should look at it.")
    if scorched is True and edition.parameter("judge_scorching").value is not True:
        remarks.append("The board was scorched; this is recorded and not judged.")
    surrounded_s = seen.moment("surroundings_catch")
    if surrounded_s is not None and edition.parameter("judge_surroundings").value is not True:
        remarks.append(f"The surroundings caught fire at {digits(surrounded_s)} s; this is recorded and not judged.")
    return tuple(remarks)


EDITION_2021 = MethodEdition(
    key=f"{SLUG}@2021",
    slug=SLUG,
    edition="2021",
    title="Glow-wire test on end products",
    short_title="Glow wire, end product",
    standard="IEC 60695-2-11:2021",
    apparatus="IEC 60695-2-10:2021",
    short_standard="2-11:2021",
    rule_version=RULE_VERSION,
    rig_kind="glow wire",
    parameters=(*apparatus.PARAMETERS_2013, *OWN_PARAMETERS),
    severities=SEVERITIES,
    conditionings=(ConditioningNeed("15-35/45-75", "conditioning_h", "use_within_h", enforced=True,
                                    use_within_enforced=False),),
    instruments=apparatus.INSTRUMENTS,
    setup_fields=(*apparatus.SETUP_FIELDS, *OWN_FIELDS),
    observation_kinds=OBSERVATION_KINDS,
    steps=apparatus.STEPS,
    steady=apparatus.STEADY,
    quantities=QUANTITIES,
    decision_rules=(DecisionRule("in the standard", "Inherent in the standard",
                                 "figures are compared as measured, limits included"),),
    cautions=apparatus.CAUTIONS,
    trial_judge=judge,
    start_judge=start_criteria,
    line_judge=judge_line,
)  # fmt: skip

EDITION_2014 = replace(
    EDITION_2021,
    key=f"{SLUG}@2014",
    edition="2014",
    standard="IEC 60695-2-11:2014",
    apparatus="IEC 60695-2-10:2013",
    short_standard="2-11:2014",
)

_OWN = {parameter.key: parameter for parameter in OWN_PARAMETERS}

EDITION_2000 = replace(
    EDITION_2021,
    key=f"{SLUG}@2000",
    edition="2000",
    standard="IEC 60695-2-11:2000",
    apparatus="IEC 60695-2-10:2000",
    short_standard="2-11:2000",
    parameters=(
        *apparatus.PARAMETERS_2000,
        *replaced(
            OWN_PARAMETERS,
            replace(_OWN["judge_consumed"], value=False),
            replace(_OWN["height_required"], value=True, note="required by this edition only"),
        ),
    ),
)

EDITIONS = (EDITION_2000, EDITION_2014, EDITION_2021)

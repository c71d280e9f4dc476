"""Glow-wire test on end products, IEC 60695-2-11, editions of 2000, 2014 and 2021."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from calibration.domain.decisions import DecisionRule
from trials.domain import glow_wire_apparatus as apparatus
from trials.domain.burning_criteria import (
    application_criterion,
    burning_criterion,
    consumed_criteria,
    layer_criteria,
    layer_remarks,
    layer_words,
    scorching_criteria,
    surroundings_criteria,
    watch_criterion,
)
from trials.domain.burning_quantities import QUANTITIES, burning_quantities
from trials.domain.criteria import NOT_RECORDED, Criterion, digits, with_unit
from trials.domain.end_product_statements import OBSERVATION_KINDS, OWN_FIELDS, OWN_PARAMETERS, SEVERITIES
from trials.domain.flame_line import flame_line_criteria, follow_ups
from trials.domain.level_line import level_line
from trials.domain.line_result import Asked, Doubt, LineResult, LineTrial
from trials.domain.methods.base import MethodEdition
from trials.domain.observations import standing
from trials.domain.points import point_criteria, unstated_points
from trials.domain.record_checks import check_record
from trials.domain.records import TrialRecord
from trials.domain.setup_criteria import override_warnings, plain_record_criteria, stated_criteria
from trials.domain.small_part import small_part_criteria
from trials.domain.statements import ConditioningNeed, replaced
from trials.domain.timeline import Timeline, timeline_of
from trials.domain.verdicts import Verdict, outcome_of, verdict_from

D = Decimal
SLUG = "glow-wire-end-product"
RULE_VERSION = 1
CONTACT_S = D(0)


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
    setup_criteria = (
        *start_criteria(edition, record, seen.contact_s),
        application_criterion(edition.parameter("application_s"), seen),
        *plain_record_criteria(edition, rows),
        *_spoiled_criteria(seen),
        *_height_criteria(edition, seen),
    )
    criteria = _result_criteria(edition, seen, application_s, latest_s)
    passed = outcome_of(setup_criteria, criteria) == "pass"
    return verdict_from(
        method_key=edition.key,
        rule_version=edition.rule_version,
        severity=edition.severity_text(record.severity),
        setup_criteria=setup_criteria,
        criteria=(*criteria, *flame_line_criteria(edition, seen, passed=passed)),
        passed_because=lambda: _passed_because(seen),
        quantities=burning_quantities(edition, record, seen, latest_s),
        warnings=(*override_warnings(record), *_remarks(edition, seen), *seen.warnings),
        parameters=edition.parameter_texts,
    )


def start_criteria(
    edition: MethodEdition, record: TrialRecord, contact_s: Decimal = CONTACT_S
) -> tuple[Criterion, ...]:
    """Return what must hold before contact; `contact_s` is the moment of contact on the clock of the readings."""
    return (
        *apparatus.tip_criteria(edition, record, contact_s),
        *stated_criteria(edition, record),
        *small_part_criteria(edition, record),
        *point_criteria(edition, record),
    )


def judge_line(
    edition: MethodEdition, asked: Asked, trials: Sequence[LineTrial], doubts: Sequence[Doubt]
) -> LineResult:
    """Return the result of an order line by the edition's rule on specimens and doubt, with what it asks for beyond."""
    line = level_line(edition, asked, trials, doubts)
    return replace(line, flags=(*line.flags, *unstated_points(edition, trials), *follow_ups(line, trials)))


def _result_criteria(
    edition: MethodEdition, seen: Timeline, application_s: Decimal | None, latest_s: Decimal | None
) -> tuple[Criterion, ...]:
    burn = edition.parameter("burn_after_withdrawal_s")
    limit = "not known" if application_s is None else f"{digits(application_s)} s + {with_unit(burn.high or D(0), 's')}"
    watch_s = None if seen.application_s is None else seen.application_s + edition.number("watch_after_withdrawal_s")
    judged = seen if edition.parameter("judge_glow").value is True else replace(seen, events=seen.flames)
    return (
        *layer_criteria(edition.parameter("layer_must_not_catch"), seen),
        burning_criterion(burn, judged, latest_s, limit),
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
    layer = layer_words(seen)
    ends = [
        (end_s, name) for end_s, name in ((seen.flames_end_s, "flame"), (seen.glow_ends_s, "glow")) if end_s is not None
    ]
    if not ends:
        return f"{'no flame' if seen.glows else 'no flame and no glow'}, and {layer}"
    last_s, what = max(ends)
    return f"the {what} was out at {digits(last_s)} s, and {layer}"


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
    remarks += layer_remarks(edition.parameter("layer_must_not_catch"), seen)
    if seen.glows and edition.parameter("judge_glow").value is not True:
        remarks.append("Glow was seen; its end is recorded and not judged.")
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
    point_field="point",
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

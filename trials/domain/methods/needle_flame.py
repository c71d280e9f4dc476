"""Needle-flame test, IEC 60695-11-5, editions of 2004 and 2016."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from calibration.domain.decisions import IN_THE_STANDARD
from trials.domain import needle_flame_apparatus as apparatus
from trials.domain.afterburn import afterburn_criterion, afterburn_s, criteria_with_extent
from trials.domain.burning_criteria import (
    layer_criteria,
    layer_remarks,
    layer_words,
    scorching_criteria,
    surroundings_criteria,
    watch_criterion,
)
from trials.domain.criteria import NOT_RECORDED, Criterion, digits, with_unit
from trials.domain.level_line import level_line
from trials.domain.line_result import Asked, Doubt, LineResult, LineTrial
from trials.domain.methods.base import MethodEdition
from trials.domain.observations import standing
from trials.domain.record_checks import check_record
from trials.domain.records import TrialRecord
from trials.domain.setup_criteria import override_warnings, plain_record_criteria
from trials.domain.spoiled import spoiled_criteria
from trials.domain.statements import (
    ConditioningNeed,
    ObservationKind,
    Parameter,
    QuantityKind,
    Severity,
    Step,
)
from trials.domain.timeline import Timeline, timeline_of
from trials.domain.verdicts import Quantity, Verdict, verdict_from

D = Decimal
SLUG = "needle-flame"
RULE_VERSION = 1
CONFIRM = apparatus.CONFIRM
NOTES = apparatus.NOTES
HOUSE = "reading of the published rule"
TWO_PAGES = f"{NOTES}; a material data site's page on the test"

OWN_PARAMETERS: tuple[Parameter, ...] = (
    Parameter("application_deviation_s", "Time of application against the one ordered", None, "s", low=D(-1), high=D(0),
              source=NOTES, certainty="published", note="IEC 60335-1 annex E: one second either way"),
    Parameter("burn_after_removal_s", "Flames and glow end after removal within", None, "s", high=D(30),
              source=TWO_PAGES, certainty="published", note="15 s for printed boards under IEC 60335-1"),
    Parameter("limit_inclusive", "Burning for exactly that time is allowed", False, source=TWO_PAGES,
              certainty="published", note=f"allowed under IEC 60335-1 and IEC 60598-1; {CONFIRM}"),
    Parameter("extent_mm", "Extent of burning, limit of the product standard", None, "mm",
              source="a material data site's page on the test", certainty="published",
              note="not set as delivered; within it, limit included, the specimen passes by itself"),
    Parameter("watch_after_removal_s", "Watch goes on after removal for", None, "s", low=D(30), source=HOUSE,
              note=CONFIRM),
    Parameter("layer_must_not_catch", "The layer must not catch", True, source=TWO_PAGES, certainty="published"),
    Parameter("judge_surroundings", "Surroundings that catch fire fail the specimen", True, source=NOTES,
              certainty="published", note=f"judged when recorded; {CONFIRM}"),
    Parameter("judge_scorching", "Scorching of the board fails the specimen", False, source=HOUSE,
              note=f"on by the older text and where a product standard asks for it; {CONFIRM}"),
    Parameter("conditioning_h", "Conditioned for", None, "h", low=D(24),
              source=f"{apparatus.FROM_MEMORY}; the same for the layer: {NOTES}", certainty="from memory",
              note=CONFIRM),
    Parameter("specimens_needed", "Specimens", D(3), source=NOTES, certainty="published",
              note="IEC 60335-1 annex E: one"),
    Parameter("further_specimens", "Further specimens, all of which must pass", D(2),
              source="IEC 60335-1 annex E as quoted in public", certainty="published"),
    Parameter("further_rule", "Further specimens are tested", "none", source=NOTES, certainty="published",
              choices=("none", "after a fail", "in doubt"), note="IEC 60335-1 annex E: two more after a fail"),
    Parameter("several_ordered", "When more specimens are ordered", "all must pass", source=HOUSE,
              choices=("all must pass", "first decides"), note=CONFIRM),
)  # fmt: skip

OBSERVATION_KINDS: tuple[ObservationKind, ...] = (
    ObservationKind("contact", "Flame on", "t0", repeats=False, digit="Enter"),
    ObservationKind("ignites", "Ignites", "ti", digit="1", prompt="the specimen, not the needle flame"),
    ObservationKind("flame_out", "Flame out", "out", ends="ignites", digit="1", prompt="glow can still follow"),
    ObservationKind("drip", "Drip", "drip", digit="2"),
    ObservationKind("layer_catches", "Layer catches", "layer", digit="3"),
    ObservationKind("layer_out", "Layer out", "layer out", ends="layer_catches", digit="3"),
    ObservationKind("surroundings_catch", "Surroundings catch fire", "around", digit="4"),
    ObservationKind("glow_starts", "Glow starts", "glow", digit="5"),
    ObservationKind("glow_ends", "Glow ends", "glow out", ends="glow_starts", digit="5"),
    ObservationKind("withdrawn", "Flame taken away", "ta", repeats=False, digit="Enter"),
    ObservationKind("watch_ends", "Watch ends", "end", digit="Enter", prompt="nothing burns, glows or can still catch"),
    ObservationKind("burner_moved", "Burner moved", "moved", digit="6", prompt="to follow the material or dodge drips"),
    ObservationKind("burner_out", "Burner went out", "burner", digit="7", prompt="spoils the trial"),
    ObservationKind("put_out", "Put out by hand", "put out", digit="8"),
    ObservationKind("extent", "Extent of burning", "l", "number", unit="mm", resolution=D(1), timed=False,
                    repeats=False, when="after", prompt="longest burnt or damaged length, without soot"),
    ObservationKind("board_scorched", "Board scorched", "board", "yes-no", timed=False, repeats=False, when="after"),
    ObservationKind("note", "Something else", "note", "text", timed=False, when="both", digit="7"),
)  # fmt: skip

QUANTITIES: tuple[QuantityKind, ...] = (
    QuantityKind("application", "Flame applied", "t_a", "s", table=True),
    QuantityKind("ignites", "Specimen ignites", "t_i", "s", table=True),
    QuantityKind("afterburn", "Burns after removal", "t_b", "s", table=True),
    QuantityKind("layer_ignites", "Layer ignites", "", "s", table=True),
    QuantityKind("extent", "Extent of burning", "l", "mm", table=True),
    QuantityKind("drips", "Drips", "", ""),
)


def judge(edition: MethodEdition, record: TrialRecord) -> Verdict:
    """Return the verdict on one specimen: validity first, then layer, burning after removal, surroundings, extent.

    Times are compared unrounded. An extent within the limit of the product standard passes by itself.
    Raises RecordError for a record that does not fit the edition.
    """
    check_record(edition, record)
    rows = standing(record.observations)
    seen = timeline_of(rows)
    return verdict_from(
        method_key=edition.key,
        rule_version=edition.rule_version,
        severity=edition.severity_text(record.severity),
        setup_criteria=(
            *apparatus.start_criteria(edition, record),
            _application_criterion(edition, record.severity, seen),
            *plain_record_criteria(edition, rows),
            *spoiled_criteria(seen, "burner_out", title="The burner stays lit", limit="lit to the end",
                              what="the burner", happened="went out", ended="the flame was taken away",
                              source=apparatus.PRACTICE),
        ),
        criteria=_result_criteria(edition, seen),
        passed_because=lambda: _passed_because(edition, seen),
        quantities=_quantities(edition, seen),
        warnings=(*override_warnings(record), *apparatus.place_warnings(edition, record), *_remarks(edition, seen),
                  *seen.warnings),
        parameters=edition.parameter_texts,
    )  # fmt: skip


def judge_line(
    edition: MethodEdition, asked: Asked, trials: Sequence[LineTrial], doubts: Sequence[Doubt]
) -> LineResult:
    """Return the result of an order line by the edition's rule on specimens."""
    return level_line(edition, asked, trials, doubts)


def _application_criterion(edition: MethodEdition, ordered_s: Decimal | None, seen: Timeline) -> Criterion:
    parameter = edition.parameter("application_deviation_s")
    low, high = parameter.bounds
    level_s = ordered_s if ordered_s is not None else D(0)
    limit = f"{digits(level_s + (low or D(0)))} to {with_unit(level_s + (high or D(0)), 's')}"
    found, holds, reason = NOT_RECORDED, None, "how long the flame was applied is not recorded"
    if seen.application_s is not None:
        found = with_unit(seen.application_s, "s")
        holds = parameter.admits(seen.application_s - level_s)
        reason = "" if holds else f"the flame was applied for {found}, outside {limit}"
    return Criterion("application", "Flame applied", found, limit, holds, reason, parameter.source,
                     parameter.certainty)  # fmt: skip


def _result_criteria(edition: MethodEdition, seen: Timeline) -> tuple[Criterion, ...]:
    watch = edition.parameter("watch_after_removal_s")
    watch_s = None if seen.application_s is None else seen.application_s + edition.number(watch.key)
    others = (
        *layer_criteria(edition.parameter("layer_must_not_catch"), seen),
        afterburn_criterion(edition, seen),
        *surroundings_criteria(edition.parameter("judge_surroundings"), seen),
        *scorching_criteria(edition.parameter("judge_scorching"), seen),
    )
    return (*criteria_with_extent(edition, seen, others), watch_criterion(watch, seen, watch_s))


def _passed_because(edition: MethodEdition, seen: Timeline) -> str:
    extent = edition.parameter("extent_mm")
    found = seen.finding("extent")
    if isinstance(found, Decimal) and extent.bounds != (None, None) and extent.admits(found):
        return f"the extent of burning of {with_unit(found, 'mm')} is within {extent.limit_text}"
    burned_s = afterburn_s(seen)
    if burned_s is None:
        return f"no flame and no glow, and {layer_words(seen)}"
    if burned_s == 0:
        return f"nothing burned after removal, and {layer_words(seen)}"
    return f"it burned for {digits(burned_s)} s after removal, and {layer_words(seen)}"


def _remarks(edition: MethodEdition, seen: Timeline) -> tuple[str, ...]:
    """Return what is not judged and must still be said."""
    remarks = [*layer_remarks(edition.parameter("layer_must_not_catch"), seen)]
    surrounded_s = seen.moment("surroundings_catch")
    if surrounded_s is not None and edition.parameter("judge_surroundings").value is not True:
        remarks.append(f"The surroundings caught fire at {digits(surrounded_s)} s; this is recorded and not judged.")
    if seen.finding("board_scorched") is True and edition.parameter("judge_scorching").value is not True:
        remarks.append("The board was scorched; this is recorded and not judged.")
    return tuple(remarks)


def _quantities(edition: MethodEdition, seen: Timeline) -> tuple[Quantity, ...]:
    watched = seen.watch_ends_s is not None
    burned = bool(seen.flames or seen.glows)
    extent = seen.finding("extent")
    known: dict[str, tuple[Decimal | None, str]] = {
        "application": (seen.application_s, NOT_RECORDED),
        "ignites": (seen.specimen_ignites_s, "no ignition" if watched and not seen.flames else NOT_RECORDED),
        "afterburn": (afterburn_s(seen), NOT_RECORDED if burned or not watched else "no flame, no glow"),
        "layer_ignites": (seen.layer_ignites_s, "not caught" if watched else NOT_RECORDED),
        "extent": (extent if isinstance(extent, Decimal) else None, NOT_RECORDED),
        "drips": (D(len(seen.drips_s)) if seen.drips_s else None, "none" if watched else NOT_RECORDED),
    }
    texts = {key: otherwise if value is None else digits(value) for key, (value, otherwise) in known.items()}
    return tuple(
        Quantity(kind.key, kind.title, kind.symbol, kind.unit, known[kind.key][0], texts[kind.key])
        for kind in edition.quantities
    )


EDITION_2016 = MethodEdition(
    key=f"{SLUG}@2016",
    slug=SLUG,
    edition="2016",
    title="Needle-flame test",
    short_title="Needle flame",
    standard="IEC 60695-11-5:2016",
    apparatus="IEC 60695-11-5:2016",
    short_standard="11-5:2016",
    rule_version=RULE_VERSION,
    rig_kind="needle flame",
    parameters=(*apparatus.PARAMETERS, *OWN_PARAMETERS),
    severities=tuple(Severity(D(seconds), "s") for seconds in (5, 10, 20, 30, 60, 120)),
    severity_title="Time of application",
    conditionings=(ConditioningNeed("15-35/45-75", "conditioning_h", "", enforced=True, use_within_enforced=False),),
    instruments=apparatus.INSTRUMENTS,
    setup_fields=apparatus.SETUP_FIELDS,
    observation_kinds=OBSERVATION_KINDS,
    steps=(
        Step("contact", "Put the flame on"),
        Step("withdrawn", "Take the flame away", due_s="severity", out_within_s="burn_after_removal_s"),
        Step("watch_ends", "End watching", after="withdrawn", due_s="watch_after_removal_s", once_out=True),
    ),
    quantities=QUANTITIES,
    decision_rules=(IN_THE_STANDARD,),
    cautions=apparatus.CAUTIONS,
    trial_judge=judge,
    start_judge=apparatus.start_criteria,
    line_judge=judge_line,
    heat_source="needle flame",
)

EDITION_2004 = replace(
    EDITION_2016,
    key=f"{SLUG}@2004",
    edition="2004",
    standard="IEC 60695-11-5:2004",
    apparatus="IEC 60695-11-5:2004",
    short_standard="11-5:2004",
)

EDITIONS = (EDITION_2004, EDITION_2016)

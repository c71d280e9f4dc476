"""A method that exists in the tests only: a wick is lit for a while and the loss of mass is judged. All invented."""

from collections.abc import Sequence
from decimal import Decimal

from calibration.domain.decisions import IN_THE_STANDARD
from trials.domain.criteria import NOT_RECORDED, Criterion, digits, with_unit
from trials.domain.line_result import Asked, Doubt, LineResult, LineTrial, line_result
from trials.domain.methods.base import MethodEdition, line_rule
from trials.domain.observations import standing
from trials.domain.record_checks import check_record
from trials.domain.records import TrialRecord
from trials.domain.setup_criteria import plain_record_criteria, stated_criteria
from trials.domain.statements import (
    ConditioningNeed,
    InstrumentNeed,
    ObservationKind,
    Parameter,
    QuantityKind,
    SetupField,
    Severity,
    Step,
)
from trials.domain.timeline import timeline_of
from trials.domain.verdicts import Quantity, Verdict, verdict_from

D = Decimal
MADE_UP = "made up for the tests"

PARAMETERS = (
    Parameter("burning_time_s", "The wick burns for", D(20), "s", tolerance=D(2), source=MADE_UP),
    Parameter("mass_loss_percent", "Loss of mass", None, "%", high=D("1.5"), source=MADE_UP),
    Parameter("wick_new", "New wick", True, source=MADE_UP),
    Parameter("conditioning_h", "Conditioned for", None, "h", low=D(12), source=MADE_UP),
    Parameter("specimens_needed", "Specimens", D(1), source=MADE_UP),
    Parameter("further_specimens", "Further specimens", D(0), source=MADE_UP),
    Parameter("further_rule", "Further specimens are tested", "none", source=MADE_UP,
              choices=("none", "in doubt", "after a fail")),
    Parameter("failing_extra", "A specimen beyond those asked for that fails", "holds the line", source=MADE_UP,
              choices=("holds the line", "is listed only")),
    Parameter("several_ordered", "When more specimens are ordered", "all must pass", source=MADE_UP,
              choices=("all must pass", "first decides")),
)  # fmt: skip


def judge(edition: MethodEdition, record: TrialRecord) -> Verdict:
    """Return whether the loss of mass is within its limit."""
    check_record(edition, record)
    rows = standing(record.observations)
    loss = timeline_of(rows).finding("mass_loss")
    limit = edition.parameter("mass_loss_percent")
    known = isinstance(loss, Decimal)
    found = with_unit(loss, "%") if isinstance(loss, Decimal) else NOT_RECORDED
    holds = limit.admits(loss) if isinstance(loss, Decimal) else None
    reason = {None: "the loss of mass is not recorded", True: "", False: f"the loss of mass is {found}"}[holds]
    return verdict_from(
        method_key=edition.key,
        rule_version=edition.rule_version,
        severity=edition.severity_text(record.severity),
        setup_criteria=(*stated_criteria(edition, record), *plain_record_criteria(edition, rows)),
        criteria=(Criterion("mass_loss", "Loss of mass", found, limit.limit_text, holds, reason, MADE_UP,
                            "common practice"),),
        passed_because=lambda: f"the loss of mass is {found}",
        quantities=(Quantity("mass_loss", "Loss of mass", "Δm", "%", loss if isinstance(loss, Decimal) else None,
                             digits(loss) if known and isinstance(loss, Decimal) else NOT_RECORDED),),
        warnings=(),
        parameters=edition.parameter_texts,
    )  # fmt: skip


def judge_line(
    edition: MethodEdition, asked: Asked, trials: Sequence[LineTrial], doubts: Sequence[Doubt]
) -> LineResult:
    """Return the result of a line like that of any proof."""
    return line_result(line_rule(edition), edition.severity_text(asked.severity), trials, doubts, asked.specimens)


NINTH = MethodEdition(
    key="lit-wick@2030",
    slug="lit-wick",
    edition="2030",
    title="Lit-wick test",
    short_title="Lit wick",
    standard="Invented standard 9:2030",
    apparatus="Invented standard 9:2030",
    short_standard="IS 9:2030",
    rule_version=1,
    rig_kind="other",
    parameters=PARAMETERS,
    severities=(Severity(D(1), "wick"), Severity(D(2), "wicks")),
    conditionings=(ConditioningNeed("15-35/45-75", "conditioning_h", "", enforced=True, use_within_enforced=False),),
    instruments=(InstrumentNeed("balance", "balance", "reads 0.1 mg", MADE_UP, "common practice"),),
    setup_fields=(
        SetupField("wick_new", "New wick in the holder", "yes-no", required=True, parameter="wick_new", digit="1"),
        SetupField("wick_length_mm", "Length of the wick", "number", "mm", D(1), required=True, digit="2",
                   stays_with_rig=True),
    ),
    observation_kinds=(
        ObservationKind("contact", "Wick lit", "t0", repeats=False, digit="Enter"),
        ObservationKind("withdrawn", "Wick put out", "out", repeats=False, digit="Enter"),
        ObservationKind("sputter", "Wick sputters", "sputter", digit="1"),
        ObservationKind("watch_ends", "Holder cool", "cool", repeats=False, digit="Enter"),
        ObservationKind("mass_loss", "Loss of mass", "Δm", "number", unit="%", resolution=D("0.1"), timed=False,
                        repeats=False, when="after"),
        ObservationKind("note", "Something else", "note", "text", timed=False, when="both", digit="7"),
    ),
    steps=(
        Step("contact", "Light the wick"),
        Step("withdrawn", "Put the wick out", due_s="burning_time_s"),
        Step("watch_ends", "Let it cool"),
    ),
    quantities=(QuantityKind("mass_loss", "Loss of mass", "Δm", "%"),),
    decision_rules=(IN_THE_STANDARD,),
    cautions=("Open flame: nothing flammable near it. Local codes and licensed practice come first.",),
    trial_judge=judge,
    start_judge=stated_criteria,
    line_judge=judge_line,
    severity_title="Wicks",
    heat_source="wick",
    layer_name="",
    burns=False,
)  # fmt: skip

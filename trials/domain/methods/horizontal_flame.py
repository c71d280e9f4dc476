"""Horizontal 50 W flame test for classes HB, HB40 and HB75, IEC 60695-11-10 method A, editions 1999, 2003 and 2013."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from calibration.domain.decisions import ALL_RULES, CLIENTS_OWN
from trials.domain import small_flame as apparatus
from trials.domain.class_line import judge_classes
from trials.domain.criteria import NOT_RECORDED, Criterion, digits, with_unit
from trials.domain.flame_book import VALID, line_of
from trials.domain.flame_classes import Family, classed
from trials.domain.flame_sets import ClassLimits, SetRule
from trials.domain.horizontal_bar import (
    FAST,
    SLOW,
    BarFront,
    bar_front,
    class_criteria,
    class_limit,
    rate_text,
    thickness_class_criteria,
)
from trials.domain.horizontal_flame_statements import (
    HB,
    HB40,
    HB75,
    OBSERVATION_KINDS,
    OWN_FIELDS,
    OWN_PARAMETERS,
    QUANTITIES,
    STEPS,
    conditioned,
)
from trials.domain.line_result import Asked, Doubt, LineResult, LineTrial
from trials.domain.methods.base import MethodEdition
from trials.domain.observations import standing
from trials.domain.record_checks import check_record
from trials.domain.records import TrialRecord
from trials.domain.setup_criteria import override_warnings, plain_record_criteria
from trials.domain.small_flame import HOUSE
from trials.domain.timeline import Timeline, timeline_of
from trials.domain.verdicts import Quantity, Verdict, verdict_from

D = Decimal
SLUG = "horizontal-flame"
RULE_VERSION = 1
APPLICATIONS = (("contact", "withdrawn"),)
THIN = "the method does not apply to it: thin material is tested by ISO 9773"


def start_criteria(edition: MethodEdition, record: TrialRecord) -> tuple[Criterion, ...]:
    """Return what must hold before the flame is put on, the class of the thickness included."""
    return (*apparatus.start_criteria(edition, record), *thickness_class_criteria(edition, record))


def judge(edition: MethodEdition, record: TrialRecord) -> Verdict:
    """Return the verdict on one bar: validity first, then the front and the rate, for the class ordered or the best.

    The rate is compared unrounded, by the order's decision rule. Raises RecordError for a record that does not fit.
    """
    check_record(edition, record)
    rows = standing(record.observations)
    seen = timeline_of(rows)
    bar = bar_front(edition, seen)
    setup_criteria = (
        *start_criteria(edition, record),
        _application_criterion(edition, seen, bar),
        *plain_record_criteria(edition, rows),
        *apparatus.burner_out_criteria(seen, APPLICATIONS),
        *_put_out_criteria(bar),
    )
    by_limit = {limit: class_criteria(edition, limit, bar) for limit in (SLOW, FAST)}
    judged = {level.value: by_limit[class_limit(edition, record, level.label)] for level in (HB40, HB75, HB)}
    own = classed(edition, record, setup_criteria, judged, (HB40.value, HB75.value))
    return verdict_from(
        method_key=edition.key,
        rule_version=edition.rule_version,
        severity=own.severity_text,
        setup_criteria=setup_criteria,
        criteria=own.criteria,
        passed_because=lambda: _passed_because(edition, bar),
        quantities=(*_quantities(edition, record, seen, bar), *own.quantities),
        warnings=(*override_warnings(record), *_remarks(edition, seen), *seen.warnings),
        parameters=edition.parameter_texts,
    )


def judge_line(
    edition: MethodEdition, asked: Asked, trials: Sequence[LineTrial], doubts: Sequence[Doubt]
) -> LineResult:
    """Return the result of an order line: a set of bars, a second one where only one fails, and how thin HB holds."""
    ladder = tuple(ClassLimits(level.value, level.label) for level in (HB40, HB75))
    beside = (ClassLimits(HB.value, HB.label),)
    family = Family("HB", ladder, SetRule(edition.specimens_needed), beside, shrinks=THIN)
    line = judge_classes(edition, family, asked, trials, doubts)
    if line.state not in ("passed", "determined"):
        return line
    return replace(line, reasons=(*line.reasons, *_carried_down(edition, family, trials)))


def _carried_down(edition: MethodEdition, family: Family, trials: Sequence[LineTrial]) -> tuple[str, ...]:
    """HB of bars of the 3.0 mm class, none of which burned faster than the lower rate, holds for thinner bars too."""
    book = line_of(edition, family, None, trials, ())
    plan = family.plans[0][0]
    finding = book.findings(family.beside[0]).plans[plan]
    if finding.state != "passed":
        return ()
    bars = book.bars[plan][: family.rule.size] if finding.second is None else book.second_bars[plan]
    names = {bar.specimen for bar in bars}
    verdicts = [t.verdict for t in book.run if t.specimen in names and t.verdict.outcome in VALID]
    low, high = edition.number("thick_class_from_mm"), edition.number("thick_class_to_mm")
    thick = [one.quantity("thickness").value for one in verdicts]
    slow = edition.number(SLOW.parameter)
    rates = [one.quantity("rate").value for one in verdicts]
    of_class = all(one is not None and low <= one <= high for one in thick)
    if not of_class or any(one is not None and one > slow for one in rates):
        return ()
    down = with_unit(edition.number("carries_down_to_mm"), "mm")
    return (f"HB at 3.0 mm holds down to {down}: no bar burned faster than {with_unit(slow, 'mm/min')}.",)


def _application_criterion(edition: MethodEdition, seen: Timeline, bar: BarFront) -> Criterion:
    """The flame acts for its time, or is taken away as the front comes to the first mark: two keys, either first."""
    parameter, near = edition.parameter("application_s"), edition.parameter("off_at_mark_s")
    applied_s, found, holds = seen.application_s, NOT_RECORDED, None
    reason = "how long the flame was applied is not recorded"
    if applied_s is not None:
        found, holds = with_unit(applied_s, "s"), parameter.admits(applied_s)
        reason = f"the flame was applied for {found}, outside {parameter.limit_text}"
        late_s = D(0) if bar.at_first_s is None else applied_s - bar.at_first_s
        if not near.admits(late_s):
            holds = False
            reason = f"the flame stayed {with_unit(late_s, 's')} after the front was at the first mark"
        elif bar.at_first_s is not None and near.admits(-late_s):
            holds = applied_s <= (parameter.bounds[1] or D(0))
    limit = f"{parameter.limit_text}, or until the first mark"
    return Criterion("application", parameter.title, found, limit, holds, "" if holds else reason, parameter.source,
                     parameter.certainty)  # fmt: skip


def _put_out_criteria(bar: BarFront) -> tuple[Criterion, ...]:
    if bar.put_out_s is None or bar.passed is True:
        return ()
    at = f"{digits(bar.put_out_s)} s"
    reason = f"the flame was put out at {at}, before the front had passed the second mark: the bar is replaced"
    return (Criterion("put_out", "The bar burns undisturbed", f"put out at {at}", "not put out before the second mark",
                      False, reason, HOUSE, "common practice"),)  # fmt: skip


def _passed_because(edition: MethodEdition, bar: BarFront) -> str:
    if bar.passed is True and bar.rate_mm_min is not None:
        return f"it burned at {digits(rate_text(edition, bar.rate_mm_min))} mm/min between the marks"
    if bar.afterflame is False:
        return "no flame after the burner was taken away"
    if bar.short_of_first:
        return "the front stopped before the first mark"
    return f"the front stopped {digits(bar.length_mm or D(0))} mm past the first mark"


def _remarks(edition: MethodEdition, seen: Timeline) -> tuple[str, ...]:
    """Return what was recorded and does not fit together."""
    damaged, second_s = seen.finding("damaged_length"), seen.moment("front_second")
    span_mm = edition.number("second_mark_mm") - edition.number("first_mark_mm")
    if second_s is not None and isinstance(damaged, Decimal) and damaged < span_mm:
        return (f"The front is recorded past the second mark, yet only {with_unit(damaged, 'mm')} are damaged.",)
    if seen.moment("front_first") is None and (second_s is not None or isinstance(damaged, Decimal)):
        return ("When the front was at the first mark is not recorded.",)
    return ()


def _quantities(edition: MethodEdition, record: TrialRecord, seen: Timeline, bar: BarFront) -> tuple[Quantity, ...]:
    nominal, thickness = record.figure("nominal_mm"), record.figure("thickness_mm")
    watched, rate = seen.watch_ends_s is not None, bar.rate_mm_min
    short = "not reached" if watched and bar.passed is False else NOT_RECORDED
    known: dict[str, tuple[Decimal | None, str]] = {
        "nominal": (nominal if isinstance(nominal, Decimal) else None, NOT_RECORDED),
        "thickness": (thickness if isinstance(thickness, Decimal) else None, NOT_RECORDED),
        "application": (seen.application_s, NOT_RECORDED),
        "at_first": (bar.at_first_s, short),
        "at_second": (bar.at_second_s, "not passed" if bar.passed is False else NOT_RECORDED),
        "length": (bar.length_mm, "none" if bar.passed is False else NOT_RECORDED),
        "burning": (bar.burning_s, "none" if bar.passed is False else NOT_RECORDED),
        "rate": (rate, "none" if bar.passed is False else NOT_RECORDED),
    }
    texts = {key: otherwise if value is None else digits(value) for key, (value, otherwise) in known.items()}
    if rate is not None:
        texts["rate"] = digits(rate_text(edition, rate))
    kinds = [kind for kind in edition.quantities if kind.key in known]
    return tuple(Quantity(k.key, k.title, k.symbol, k.unit, known[k.key][0], texts[k.key]) for k in kinds)


EDITION_2013 = MethodEdition(
    key=f"{SLUG}@2013",
    slug=SLUG,
    edition="2013",
    title="Horizontal 50 W flame test",
    short_title="Horizontal flame",
    standard="IEC 60695-11-10:2013",
    apparatus="IEC 60695-11-4",
    short_standard="11-10:2013 A",
    rule_version=RULE_VERSION,
    rig_kind="small burner",
    parameters=(*apparatus.PARAMETERS, *OWN_PARAMETERS),
    severities=(HB40, HB75, HB),
    conditionings=(conditioned("23/50 class 2"),),
    instruments=apparatus.INSTRUMENTS,
    setup_fields=(*apparatus.SETUP_FIELDS, *OWN_FIELDS),
    observation_kinds=OBSERVATION_KINDS,
    steps=STEPS,
    quantities=QUANTITIES,
    decision_rules=tuple(rule for rule in ALL_RULES if rule.key != CLIENTS_OWN),
    cautions=apparatus.CAUTIONS,
    trial_judge=judge,
    start_judge=start_criteria,
    line_judge=judge_line,
    severity_title="Class",
    open_severity="Best class",
    heat_source="flame",
    layer_name="",
    decided_limits=(SLOW, FAST),
)

EDITION_2003 = replace(
    EDITION_2013,
    key=f"{SLUG}@2003",
    edition="2003",
    standard="IEC 60695-11-10:1999+A1:2003",
    short_standard="11-10:2003 A",
    conditionings=(conditioned("23/45-55"),),
)

EDITION_1999 = replace(
    EDITION_2003,
    key=f"{SLUG}@1999",
    edition="1999",
    standard="IEC 60695-11-10:1999",
    short_standard="11-10:1999 A",
    parameters=apparatus.taken_over(EDITION_2003.parameters, "2003"),
)

EDITIONS = (EDITION_1999, EDITION_2003, EDITION_2013)

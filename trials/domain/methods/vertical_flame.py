"""Vertical 50 W flame test for classes V-0, V-1 and V-2, IEC 60695-11-10 method B, editions of 1999, 2003 and 2013."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from calibration.domain.decisions import IN_THE_STANDARD
from labsite.ledger.wording import mid_sentence
from trials.domain import small_flame as apparatus
from trials.domain.class_line import judge_classes
from trials.domain.criteria import NOT_RECORDED, Criterion, digits, with_unit
from trials.domain.flame_book import SHRANK
from trials.domain.flame_classes import Family, classed
from trials.domain.flame_sets import ClassLimits, SetRule
from trials.domain.line_result import Asked, Doubt, LineResult, LineTrial
from trials.domain.methods.base import MethodEdition
from trials.domain.observations import standing
from trials.domain.record_checks import check_record
from trials.domain.records import TrialRecord
from trials.domain.setup_criteria import override_warnings, plain_record_criteria
from trials.domain.timeline import Timeline, timeline_of
from trials.domain.verdicts import Quantity, Verdict, verdict_from
from trials.domain.vertical_bar import Aftertime, BarCourse, bar_course, class_criteria
from trials.domain.vertical_flame_statements import (
    AT_ONCE,
    COTTON_FIELDS,
    OBSERVATION_KINDS,
    OVEN,
    OWN_FIELDS,
    OWN_PARAMETERS,
    PREFIXES,
    QUANTITIES,
    ROOM,
    SEVERITIES,
    STEPS,
    conditionings,
)

D = Decimal
SLUG = "vertical-flame"
RULE_VERSION = 1
APPLICATIONS = (("contact", "withdrawn"), ("second_on", "second_off"))
THIN = "the method does not apply to it: thin material is tested by ISO 9773"


def judge(edition: MethodEdition, record: TrialRecord) -> Verdict:
    """Return the verdict on one bar: validity first, then the lines on single bars of the class ordered, or the best.

    Each of t1, t2, t3 is rounded by itself as the edition says. Raises RecordError for a record that does not fit.
    """
    check_record(edition, record)
    rows = standing(record.observations)
    seen = timeline_of(rows)
    bar = bar_course(edition, seen)
    setup_criteria = (
        *apparatus.start_criteria(edition, record),
        *_application_criteria(edition, seen),
        *plain_record_criteria(edition, rows),
        *apparatus.burner_out_criteria(seen, APPLICATIONS),
        *_shrunk_criteria(seen),
        *_prompt_criteria(edition, bar),
    )
    judged = {level: class_criteria(edition, prefix, bar) for level, prefix in PREFIXES.items()}
    own = classed(edition, record, setup_criteria, judged, tuple(PREFIXES))
    return verdict_from(
        method_key=edition.key,
        rule_version=edition.rule_version,
        severity=own.severity_text,
        setup_criteria=setup_criteria,
        criteria=own.criteria,
        passed_because=lambda: _passed_because(bar),
        quantities=(*_quantities(edition, record, bar), *own.quantities),
        warnings=(*override_warnings(record), *_remarks(bar), *seen.warnings),
        parameters=edition.parameter_texts,
    )


def judge_line(
    edition: MethodEdition, asked: Asked, trials: Sequence[LineTrial], doubts: Sequence[Doubt]
) -> LineResult:
    """Return the result of an order line: two sets of bars by two conditionings, second sets, the worse class."""
    ladder = tuple(
        ClassLimits(
            level.value,
            level.label,
            edition.number(f"{PREFIXES[level.value]}_total_s"),
            edition.number(f"{PREFIXES[level.value]}_retest_total_s"),
        )
        for level in edition.severities
    )
    fails = edition.parameter("both_in_window").value == AT_ONCE
    rule = SetRule(int(edition.number("bars_per_set")), both_fail=fails)
    family = Family("V", ladder, rule, plans=((ROOM, "room"), (OVEN, "oven")), shrinks=THIN)
    return judge_classes(edition, family, asked, trials, doubts)


def _application_criteria(edition: MethodEdition, seen: Timeline) -> tuple[Criterion, ...]:
    """Both times that the flame was applied, less what the burner was out by the bar's own gas.

    A second application of which nothing is recorded is left to the lines on t2: there may have been no bar left.
    """
    found = [_application(edition, seen, "application", "First application", *APPLICATIONS[0])]
    if seen.moment("second_on") is not None or seen.moment("second_off") is not None:
        found.append(_application(edition, seen, "second_application", "Second application", *APPLICATIONS[1]))
    return tuple(found)


def _application(edition: MethodEdition, seen: Timeline, key: str, title: str, begun: str, ended: str) -> Criterion:
    parameter = edition.parameter("application_s")
    start_s, end_s = seen.moment(begun), seen.moment(ended)
    applied_s, found, holds = None, NOT_RECORDED, None
    reason = f"how long the {mid_sentence(title)} lasted is not recorded"
    first_ends_s = seen.moment("withdrawn")
    if start_s is not None and end_s is not None and end_s < start_s:
        reason = f"the end of the {mid_sentence(title)} is recorded before its begin"
    elif start_s is not None and begun == "second_on" and first_ends_s is not None and start_s < first_ends_s:
        reason = "the second application is recorded before the end of the first"
    elif start_s is not None and end_s is not None:
        applied_s = _lit_s(seen, start_s, end_s)
        if applied_s is None:
            reason = f"during the {mid_sentence(title)} the burner went out, and when it was lit again is not recorded"
    if applied_s is not None:
        found, holds = with_unit(applied_s, "s"), parameter.admits(applied_s)
        reason = "" if holds else f"the {mid_sentence(title)} lasted {found}, outside {parameter.limit_text}"
    return Criterion(key, title, found, parameter.limit_text, holds, reason, parameter.source, parameter.certainty)


def _lit_s(seen: Timeline, start_s: Decimal, end_s: Decimal) -> Decimal | None:
    """How long the burner was lit between two moments, in s; None where a time without flame has no end."""
    if seen.moment("gas_out") is None:
        return end_s - start_s
    outs = sorted(t for kind, t, _ in seen.findings if kind == "gas_out" and t is not None and start_s <= t <= end_s)
    relit = sorted(t for kind, t, _ in seen.findings if kind == "relit" and t is not None)
    lit_s, lit_until_s = end_s - start_s, start_s
    for out_s in outs:
        again_s = next((t for t in relit if out_s <= t <= end_s), None)
        if again_s is None:
            return None
        if out_s >= lit_until_s:  # a second row of the same time without flame takes nothing off again
            lit_s -= again_s - out_s
        lit_until_s = again_s
    return lit_s


def _shrunk_criteria(seen: Timeline) -> tuple[Criterion, ...]:
    shrank_s = seen.moment("shrank")
    if shrank_s is None or seen.flames:
        return ()
    reason = f"the bar shrank away at {digits(shrank_s)} s without igniting: such bars do not count"
    return (Criterion(SHRANK, "The bar stays in the flame", f"shrank away at {digits(shrank_s)} s",
                      "must not shrink away unlit", False, reason,
                      "UL 94:2021, clause 4.4, public excerpt", "published"),)  # fmt: skip


def _prompt_criteria(edition: MethodEdition, bar: BarCourse) -> tuple[Criterion, ...]:
    """Whether the flame was put on again as soon as the bar had gone out; it only warns."""
    out_s, on_s = bar.flames_end_before_second_s, bar.second_on_s
    if out_s is None or on_s is None or on_s < out_s or not bar.t1.exact:
        return ()
    parameter = edition.parameter("second_prompt_s")
    waited_s = on_s - out_s
    holds = parameter.admits(waited_s)
    reason = "" if holds else f"the flame was put on again {with_unit(waited_s, 's')} after the bar had gone out"
    return (Criterion("second_prompt", parameter.title, with_unit(waited_s, "s"), parameter.limit_text, holds, reason,
                      parameter.source, parameter.certainty, enforced=False),)  # fmt: skip


def _passed_because(bar: BarCourse) -> str:
    times = ", ".join(f"{name} {time.text} s" for name, time in (("t1", bar.t1), ("t2", bar.t2), ("t3", bar.t3)))
    cotton = "the cotton did not catch" if bar.cotton_s is None else "the cotton caught"
    return f"{times}, and {cotton}"


def _remarks(bar: BarCourse) -> tuple[str, ...]:
    if bar.clamp_s is not None:
        return ("If bars burn to the clamp or distort because they are thin: thin material is tested by ISO 9773.",)
    return ()


def _quantities(edition: MethodEdition, record: TrialRecord, bar: BarCourse) -> tuple[Quantity, ...]:
    known: dict[str, tuple[Decimal | None, str]] = {
        **{name: _measured(record, key) for name, key in (("nominal", "nominal_mm"), ("thickness", "thickness_mm"))},
        **{key: (time.counted_s, time.text) for key, time in (("t1", bar.t1), ("t2", bar.t2), ("t3", bar.t3))},
        "glow": (bar.glow.counted_s, bar.glow.text),
        **{f"{key}_timed": _timed(time) for key, time in (("t1", bar.t1), ("t2", bar.t2), ("t3", bar.t3))},
        "cotton": (None, _when("caught", bar.cotton_s, bar)),
        "clamp": (None, _when("burned to it", bar.clamp_s, bar)),
        "drips": (D(bar.drips), str(bar.drips)) if bar.drips else (None, "none" if bar.watched else NOT_RECORDED),
    }
    return tuple(
        Quantity(k.key, k.title, k.symbol, k.unit, *known[k.key]) for k in edition.quantities if k.key in known
    )


def _measured(record: TrialRecord, key: str) -> tuple[Decimal | None, str]:
    value = record.figure(key)
    return (value, digits(value)) if isinstance(value, Decimal) else (None, NOT_RECORDED)


def _timed(time: Aftertime) -> tuple[Decimal | None, str]:
    if time.raw_s is None:
        return None, time.text
    return time.raw_s, digits(time.raw_s) if time.exact else f"at least {digits(time.raw_s)}"


def _when(word: str, at_s: Decimal | None, bar: BarCourse) -> str:
    if at_s is not None:
        return f"{word}, {digits(at_s)} s"
    return "no" if bar.watched else NOT_RECORDED


EDITION_2013 = MethodEdition(
    key=f"{SLUG}@2013",
    slug=SLUG,
    edition="2013",
    title="Vertical 50 W flame test",
    short_title="Vertical flame",
    standard="IEC 60695-11-10:2013",
    apparatus="IEC 60695-11-4",
    short_standard="11-10:2013 B",
    rule_version=RULE_VERSION,
    rig_kind="small burner",
    parameters=(*apparatus.PARAMETERS, *OWN_PARAMETERS),
    severities=SEVERITIES,
    conditionings=conditionings("23/50 class 2"),
    instruments=apparatus.INSTRUMENTS,
    setup_fields=(*apparatus.SETUP_FIELDS, *OWN_FIELDS, *COTTON_FIELDS),
    observation_kinds=OBSERVATION_KINDS,
    steps=STEPS,
    quantities=QUANTITIES,
    decision_rules=(IN_THE_STANDARD,),
    cautions=apparatus.CAUTIONS,
    trial_judge=judge,
    start_judge=apparatus.start_criteria,
    line_judge=judge_line,
    severity_title="Class",
    open_severity="Best class",
    heat_source="flame",
    layer_name="cotton",
)

_BEFORE_2013 = ("cotton_dry_h", "cotton_out_min")

EDITION_2003 = replace(
    EDITION_2013,
    key=f"{SLUG}@2003",
    edition="2003",
    standard="IEC 60695-11-10:1999+A1:2003",
    short_standard="11-10:2003 B",
    parameters=tuple(one for one in EDITION_2013.parameters if one.key not in _BEFORE_2013),
    conditionings=conditionings("23/45-55"),
    setup_fields=(*apparatus.SETUP_FIELDS, *OWN_FIELDS),
)

EDITION_1999 = replace(
    EDITION_2003,
    key=f"{SLUG}@1999",
    edition="1999",
    standard="IEC 60695-11-10:1999",
    short_standard="11-10:1999 B",
    parameters=apparatus.taken_over(EDITION_2003.parameters, "2003"),
)

EDITIONS = (EDITION_1999, EDITION_2003, EDITION_2013)

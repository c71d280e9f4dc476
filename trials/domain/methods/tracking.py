"""Tracking test, IEC 60112: proof at one voltage and search for the index, editions of 2003, 2009, 2020 and 2025."""

from dataclasses import replace
from decimal import Decimal

from calibration.domain.decisions import IN_THE_STANDARD
from trials.domain import tracking_apparatus as apparatus
from trials.domain.criteria import NOT_RECORDED, Criterion, digits
from trials.domain.methods.base import MethodEdition
from trials.domain.observations import standing
from trials.domain.record_checks import check_record
from trials.domain.records import TrialRecord
from trials.domain.setup_criteria import override_warnings, plain_record_criteria
from trials.domain.statements import ConditioningNeed, ObservationKind, Parameter, QuantityKind, Severity, replaced
from trials.domain.timeline import Timeline, timeline_of
from trials.domain.tracking_course import (
    TrackingCourse,
    course_of,
    run_criteria,
    run_off_criteria,
    validity_criteria,
)
from trials.domain.tracking_levels import ONE_IN_TEN
from trials.domain.tracking_line import DOUBT_LOWER, LOWER_FIRST, judge_line
from trials.domain.verdicts import Quantity, Verdict, verdict_from

D = Decimal
SLUG = "tracking"
RULE_VERSION = 1
CONFIRM = apparatus.CONFIRM
MEMORY = apparatus.MEMORY
TWO_PAGES = apparatus.TWO_PAGES
EXCERPT_2020 = "IEC 60112:2020, public excerpt of clause 11"
CONTENTS_2003 = "public contents list of EN 60112:2003"
CONTENTS_2020 = "public contents list of a national adoption of IEC 60112:2020"
HOUSE = "reading of the published rule"

OWN_PARAMETERS: tuple[Parameter, ...] = (
    Parameter("specimens_needed", "Specimens, all of which survive", D(5), source=TWO_PAGES, certainty="published"),
    Parameter("proof_drops", "Drops of the proof", D(50), source=TWO_PAGES, certainty="published"),
    Parameter("lower_drops", "Drops of the longer run", D(100), source=TWO_PAGES, certainty="published"),
    Parameter("lower_by_v", "The longer run is made lower by", D(25), "V", source="one public page on tracking indices",
              certainty="published"),
    Parameter("watch_after_last_drop_s", "Watch goes on after the last drop for", None, "s", low=D(25),
              source="one public page on tracking indices", certainty="published"),
    Parameter("flame_limit_s", "A flame lasts", None, "s", high=D(2), source=MEMORY, certainty="from memory",
              note=f"longer is a persistent flame; {CONFIRM}"),
    Parameter("failure_rule", "What fails a voltage", "one valid failure", source=EXCERPT_2020, certainty="published",
              choices=("one valid failure", ONE_IN_TEN),
              note=f"one in ten is on a test laboratory's page, perhaps an older rule; {CONFIRM}"),
    Parameter("later_failure_survives", "A failure after drop N + 1 has survived N drops", True, source=HOUSE,
              note=CONFIRM),
    Parameter("air_arc_repeats", "Repeats at the same voltage after an air arc", D(1), source=EXCERPT_2020,
              certainty="published"),
    Parameter("air_arc_end", "Where an air arc bars the voltage above, the index is", "not determinable", source=HOUSE,
              choices=("not determinable", "the highest survived"), note=CONFIRM),
    Parameter("hole_rule", "A hole through the specimen calls for", "thicker material", source=EXCERPT_2020,
              certainty="published", choices=("thicker material", "a remark"),
              note=f"the excerpt breaks off after the condition; {CONFIRM}"),
    Parameter("run_order", "Order of the two runs", "50 drops first", source=CONTENTS_2020, certainty="published",
              choices=("50 drops first", LOWER_FIRST)),
    Parameter("screening_run", "Screening before the five", True, source=CONTENTS_2020, certainty="published",
              note="only where no start is agreed"),
    Parameter("screening_specimens", "Specimens at each voltage of the screening", D(1), source=HOUSE, note=CONFIRM),
    Parameter("start_v", "The search starts at, where none is agreed", D(400), "V", source=MEMORY,
              certainty="from memory", note=f"350 V is known too; {CONFIRM}"),
    Parameter("lowest_needs_lower_run", "The lowest voltage needs the longer run too", False, source=HOUSE,
              note=f"nothing lies lower, so it is not made; {CONFIRM}"),
    Parameter("doubt_rule", "A doubt is settled by", "nothing", choices=("nothing", DOUBT_LOWER), source=(
              "IEC 60335-1 annex N, public text of a national adoption"), certainty="published",
              note="agreed for orders under IEC 60335-1 only; the report says so"),
    Parameter("erosion_asked", "Erosion is measured and written", False, source="IEC 60112:2003 + A1:2009, abstract",
              certainty="published", note="only where the order asks"),
    Parameter("erosion_step_mm", "Erosion is written to", D("0.1"), "mm", source=MEMORY, certainty="from memory",
              note=f"greatest of the five, after the figure; {CONFIRM}"),
    Parameter("suffix_b", "Letter of a result by solution B", "M", source=MEMORY, certainty="from memory",
              note=f"after the figure and what stands in brackets; {CONFIRM}"),
    Parameter("group_i_v", "Material group I", None, "V", low=D(600), source=MEMORY, certainty="from memory",
              note=CONFIRM),
    Parameter("group_ii_v", "Material group II, below I", None, "V", low=D(400), source=MEMORY,
              certainty="from memory", note=CONFIRM),
    Parameter("group_iiia_v", "Material group IIIa, below II", None, "V", low=D(175), source=MEMORY,
              certainty="from memory", note=CONFIRM),
    Parameter("group_iiib_v", "Material group IIIb, below IIIa", None, "V", low=D(100), source=MEMORY,
              certainty="from memory", note=CONFIRM),
)  # fmt: skip

OBSERVATION_KINDS: tuple[ObservationKind, ...] = (
    ObservationKind("contact", "First drop", "t0", repeats=False, digit="Enter"),
    ObservationKind("trip", "Trip", "trip", "number", unit="drops", resolution=D(1), repeats=False, digit="1",
                    prompt="over-current through the surface; how many drops had fallen"),
    ObservationKind("air_arc", "Air arc", "arc", digit="2",
                    prompt="in the air above the specimen; spoils the trial, also when it tripped"),
    ObservationKind("ignites", "Flame", "flame", digit="3"),
    ObservationKind("flame_out", "Flame out", "out", ends="ignites", digit="3"),
    ObservationKind("withdrawn", "Last drop", "tn", repeats=False, digit="Enter", prompt="the last that fell"),
    ObservationKind("watch_ends", "Watch ends", "end", digit="Enter"),
    ObservationKind("put_out", "Put out by hand", "put out", digit="8"),
    ObservationKind("drops_fallen", "Drops fallen", "N", "number", unit="drops", resolution=D(1), timed=False,
                    repeats=False, when="after", prompt="at the end, or when it failed"),
    ObservationKind("hole", "Hole through the specimen", "hole", "yes-no", timed=False, repeats=False, when="after"),
    ObservationKind("ran_off", "Solution ran off the edge", "ran off", "yes-no", timed=False, repeats=False,
                    when="after", prompt="asked for small surfaces"),
    ObservationKind("erosion", "Depth of erosion", "d", "number", unit="mm", resolution=D("0.1"), timed=False,
                    repeats=False, when="after", prompt="greatest depth, debris taken out"),
    ObservationKind("note", "Something else", "note", "text", timed=False, when="both", digit="7"),
)  # fmt: skip

QUANTITIES: tuple[QuantityKind, ...] = (
    QuantityKind("drops_asked", "Drops asked", "", "", table=True),
    QuantityKind("fallen", "Drops fallen", "N", ""),
    QuantityKind("failed_at", "Failed at drop", "", "", table=True),
    QuantityKind("survived", "Drops survived", "", "", table=True),
    QuantityKind("last_drop", "Last drop", "t_n", "s"),
    QuantityKind("watched", "Watched after the last drop", "", "s"),
    QuantityKind("longest_flame", "Longest flame", "", "s", table=True),
    QuantityKind("erosion", "Erosion", "d", "mm", table=True),
    QuantityKind("solution", "Solution", "", ""),
)


def judge(edition: MethodEdition, record: TrialRecord) -> Verdict:
    """Return the verdict on one specimen: validity first, then trip, flame, drops and watch, erosion where asked.

    Raises RecordError for a record that does not fit the edition.
    """
    check_record(edition, record)
    rows = standing(record.observations)
    seen = timeline_of(rows)
    course = course_of(edition, record, seen)
    return verdict_from(
        method_key=edition.key,
        rule_version=edition.rule_version,
        severity=edition.severity_text(record.severity),
        setup_criteria=(
            *apparatus.start_criteria(edition, record),
            *plain_record_criteria(edition, rows),
            *validity_criteria(edition, seen, course),
            *run_off_criteria(edition, record, seen),
        ),
        criteria=(*run_criteria(edition, course), *_erosion_criteria(edition, seen)),
        passed_because=lambda: _passed_because(course),
        quantities=_quantities(edition, record, seen, course),
        warnings=(*override_warnings(record), *_remarks(edition, seen, course), *seen.warnings),
        parameters=edition.parameter_texts,
    )


def _erosion_criteria(edition: MethodEdition, seen: Timeline) -> tuple[Criterion, ...]:
    parameter = edition.parameter("erosion_asked")
    if parameter.value is not True:
        return ()
    depth_mm = seen.finding("erosion")
    known = isinstance(depth_mm, Decimal)
    found = f"{digits(depth_mm)} mm" if isinstance(depth_mm, Decimal) else NOT_RECORDED
    return (Criterion("erosion", "Erosion measured", found, "must be measured", True if known else None,
                      "" if known else "the depth of erosion is not recorded", parameter.source,
                      parameter.certainty),)  # fmt: skip


def _passed_because(course: TrackingCourse) -> str:
    if course.failed:
        return f"{course.asked} drops survived, and it failed only at drop {course.failed_at}"
    watched = "" if course.watched_s is None else f", watched for {digits(course.watched_s)} s after the last"
    return f"{course.asked} drops survived{watched}"


def _remarks(edition: MethodEdition, seen: Timeline, course: TrackingCourse) -> tuple[str, ...]:
    """Return what is not judged and must still be said."""
    remarks = []
    if seen.finding("hole") is True and edition.parameter("hole_rule").value == "a remark":
        remarks.append("To be reported: a hole formed through the specimen.")
    if course.contradicted:
        remarks.append(f"It tripped at drop {course.trip_drop}, yet {course.fallen} drops are recorded.")
    return tuple(remarks)


def _quantities(
    edition: MethodEdition, record: TrialRecord, seen: Timeline, course: TrackingCourse
) -> tuple[Quantity, ...]:
    """Return the edition's figures; what did not happen is a word, never a zero."""
    solution, erosion = record.setup.get("solution"), seen.finding("erosion")
    no_failure = "not known" if course.failed else "no failure"
    watch = edition.parameter("watch_after_last_drop_s")
    known: dict[str, tuple[Decimal | int | None, str]] = {
        "drops_asked": (course.asked, NOT_RECORDED),
        "fallen": (course.fallen, NOT_RECORDED),
        "failed_at": (course.failed_at, no_failure),
        "survived": (course.survived(watch), NOT_RECORDED if not course.failed else "not known"),
        "last_drop": (course.last_drop_s, NOT_RECORDED),
        "watched": (course.watched_s, NOT_RECORDED),
        "longest_flame": (course.flame_s, "not known" if course.flame_open else "no flame"),
        "erosion": (erosion if isinstance(erosion, Decimal) else None, "not measured"),
        "solution": (None, solution if isinstance(solution, str) else NOT_RECORDED),
    }
    return tuple(_quantity(kind, *known[kind.key]) for kind in edition.quantities)


def _quantity(kind: QuantityKind, value: Decimal | int | None, otherwise: str) -> Quantity:
    number = D(value) if value is not None else None
    text = otherwise if number is None else digits(number)
    return Quantity(kind.key, kind.title, kind.symbol, kind.unit, number, text)


EDITION_2020 = MethodEdition(
    key=f"{SLUG}@2020",
    slug=SLUG,
    edition="2020",
    title="Tracking test on insulating materials",
    short_title="Tracking",
    standard="IEC 60112:2020",
    apparatus="IEC 60112:2020",
    short_standard="60112:2020",
    rule_version=RULE_VERSION,
    rig_kind="tracking",
    parameters=(*apparatus.PARAMETERS, *OWN_PARAMETERS),
    severities=tuple(Severity(D(voltage_v), "V") for voltage_v in range(100, 601, 25)),
    conditionings=(ConditioningNeed("18-28/40-60", "conditioning_h", "", enforced=True, use_within_enforced=False),),
    instruments=apparatus.INSTRUMENTS,
    setup_fields=apparatus.SETUP_FIELDS,
    observation_kinds=OBSERVATION_KINDS,
    steps=apparatus.STEPS,
    quantities=QUANTITIES,
    decision_rules=(IN_THE_STANDARD,),
    cautions=apparatus.CAUTIONS,
    trial_judge=judge,
    start_judge=apparatus.start_criteria,
    line_judge=judge_line,
    severity_title="Voltage",
    open_severity="CTI search",
    open_start=True,
    beat=apparatus.BEAT,
    heat_source="drops",
    layer_name="",
    burns=False,
)

EDITION_2025 = replace(
    EDITION_2020,
    key=f"{SLUG}@2025",
    edition="2025",
    standard="IEC 60112:2025",
    apparatus="IEC 60112:2025",
    short_standard="60112:2025",
    parameters=tuple(  # no text of this edition was seen: every figure waits for the laboratory's own copy
        replace(
            one,
            source=f"taken over from the 2020 edition ({one.source})",
            certainty="common practice",
            note=one.note if CONFIRM in one.note else "; ".join(filter(None, (one.note, CONFIRM))),
        )
        for one in EDITION_2020.parameters
    ),
)

_OWN = {parameter.key: parameter for parameter in OWN_PARAMETERS}

EDITION_2003 = replace(
    EDITION_2020,
    key=f"{SLUG}@2003",
    edition="2003",
    standard="IEC 60112:2003",
    apparatus="IEC 60112:2003",
    short_standard="60112:2003",
    parameters=(
        *apparatus.PARAMETERS,
        *replaced(
            OWN_PARAMETERS,
            replace(_OWN["run_order"], value=LOWER_FIRST, source=CONTENTS_2003),
            replace(_OWN["screening_run"], value=False, source=CONTENTS_2003, note="named from the 2020 edition on"),
        ),
    ),
)

EDITION_2009 = replace(
    EDITION_2003,
    key=f"{SLUG}@2009",
    edition="2009",
    standard="IEC 60112:2003+A1:2009",
    apparatus="IEC 60112:2003+A1:2009",
    short_standard="60112:2009",
)

EDITIONS = (EDITION_2003, EDITION_2009, EDITION_2020, EDITION_2025)

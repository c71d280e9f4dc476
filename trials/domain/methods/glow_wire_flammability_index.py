"""Glow-wire flammability index of a material, IEC 60695-2-12, editions of 2000, 2010, 2014 and 2021."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from calibration.domain.decisions import IN_THE_STANDARD
from trials.domain import glow_wire_apparatus as apparatus
from trials.domain import glow_wire_plate as plate
from trials.domain.after_withdrawal import (
    KEY,
    MEANINGS,
    UNTIL_ALL_IS_OUT,
    after_withdrawal_criterion,
    after_withdrawal_s,
)
from trials.domain.burning_criteria import (
    consumed_criteria,
    layer_criteria,
    layer_remarks,
    layer_words,
)
from trials.domain.criteria import NOT_RECORDED, digits
from trials.domain.index_line import IndexName, judge_index_line, search_rule
from trials.domain.line_result import Asked, Doubt, LineResult, LineTrial
from trials.domain.methods.base import MethodEdition
from trials.domain.observations import standing
from trials.domain.record_checks import check_record
from trials.domain.records import TrialRecord
from trials.domain.setup_criteria import override_warnings
from trials.domain.statements import IndexSearch, Parameter, QuantityKind, replaced
from trials.domain.timeline import Timeline, timeline_of
from trials.domain.verdicts import Verdict, verdict_from

D = Decimal
SLUG = "glow-wire-flammability-index"
RULE_VERSION = 1
FOUR_PAGES = "public abstracts of IEC 60695-2-12, a certifier's page and a trade journal"
TABLE_FROM_550 = "a test laboratory's public table of levels for -2-12"

OWN_PARAMETERS: tuple[Parameter, ...] = (
    Parameter(KEY, "Flames and glow after withdrawal last", None, "s", high=D(30), source=FOUR_PAGES,
              certainty="published", note="30 s exactly passes"),
    Parameter("t_r_is", "Time after withdrawal, t_R, is taken as", UNTIL_ALL_IS_OUT, source=plate.HOUSE,
              choices=MEANINGS, note=f"the texts name the longest-lasting flame or glow; {apparatus.CONFIRM}"),
    Parameter("layer_must_not_catch", "The layer must not catch", True, source=FOUR_PAGES, certainty="published"),
)  # fmt: skip

TEXT_2010 = "IEC 60695-2-12:2010, from general knowledge; -2-13: GOST IEC 60695-2-13-2012, 8.3, public text"
_SHARED = {parameter.key: parameter for parameter in (*plate.APPARATUS_2013, *plate.PARAMETERS)}


def _as_for_2_13(key: str) -> Parameter:
    """A figure that was seen for -2-13 only, and is taken the same here."""
    return replace(_SHARED[key], certainty="common practice", source=f"{_SHARED[key].source}; taken the same for -2-12",
                   note=apparatus.CONFIRM)  # fmt: skip


_ROOM = (_as_for_2_13("room_temperature_c"), _as_for_2_13("room_humidity_percent"))
APPARATUS_2013 = replaced(plate.APPARATUS_2013, *_ROOM)
APPARATUS_2000 = replaced(plate.APPARATUS_2000, *_ROOM)

PLATE_PARAMETERS = replaced(
    plate.PARAMETERS,
    _as_for_2_13("use_within_h"),
    _as_for_2_13("start_c"),
    replace(_SHARED["conditioning_h"], source=f"a test laboratory's page; atmosphere: {plate.EXCERPT_2013}"),
    replace(_SHARED["fine_step"], source=TEXT_2010, certainty="from memory",
            note=f"a public table of levels for -2-12 knows every 50 K only; {apparatus.CONFIRM}"),
)  # fmt: skip

QUANTITIES = plate.quantities(
    QuantityKind("after_withdrawal", "After withdrawal", "t_R", "s", table=True), without=("latest",)
)


def judge(edition: MethodEdition, record: TrialRecord) -> Verdict:
    """Return the verdict on one plate at its level: validity first, then layer, time after withdrawal, what is left.

    Times are compared unrounded. Raises RecordError for a record that does not fit the edition.
    """
    check_record(edition, record)
    rows = standing(record.observations)
    seen = timeline_of(rows)
    burned_s = after_withdrawal_s(str(edition.parameter("t_r_is").value), seen)
    return verdict_from(
        method_key=edition.key,
        rule_version=edition.rule_version,
        severity=edition.severity_text(record.severity),
        setup_criteria=plate.trial_criteria(edition, record, rows, seen),
        criteria=(
            *layer_criteria(edition.parameter("layer_must_not_catch"), seen),
            after_withdrawal_criterion(edition, seen),
            *consumed_criteria(edition.parameter("judge_consumed"), seen),
            plate.watched_criterion(edition, seen),
        ),
        passed_because=lambda: _passed_because(seen, burned_s),
        quantities=plate.plate_quantities(edition, record, seen, None, {"after_withdrawal": (burned_s, NOT_RECORDED)}),
        warnings=(*override_warnings(record), *_remarks(edition, seen), *seen.warnings),
        parameters=edition.parameter_texts,
    )


def _passed_because(seen: Timeline, burned_s: Decimal | None) -> str:
    if not seen.flames and not seen.glows:
        return f"no flame and no glow, and {layer_words(seen)}"
    if not burned_s:
        return f"nothing burned after withdrawal, and {layer_words(seen)}"
    return f"it burned for {digits(burned_s)} s after withdrawal, and {layer_words(seen)}"


def _remarks(edition: MethodEdition, seen: Timeline) -> tuple[str, ...]:
    """Return what is not judged and must still be said."""
    return (*plate.remarks(edition, seen), *layer_remarks(edition.parameter("layer_must_not_catch"), seen))


def _figure(grid: Sequence[Decimal], level: Decimal) -> str:
    """The index is the highest temperature at which all passed."""
    return digits(level)


def _below(grid: Sequence[Decimal]) -> str:
    return f"below {digits(grid[0])} °C"


INDEX = IndexName("GWFI", _figure, _below)


def judge_line(
    edition: MethodEdition, asked: Asked, trials: Sequence[LineTrial], doubts: Sequence[Doubt]
) -> LineResult:
    """Return the index, or the proof at the level ordered, and what is tested next."""
    return judge_index_line(INDEX, edition, asked, trials, doubts)


EDITION_2021 = MethodEdition(
    key=f"{SLUG}@2021",
    slug=SLUG,
    edition="2021",
    title="Glow-wire flammability index of materials",
    short_title="GWFI",
    standard="IEC 60695-2-12:2021",
    apparatus="IEC 60695-2-10:2021",
    short_standard="2-12:2021",
    rule_version=RULE_VERSION,
    rig_kind="glow wire",
    parameters=(*APPARATUS_2013, *PLATE_PARAMETERS, *OWN_PARAMETERS),
    severities=plate.severities(550),
    severity_title="Level",
    conditionings=(plate.CONDITIONING,),
    instruments=apparatus.INSTRUMENTS,
    setup_fields=(*apparatus.SETUP_FIELDS, *plate.FIELDS),
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
    search=IndexSearch(search_rule, lambda index: index),
)

EDITION_2014 = replace(
    EDITION_2021,
    key=f"{SLUG}@2014",
    edition="2014",
    standard="IEC 60695-2-12:2010+A1:2014",
    apparatus="IEC 60695-2-10:2013",
    short_standard="2-12:2014",
)

EDITION_2010 = replace(
    EDITION_2021,
    key=f"{SLUG}@2010",
    edition="2010",
    standard="IEC 60695-2-12:2010",
    apparatus="IEC 60695-2-10:2000",
    short_standard="2-12:2010",
    parameters=(*APPARATUS_2000, *PLATE_PARAMETERS, *OWN_PARAMETERS),
)

EDITION_2000 = replace(
    EDITION_2010,
    key=f"{SLUG}@2000",
    edition="2000",
    standard="IEC 60695-2-12:2000",
    short_standard="2-12:2000",
    parameters=(
        *APPARATUS_2000,
        *replaced(
            PLATE_PARAMETERS,
            replace(_SHARED["judge_consumed"], value=False, note="the 2000 text asks for no such thing"),
            replace(_SHARED["fine_step"], value=False, certainty="from memory",
                    source=f"{TABLE_FROM_550}; that the text of 2000 says so is from general knowledge",
                    note=f"the 2000 table knows levels every 50 K; {apparatus.CONFIRM}"),
        ),
        *OWN_PARAMETERS,
    ),
)  # fmt: skip

EDITIONS = (EDITION_2000, EDITION_2010, EDITION_2014, EDITION_2021)

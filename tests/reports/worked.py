"""Certificate contents made from worked examples: every method's own verdicts and result, the rest invented."""

from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from labsite.ledger.numbering import piece_number
from reports.domain.content import CertificateContent, LevelContent
from reports.domain.content_items import SpecimenContent, Stated, number_text
from reports.domain.content_trials import CriterionContent, EventContent, QuantityContent, Share, TrialContent
from tests.reports.domain.sample import CONTENT, LINE, TRIAL
from trials.domain.criteria import Criterion, digits
from trials.domain.judge_file import JudgeCase, judge_case
from trials.domain.line_result import LineTrial
from trials.domain.observations import standing
from trials.domain.records import Observation
from trials.domain.verdicts import Verdict

WORKED = Path("fixtures/worked")


def worked_content(name: str) -> CertificateContent:
    """The content of a certificate on the line of one worked example, for instance "tracking/cti_400_350"."""
    case = judge_case((WORKED / f"{name}.json").read_text())
    edition = case.edition
    numbers = [piece_number("2600018", 2 + place) for place, _ in enumerate(case.records)]
    judged = [edition.judge(record) for _, record, _ in case.records]
    trials = [
        LineTrial(number_text(number), verdict, place, record.severity, record.conditioning.plan, further)
        for place, (number, verdict, (_, record, further)) in enumerate(zip(numbers, judged, case.records, strict=True))
    ]
    result = edition.judge_line(case.asked, trials)
    line = replace(
        LINE,
        method_key=edition.key,
        method=edition.title,
        standard=edition.standard,
        apparatus=edition.apparatus,
        severity=edition.severity_text(case.asked.severity),
        severity_title=edition.severity_title,
        ordered=case.asked.specimens,
        state=result.state,
        sentence=result.sentence,
        reasons=result.reasons,
        flags=result.flags,
        result=result.result,
        levels=tuple(
            LevelContent(
                one.text, "" if one.severity is None else digits(one.severity), one.state, one.specimens, one.note
            )
            for one in result.levels
        ),
        search=edition.open_start and case.asked.severity is None,
        trials=tuple(
            _trial(case, place, numbers[place], judged[place], result.counted) for place in range(len(judged))
        ),
    )
    return replace(CONTENT, lines=(line,), items=(replace(CONTENT.items[0], photos=()),))


def _trial(case: JudgeCase, place: int, number: str, verdict: Verdict, counted: tuple[str, ...]) -> TrialContent:
    record, edition = case.records[place][1], case.edition
    valid = verdict.outcome in ("pass", "fail")
    share: Share = "does not count" if not valid else "counts" if number_text(number) in counted else "further"
    columns = {kind.key for kind in edition.quantities if kind.table}
    need = edition.conditioning_called(record.conditioning.plan)
    stay = TRIAL.conditioning
    assert stay is not None
    earlier = replace(stay, atmosphere="Ageing oven") if need.earlier_hours else None
    return replace(
        TRIAL,
        specimen=SpecimenContent(number, "2600010017", Stated("", "laboratory"), Stated("", "laboratory")),
        share=share,
        outcome=verdict.outcome,
        sentence=verdict.sentence,
        reasons=verdict.reasons,
        quantities=tuple(
            QuantityContent(q.key, q.title, q.symbol, q.unit, q.text, table=q.key in columns)
            for q in verdict.quantities
        ),
        criteria=tuple(map(_criterion, verdict.criteria)),
        setup=tuple(map(_criterion, verdict.setup_criteria)),
        warnings=verdict.warnings,
        corrections=(),
        events=tuple(_event(row, edition.kinds_by_key[row.kind].title) for row in standing(record.observations)),
        severity=edition.severity_text(record.severity),
        conditioning=replace(stay, way=need.title, earlier=earlier),
    )


def _criterion(one: Criterion) -> CriterionContent:
    return CriterionContent(
        one.key, one.title, one.found, one.limit, one.holds, one.reason, one.decides, one.enforced, one.statement,
        one.risk,
    )  # fmt: skip


def _event(row: Observation, title: str) -> EventContent:
    value = "" if row.value is None else digits(row.value) if isinstance(row.value, Decimal) else str(row.value)
    return EventContent(row.row, row.kind, title, "" if row.t_s is None else digits(row.t_s), value)

"""The life of a tested specimen as the frozen content tells it, up to the issue of its certificate."""

from dataclasses import replace

from reports.domain.content import CertificateContent, LineContent
from reports.domain.content_trials import ConditioningContent, TrialContent
from trials.domain.blocking import hours_text
from trials.queries.life import Stage


def trial_stages(content: CertificateContent, line: LineContent, trial: TrialContent) -> tuple[Stage, ...]:
    """Received, conditioned, taken out, tested, checked, issued: what the content knows of each."""
    item = next((item for item in content.items if item.number == trial.specimen.item), None)
    stages = [] if item is None else [Stage("Received", item.received_at, "", item.condition.text)]
    if trial.conditioning is not None:
        stages += _conditioned(trial.conditioning)
    codes = dict.fromkeys((trial.rig, *(used.code for used in trial.instruments)))
    stages.append(Stage("Tested", trial.tested_at, trial.performed_by, ", ".join(codes)))
    if line.checked is not None:
        stages.append(Stage("Checked", line.checked.at, line.checked.name))
    if line.signed is not None:
        stages.append(Stage("Issued", content.issued_at, line.signed.name, content.number))
    return tuple(_with_duration(stages, position) for position in range(len(stages)))


def _conditioned(stay: ConditioningContent) -> list[Stage]:
    """Into the chamber and out of it, with the hours that count and the parts that do not."""
    chamber = stay.chamber.partition(",")[0]
    went_in = Stage("Conditioned", stay.in_at, "", f"{chamber}, {stay.recorder}")
    words: tuple[str, ...] = (f"{hours_text(stay.counted_s)} counted",)
    if stay.not_counted_s >= 60:
        words = (*words, f"{hours_text(stay.not_counted_s)} not counted")
    if stay.out_at is None:
        return [went_in]
    whole = (stay.out_at - stay.in_at).total_seconds() or 1.0
    gaps = tuple(
        ((one.from_at - stay.in_at).total_seconds() / whole, (one.until_at - stay.in_at).total_seconds() / whole)
        for one in stay.stretches
    )
    return [went_in, Stage("Taken out", stay.out_at, "", f"from {chamber}", words, True, gaps)]


def _with_duration(stages: list[Stage], position: int) -> Stage:
    """The stage with the time since the one before written on the line, unless the hours in band stand there."""
    stage, before = stages[position], stages[position - 1] if position else None
    if before is None or before.at is None or stage.at is None or stage.busy or stage.at < before.at:
        return stage
    return replace(stage, before=(hours_text((stage.at - before.at).total_seconds()),))

"""The steps of an edition with its own figures: when each is due, and which ends what another one began."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from trials.domain.methods.base import MethodEdition
from trials.domain.statements import Step

LEVEL = "severity"
"""In place of a parameter's key: the level of the trial is itself the time in s."""


@dataclass(frozen=True)
class TimedStep:
    """One step with its times in s; None where the edition has no such figure or the trial no level.

    `title` is the event as its key names it, `ends` the kind of the step whose application this one ends; `within`
    says that `due_s` is the latest moment only, so that the step may come at once. `at_once_after` and
    `left_out_after` are kinds, as the edition states them.
    """

    kind: str
    title: str
    order: str
    after: str
    due_s: Decimal | None
    within: bool
    once_out: bool
    out_within_s: Decimal | None
    ends: str
    at_once_after: str
    left_out_after: tuple[str, ...]


def timed_steps(edition: MethodEdition, level: Decimal | None) -> tuple[TimedStep, ...]:
    """Return the edition's steps with their times; `level` is the level of the trial in the edition's unit."""
    titles = {kind.key: kind.title for kind in edition.observation_kinds}
    return tuple(
        TimedStep(
            kind=step.kind,
            title=titles[step.kind],
            order=step.order,
            after=step.after,
            due_s=level if step.due_s == LEVEL else _figure(edition, step.due_s),
            within=_is_latest(edition, step.due_s),
            once_out=step.once_out,
            out_within_s=_figure(edition, step.out_within_s),
            ends=application_ended(edition.steps, step),
            at_once_after=step.at_once_after,
            left_out_after=step.left_out_after,
        )
        for step in edition.steps
    )


def application_ended(steps: Sequence[Step], step: Step) -> str:
    """Return the kind of the step whose application `step` ends; empty where it ends none."""
    acts = step.kind == "withdrawn" or bool(step.due_s)
    return step.after if acts and step.kind != "contact" and step is not steps[-1] else ""


def _figure(edition: MethodEdition, key: str) -> Decimal | None:
    return edition.number(key) if key and edition.has_parameter(key) else None


def _is_latest(edition: MethodEdition, key: str) -> bool:
    """Whether a figure only says at most."""
    if not key or not edition.has_parameter(key):
        return False
    parameter = edition.parameter(key)
    low, high = parameter.bounds
    return parameter.value is None and low is None and high is not None

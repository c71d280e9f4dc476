"""The course of a trial in the words of its edition: what acted and when, what happened, for drawings and sentences."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from labsite.ledger.wording import capitalised, mid_sentence
from trials.domain.criteria import Value, digits
from trials.domain.methods.base import MethodEdition
from trials.domain.records import Observation
from trials.domain.steps import application_ended
from trials.domain.timeline import BURNING_PAIRS, BurnEvent, Timeline, timeline_of

DRAWN_APART = frozenset(
    {"contact", "watch_ends", "drip", "layer_catches", "layer_out", "flame_height", "note"}
    | {kind for pair in BURNING_PAIRS for kind in pair}
)
"""Kinds of rows that have a place of their own in the drawing, or none."""


@dataclass(frozen=True)
class Application:
    """One time that the heat source, the load or the current acted; s from the start, an end not recorded is None."""

    start_s: Decimal
    end_s: Decimal | None
    start_title: str
    end_title: str


@dataclass(frozen=True)
class Course:
    """A trial along time. Titles stand as inside a sentence; `others` are events besides flames, drips and layer.

    `burns` False: nothing is expected to burn, and all that happened is `others` and the applications.
    """

    seen: Timeline
    applications: tuple[Application, ...]
    others: tuple[tuple[str, Decimal], ...]
    heat_source: str
    layer_name: str
    burns: bool
    start_title: str = "start"

    @property
    def begins(self) -> str:
        """What acts, and the first word that it does: “wire: contact”, but “needle flame on”, the flame named once."""
        source, title = self.heat_source, self.applications[0].start_title if self.applications else self.start_title
        last = source.rpartition(" ")[2]
        return f"{source}{title.removeprefix(last)}" if title.startswith(f"{last} ") else f"{source}: {title}"

    @property
    def words(self) -> str:
        """What happened, in words, for readers who do not see the drawing."""
        words = ["Trial along time."]
        for one in self.applications:
            end = "end not recorded" if one.end_s is None else f"{one.end_title} {digits(one.end_s)} s"
            words.append(f"{capitalised(one.start_title)} {digits(one.start_s)} s, {end}.")
        for event in self.seen.events:
            start = "start not recorded" if event.start_s is None else f"from {digits(event.start_s)} s"
            end = "end not recorded" if event.end_s is None else f"to {digits(event.end_s)} s"
            words.append(f"{capitalised(burning_word(event))} {start} {end}.")
        if self.seen.drips_s:
            words.append(f"Drips at {', '.join(digits(one) for one in self.seen.drips_s)} s.")
        if self.seen.layer_ignites_s is not None:
            words.append(f"The {self.layer_name} caught at {digits(self.seen.layer_ignites_s)} s.")
        words += [f"{capitalised(title)} at {digits(t)} s." for title, t in self.others]
        return " ".join(words)


def course_of(edition: MethodEdition, rows: Sequence[Observation]) -> Course:
    """Return the course of a trial from its standing rows, times shifted so that the start is 0."""
    seen = timeline_of(rows)
    titles = {kind.key: mid_sentence(kind.title) for kind in edition.observation_kinds}
    ends = {step.kind: ended for step in edition.steps if (ended := application_ended(edition.steps, step))}
    applications = []
    for kind, begun in ends.items():
        starts, stops = _moments(seen.findings, begun), _moments(seen.findings, kind)
        for place, start_s in enumerate(starts):
            end_s = stops[place] if place < len(stops) else None
            applications.append(Application(start_s, end_s, titles.get(begun, begun), titles.get(kind, kind)))
    apart = DRAWN_APART | set(ends) | set(ends.values())
    apart |= {kind.key for kind in edition.observation_kinds if not kind.timed}
    others = tuple((titles.get(key, key), t) for key, t, _ in seen.findings if t is not None and key not in apart)
    return Course(
        seen=seen,
        applications=tuple(sorted(applications, key=lambda one: one.start_s)),
        others=others,
        heat_source=edition.heat_source,
        layer_name=edition.layer_name,
        burns=edition.burns,
        start_title=titles.get("contact", "start"),
    )


def named_moments(course: Course) -> tuple[tuple[Decimal, str], ...]:
    """Return every recorded moment once, in order of time, with what happened at it in words."""
    named: dict[Decimal, list[str]] = {}
    moments = [(t, course.start_title) for t in _moments(course.seen.findings, "contact")]
    for one in course.applications:
        moments += [(one.start_s, one.start_title)] + ([] if one.end_s is None else [(one.end_s, one.end_title)])
    for event in course.seen.events:
        word = burning_word(event)
        sides = ((event.start_s, f"{word} begins"), (event.end_s, f"{word} out"))
        moments += [(t, words) for t, words in sides if t is not None]
    moments += [(t, title) for title, t in course.others]
    for moment, words in moments:
        if words not in named.setdefault(moment, []):
            named[moment].append(words)
    return tuple((moment, ", ".join(words)) for moment, words in sorted(named.items()))


def burning_word(event: BurnEvent) -> str:
    """What a flame or glow is called."""
    return {"glow": "glow", "bright": "flame"}.get(event.kind, f"{event.kind} flame")


def _moments(findings: Sequence[tuple[str, Decimal | None, Value]], kind: str) -> list[Decimal]:
    return [t for key, t, _ in findings if key == kind and t is not None]

"""The bench's list: each job's specimens called for next, what each of them waits for, and the rest of them."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from labsite.ledger.models import User
from specimens.models import Specimen
from specimens.queries.conditioning import ConditioningState, open_stays, specimen_conditioning
from specimens.queries.pieces import left_out
from trials.models import Job
from trials.queries.bench import standing_jobs
from trials.queries.jobs import touched_specimens
from trials.queries.methods import method_words, ordered_words
from trials.queries.results import LineStanding, TrialStanding, line_standings
from trials.queries.search import next_words

UNDER_WAY = ("to test", "under way", "returned")
type NextAct = Literal["go on", "open", "take out", "wait", "nothing"]
_ACTS: tuple[NextAct, ...] = ("go on", "open", "take out", "wait", "nothing")


@dataclass(frozen=True, slots=True)
class BenchSpecimen:
    """One specimen of a job: its latest trial, if there is one, and how it is conditioned.

    `asked` says that it is conditioned as the rule asks for next, where the rule asks for one way of several;
    `places` that another place of it may be tested after a trial; `stay` is the stay it is inside for.
    """

    specimen: Specimen
    trial: TrialStanding | None
    conditioning: ConditioningState | None
    asked: bool = True
    places: bool = False
    stay: int | None = None

    @property
    def next(self) -> NextAct:
        """What comes next: go on, open, take it out of its chamber, wait or nothing."""
        if self.trial is not None:
            return "nothing" if self.trial.signed is not None else "go on"
        state = self.conditioning
        if state is None or (state.ready and not state.inside):
            return "open"
        return "take out" if self.may_come_out else "wait"

    @property
    def may_come_out(self) -> bool:
        """Whether it is inside a chamber with all hours of that stage, another stage may follow."""
        state = self.conditioning
        return state is not None and state.inside and (state.ready or state.stage_ready_at is not None)

    @property
    def order(self) -> tuple[int, bool, float, float, str]:
        """Sorts what can be worked on first, then what is nearest to it."""
        have = (0.0, 0.0) if self.conditioning is None else (self.conditioning.counted_s, self.conditioning.earlier_s)
        return _ACTS.index(self.next), not self.asked, -have[0], -have[1], self.specimen.number


@dataclass(frozen=True, slots=True)
class ComingOut:
    """Specimens called for that come out of one chamber together: the stay, its chamber's code, their numbers."""

    stay: int
    chamber: str
    numbers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BenchJob:
    """A standing hand-out: the specimens called for next, as many as the rule needs, and the others of the line.

    Specimens with an open trial are always among those called for; `following` says what is next and why.
    """

    job: Job
    mine: bool
    method: str
    standard: str
    severity: str
    standing: LineStanding
    following: str
    called: tuple[BenchSpecimen, ...]
    others: tuple[BenchSpecimen, ...]

    @property
    def ready(self) -> int:
        """How many of the specimens called for can be worked on now."""
        return sum(one.next in ("go on", "open") for one in self.called)

    @property
    def together(self) -> list[ComingOut]:
        """What several specimens called for may be taken out of in one act."""
        stays: dict[tuple[int, str], list[str]] = defaultdict(list)
        for one in self.called:
            if one.may_come_out and one.stay is not None and one.conditioning is not None:
                stays[one.stay, one.conditioning.chamber_code].append(one.specimen.number)
        return [ComingOut(*key, tuple(numbers)) for key, numbers in stays.items() if len(numbers) > 1]

    @property
    def others_words(self) -> str:
        """How many others there are and why they are not shown: “11 more specimens: 3 tested, 8 not called for”."""
        tested = sum(one.trial is not None for one in self.others)
        spare = len(self.others) - tested
        parts = [f"{tested} tested"] * bool(tested) + [f"{spare} not called for now"] * bool(spare)
        return f"{len(self.others)} more specimen{'s' * (len(self.others) != 1)}: {', '.join(parts)}"


@dataclass(frozen=True, slots=True)
class BenchList:
    """All jobs with something left to test, the person's own first."""

    jobs: tuple[BenchJob, ...]

    @property
    def mine(self) -> tuple[BenchJob, ...]:
        """The jobs handed to the person."""
        return tuple(job for job in self.jobs if job.mine)

    @property
    def answer(self) -> str:
        """What can be worked on now, as the page's first sentence."""
        ready, inside = sum(job.ready for job in self.mine), _by_chamber(self.mine)
        if ready:
            return f"{_specimens(ready)} of yours can be worked on now."
        if inside:
            return f"{_out_of(inside)} first."
        if self.mine:
            return "Nothing of yours is ready yet."
        return "No job is handed to you." if self.jobs else "No job is at the bench."

    @property
    def rest(self) -> str:
        """What comes out of which chamber besides, as the second sentence; empty where nothing does."""
        inside = _by_chamber(self.mine)
        return f"{_out_of(inside)} for the next trials." if inside and any(job.ready for job in self.mine) else ""


def bench_list(person: User, at: datetime) -> BenchList:
    """The jobs with something left to test, the person's own first; a constant number of reads."""
    jobs = list(standing_jobs())
    standings = line_standings([job.order_line for job in jobs])
    open_jobs = [job for job in jobs if standings[job.order_line_id].state in UNDER_WAY]
    touched = touched_specimens([job.order_line_id for job in open_jobs])
    trials = [one for job in open_jobs for one in standings[job.order_line_id].trials]
    tested = {one.trial.specimen_id: one for one in trials if one.signed is None or one.trial.specimen_id in touched}
    pieces = list(
        Specimen.objects.filter(order_line__in=[job.order_line_id for job in open_jobs])
        .select_related("item")
        .order_by("number")
    )
    given_up = left_out({piece.item_id for piece in pieces})
    untested = [piece.pk for piece in pieces if piece.pk not in tested and piece.item_id not in given_up]
    states, stays = specimen_conditioning(untested, at), open_stays(untested)
    specimens: dict[int, list[BenchSpecimen]] = defaultdict(list)
    for piece in pieces:
        if piece.pk in tested or piece.pk in states:
            one = BenchSpecimen(piece, tested.get(piece.pk), states.get(piece.pk), stay=stays.get(piece.pk))
            specimens[piece.order_line_id].append(one)
    shown = [_job(job, person, standings[job.order_line_id], specimens[job.order_line_id]) for job in open_jobs]
    return BenchList(tuple(sorted(shown, key=lambda one: not one.mine)))


def _job(job: Job, person: User, standing: LineStanding, pieces: Sequence[BenchSpecimen]) -> BenchJob:
    line, edition, following = job.order_line, standing.edition, standing.result.next
    places = edition is not None and edition.further_points
    plan = "" if following is None else following.plan
    known = [
        replace(one, asked=not plan or getattr(one.conditioning, "plan", "") == plan, places=places) for one in pieces
    ]
    ordered = sorted(known, key=lambda one: one.order)
    running = [one for one in ordered if one.next == "go on"]
    free = [one for one in ordered if one.asked and one.next not in ("go on", "nothing")]
    called = running + free[: max(0, standing.result.needed - len(running))]
    numbers = {one.specimen.pk for one in called}
    method, standard = method_words(line.method_key)
    return BenchJob(
        job=job,
        mine=job.technician_id == person.pk,
        method=method,
        standard=standard,
        severity=ordered_words(line),
        standing=standing,
        following=next_words(standing),
        called=tuple(called),
        others=tuple(one for one in ordered if one.specimen.pk not in numbers),
    )


def _by_chamber(jobs: Sequence[BenchJob]) -> list[tuple[str, int]]:
    """How many specimens called for come out of each chamber, by its code."""
    counts: dict[str, int] = defaultdict(int)
    for job in jobs:
        for one in job.called:
            if one.next == "take out" and one.conditioning is not None:
                counts[one.conditioning.chamber_code] += 1
    return sorted(counts.items())


def _out_of(chambers: Sequence[tuple[str, int]]) -> str:
    """“Take 2 specimens out of CH-1 and 1 out of CH-2”."""
    (code, count), *more = chambers
    parts = [f"{_specimens(count)} out of {code}", *(f"{number} out of {name}" for name, number in more)]
    return f"Take {parts[0]}" if len(parts) == 1 else f"Take {', '.join(parts[:-1])} and {parts[-1]}"


def _specimens(count: int) -> str:
    return f"{count} specimen" if count == 1 else f"{count} specimens"

"""Order lines as work: what each needs at a moment, who could do it and on which rig."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from calibration.models import Rig
from calibration.queries.rigs import RigReadiness, all_rigs, rig_readiness
from labsite.ledger.models import User
from labsite.ledger.queries import laboratory_zone
from specimens.models import OrderLine, Specimen
from specimens.queries.conditioning import ConditioningState, specimen_conditioning
from specimens.queries.orders import lines_in_work, reviewed_lines, unanswered_deviations
from specimens.queries.pieces import left_out
from trials.domain.blocking import (
    ConditioningFact,
    DeviationFact,
    JobFact,
    LineFacts,
    Reason,
    RigFact,
    blocking_reasons,
)
from trials.domain.methods.base import MethodEdition
from trials.domain.statements import ConditioningNeed
from trials.models import Job, Observation
from trials.queries.authorisations import PERFORM, authorised_people
from trials.queries.methods import known_edition, method_words, ordered_words
from trials.queries.records import TAKEN_BACK_KIND
from trials.queries.results import LineStanding, line_standings

FINISHED = ("signed", "returned", "checked")


@dataclass(frozen=True, slots=True)
class RigChoice:
    """A rig of the method's kind and what is wrong with it for this method, if anything."""

    rig: Rig
    fact: RigFact
    readiness: RigReadiness


@dataclass(frozen=True, slots=True)
class WorkLine:
    """One order line at a moment: where it stands, what it needs, who has it, who and what could do it."""

    line: OrderLine
    standing: LineStanding
    facts: LineFacts
    reasons: tuple[Reason, ...]
    job: Job | None
    technicians: tuple[User, ...]
    rigs: tuple[RigChoice, ...]
    specimens: tuple[Specimen, ...]
    conditioning: dict[int, ConditioningState]

    @property
    def method(self) -> str:
        """The edition's short title."""
        return method_words(self.line.method_key)[0]

    @property
    def standard(self) -> str:
        """The edition's short standard."""
        return method_words(self.line.method_key)[1]

    @property
    def severity(self) -> str:
        """The severity with its unit."""
        return ordered_words(self.line)

    @property
    def blocking(self) -> tuple[Reason, ...]:
        """The reasons that stand in the way."""
        return tuple(reason for reason in self.reasons if reason.blocks)

    @property
    def remarks(self) -> tuple[Reason, ...]:
        """What must be said and does not stand in the way."""
        return tuple(reason for reason in self.reasons if not reason.blocks)

    @property
    def ready_rigs(self) -> tuple[RigChoice, ...]:
        """Rigs on which it could be run now."""
        return tuple(choice for choice in self.rigs if choice.fact.ready)


def line_in_work(pk: int) -> QuerySet[OrderLine]:
    """The line with this key among those not withdrawn."""
    return lines_in_work().filter(pk=pk)


def work_line(line: OrderLine, at: datetime) -> WorkLine:
    """One line as work at `at`."""
    return work_lines([line], at)[0]


def work_lines(lines: Sequence[OrderLine], at: datetime) -> list[WorkLine]:
    """Lines as work at `at`, in the order given; a constant number of queries whatever their number."""
    return _Reads(lines, at).lines()


def rig_choices(edition: MethodEdition, at: datetime) -> list[RigChoice]:
    """The rigs in use of an edition's kind, by code, each with what is wrong with it for that edition."""
    rigs = list(all_rigs().filter(in_use=True, kind=edition.rig_kind))
    return _choices(edition, rigs, rig_readiness(rigs, at))


def standing_job(line: OrderLine) -> Job | None:
    """The hand-out of a line that holds, or None."""
    return (
        Job.objects.filter(order_line=line, superseded_at=None).select_related("technician", "rig", "handed_by").first()
    )


def _choices(edition: MethodEdition, rigs: Sequence[Rig], ready: dict[int, RigReadiness]) -> list[RigChoice]:
    return [
        RigChoice(rig, _rig_fact(edition, rig, ready[rig.pk]), ready[rig.pk])
        for rig in rigs
        if rig.kind == edition.rig_kind
    ]


def _rig_fact(edition: MethodEdition, rig: Rig, ready: RigReadiness) -> RigFact:
    """What of the instruments the method must have is unusable or not there; others on the rig do not matter."""
    faults, missing = [], []
    for need in edition.instruments:
        if not need.required:
            continue
        mounted = [one for one in ready.mounted if one.instrument.kind == need.kind]
        if not mounted:
            missing.append(need.role)
        elif not any(one.usability.usable for one in mounted):
            faults += [f"{one.instrument.code}: {one.usability.clause}" for one in mounted]
    return RigFact(rig.code, tuple(dict.fromkeys(faults)), tuple(missing), ready.use.clause)


class _Reads:
    """Everything the lines need, read once for all of them."""

    def __init__(self, lines: Sequence[OrderLine], at: datetime) -> None:
        self.given, self.at = lines, at
        self.zone: ZoneInfo = laboratory_zone()
        ids = [line.pk for line in lines]
        keys = {line.method_key for line in lines}
        self.standings = line_standings(lines)
        self.reviewed = reviewed_lines(ids)
        self.deviations = unanswered_deviations(ids)
        self.jobs = {
            job.order_line_id: job
            for job in Job.objects.filter(order_line__in=ids, superseded_at=None).select_related("technician", "rig")
        }
        self.technicians = authorised_people(keys, PERFORM, at)
        rigs = list(all_rigs().filter(in_use=True))
        ready = rig_readiness(rigs, at)
        self.rigs = {key: _choices(edition, rigs, ready) for key in keys if (edition := known_edition(key)) is not None}
        self.specimens: dict[int, list[Specimen]] = defaultdict(list)
        pieces = list(Specimen.objects.filter(order_line__in=ids).select_related("item").order_by("number"))
        given_up = left_out({piece.item_id for piece in pieces})
        for piece in pieces:
            if piece.item_id not in given_up:
                self.specimens[piece.order_line_id].append(piece)
        self.touched = touched_specimens(ids)
        open_lines = {pk for pk, standing in self.standings.items() if standing.state not in FINISHED}
        waiting = [p.pk for p in pieces if p.order_line_id in open_lines and p.pk not in self.touched]
        self.conditioning = specimen_conditioning(waiting, at)

    def lines(self) -> list[WorkLine]:
        """The lines, put together."""
        return [self._line(line) for line in self.given]

    def _line(self, line: OrderLine) -> WorkLine:
        facts = self._facts(line)
        specimens = tuple(self.specimens[line.pk])
        return WorkLine(
            line=line,
            standing=self.standings[line.pk],
            facts=facts,
            reasons=blocking_reasons(facts),
            job=self.jobs.get(line.pk),
            technicians=tuple(self.technicians[line.method_key]),
            rigs=tuple(self.rigs.get(line.method_key, ())),
            specimens=specimens,
            conditioning={p.pk: self.conditioning[p.pk] for p in specimens if p.pk in self.conditioning},
        )

    def _facts(self, line: OrderLine) -> LineFacts:
        edition = known_edition(line.method_key)
        standing, job = self.standings[line.pk], self.jobs.get(line.pk)
        specimens = self.specimens[line.pk]
        untested = [piece for piece in specimens if piece.pk not in self.touched]
        running = sum(one.trial.specimen_id in self.touched for one in standing.open_trials)
        needed = max(0, standing.result.needed - running)
        technicians = self.technicians[line.method_key]
        plan = "" if standing.result.next is None else standing.result.next.plan
        need = None if edition is None else edition.conditioning_called(plan)
        return LineFacts(
            at=self.at.astimezone(self.zone),
            method=method_words(line.method_key)[1] or line.method_key,
            rig_kind="" if edition is None else edition.rig_kind,
            reviewed=line.pk in self.reviewed,
            here=len(specimens),
            untested=len(untested),
            needed=needed,
            conditioning_s=_hours_s(edition, need),
            finished=standing.state in FINISHED,
            deviations=tuple(
                DeviationFact(one.text, one.raised_at.astimezone(self.zone)) for one in self.deviations.get(line.pk, [])
            ),
            conditioning=self._next_conditioning(untested, needed, need, plan),
            technicians=tuple(str(person) for person in technicians),
            rigs=tuple(choice.fact for choice in self.rigs.get(line.method_key, ())),
            job=None if job is None else JobFact(str(job.technician), job.rig.code, job.technician in technicians),
            way="" if need is None or not plan else need.title,
            testable=sum(self._testable(piece, plan) for piece in untested),
        )

    def _testable(self, piece: Specimen, plan: str) -> bool:
        """Whether a specimen is conditioned now, in the way that is called for next."""
        state = self.conditioning.get(piece.pk)
        return state is not None and state.ready and (not plan or state.plan == plan)

    def _next_conditioning(
        self, untested: Sequence[Specimen], needed: int, need: ConditioningNeed | None, plan: str
    ) -> ConditioningFact | None:
        """The least conditioned of the specimens that would be tested next: the best ones, as many as are needed.

        Where one way of several is called for, only those that follow it.
        """
        states = [self.conditioning[piece.pk] for piece in untested if piece.pk in self.conditioning]
        known = [s for s in states if (s.in_at is not None or s.ready) and (not plan or s.plan == plan)]
        best = sorted(known, key=lambda s: (not s.ready, -s.counted_s, -s.earlier_s))[: max(1, needed)]
        if not best or (len(best) < min(needed, len(untested))):
            return None
        worst = best[-1]
        return ConditioningFact(
            needed_s=worst.stage_needed_s,
            counted_s=worst.stage_counted_s,
            not_counted_s=worst.not_counted_s,
            ready=worst.ready or worst.ready_at is not None,
            inside=worst.inside,
            chamber=worst.chamber_code,
            expected_at=self._local(worst.expected_at),
            taken_out_at=self._local(worst.taken_out_at),
            use_by=self._local(worst.use_by),
            use_within_enforced=need is not None and need.use_within_enforced,
            sentence=worst.sentence,
            moves_on=worst.in_earlier and worst.stage_ready_at is not None,
        )

    def _local(self, at: datetime | None) -> datetime | None:
        return None if at is None else at.astimezone(self.zone)


def _hours_s(edition: MethodEdition | None, need: ConditioningNeed | None) -> float:
    """All stages of one way of conditioning together, in s; nothing for an edition that is not known."""
    if edition is None or need is None:
        return 0.0
    return float(sum(edition.number(hours) for hours in (need.earlier_hours, need.hours) if hours) * 3600)


def touched_specimens(line_ids: Sequence[int]) -> set[int]:
    """Specimens of these lines that were in contact in some trial; one query."""
    rows = Observation.objects.filter(trial__job__order_line__in=line_ids, kind="contact")
    taken_back = Observation.objects.filter(kind=TAKEN_BACK_KIND).values("replaces")
    return set(rows.exclude(pk__in=taken_back).values_list("trial__specimen_id", flat=True))

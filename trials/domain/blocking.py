"""What keeps a job from being tested at a moment, and who can do something about it; computed, never stored."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from labsite.ledger.wording import mid_sentence

type Waits = Literal["hand", "time", "outside", "done"]
"""What the reason waits for: somebody here, the clock, somebody outside, or nothing any more."""


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing that stands between the job and its trial, or (`blocks` False) that must be said about it.

    `act` says what to do in a few words, `sentence` why, with the figure, the limit and a way on; `who` are the
    roles that can do it; `until` is the moment that matters, where there is one.
    """

    code: str
    waits: Waits
    act: str
    sentence: str
    who: tuple[str, ...] = ()
    blocks: bool = True
    until: datetime | None = None


@dataclass(frozen=True, slots=True)
class DeviationFact:
    """A deviation the client has not answered."""

    text: str
    raised_at: datetime


@dataclass(frozen=True, slots=True)
class ConditioningFact:
    """The least conditioned of the specimens that are needed next; times in s, moments in the laboratory's zone.

    `needed_s` is what the method asks for; `ready` says that it was reached, whatever came after. `inside` says that
    it is in a chamber now, `sentence` is the conditioning's own answer. Where stages follow each other the seconds
    are those of the present one, and `moves_on` says that they are complete and the next stage follows.
    """

    needed_s: float
    counted_s: float
    not_counted_s: float
    ready: bool
    inside: bool
    chamber: str = ""
    expected_at: datetime | None = None
    taken_out_at: datetime | None = None
    use_by: datetime | None = None
    use_within_enforced: bool = False
    sentence: str = ""
    moves_on: bool = False


@dataclass(frozen=True, slots=True)
class RigFact:
    """A rig of the method's kind: instruments that must not be used, each with its reason, and roles nobody fills.

    `not_used` says why nothing is done on the rig at all; empty where it may be used.
    """

    code: str
    faults: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    not_used: str = ""

    @property
    def ready(self) -> bool:
        """Whether the method could be run on it."""
        return not (self.faults or self.missing or self.not_used)

    @property
    def why_not(self) -> str:
        """What is wrong with it, after its name and a colon."""
        lacks = [f"no {role} is mounted" for role in self.missing]
        return self.not_used or "; ".join((*self.faults, *lacks))


@dataclass(frozen=True, slots=True)
class JobFact:
    """Who has the job, and on which rig."""

    technician: str
    rig: str
    authorised: bool


@dataclass(frozen=True, slots=True)
class LineFacts:
    """Everything that decides whether a line can be tested at `at`; all moments in the laboratory's zone.

    `here` counts the specimens that may be tested, tested ones included; `untested` those of them not tested yet;
    `needed` how many are to be tested still; `testable` those untested that are conditioned as the rule asks next.
    `conditioning` is None while no specimen ever went into a chamber;
    `conditioning_s` is what the method asks for (0 = nothing), all stages together, and `way` names the way of
    several that is needed next. `technicians` are those authorised today.
    """

    at: datetime
    method: str
    rig_kind: str
    reviewed: bool
    here: int
    untested: int
    needed: int
    conditioning_s: float
    finished: bool = False
    deviations: tuple[DeviationFact, ...] = ()
    conditioning: ConditioningFact | None = None
    technicians: tuple[str, ...] = ()
    rigs: tuple[RigFact, ...] = ()
    job: JobFact | None = None
    way: str = ""
    testable: int = 0


def blocking_reasons(facts: LineFacts) -> tuple[Reason, ...]:
    """Return what keeps the line from being tested at the moment, in the order in which it has to be settled.

    Too few specimens stand in the way only while none of them can be tested; else they are the last thing said.
    """
    if facts.finished:
        return (Reason("done", "done", "Done", "Every specimen that was needed is tested and signed."),)
    parts = (_review, _deviations, _specimens, _conditioned, _technician, _rig)
    found = [reason for part in parts for reason in part(facts)]
    return tuple(sorted(found, key=lambda reason: reason.code == "too few" and not reason.blocks))


def can_start(reasons: Sequence[Reason]) -> bool:
    """Return whether nothing stands in the way."""
    return not any(reason.blocks for reason in reasons)


def _review(facts: LineFacts) -> Iterator[Reason]:
    if not facts.reviewed:
        yield Reason(
            "not reviewed", "hand", "Sign the contract review",
            "The order as it stands is not reviewed; a lead signs the review on the order’s page.", ("lead",),
        )  # fmt: skip


def _deviations(facts: LineFacts) -> Iterator[Reason]:
    if not facts.deviations:
        return
    first = facts.deviations[0]
    more = f" (and {len(facts.deviations) - 1} more)" if len(facts.deviations) > 1 else ""
    yield Reason(
        "deviation", "hand", "Ring the client",
        f"On hold since {moment_text(first.raised_at)}, no answer recorded: {first.text.strip().rstrip('.')}{more}.",
        ("counter", "lead"),
    )  # fmt: skip


def _specimens(facts: LineFacts) -> Iterator[Reason]:
    if facts.here == 0:
        yield Reason(
            "not received", "outside", "Parcel not here yet",
            f"{_specimen_count(facts.needed)} needed, none is received. The counter takes the parcel in.", ("counter",),
        )  # fmt: skip
    elif facts.untested < facts.needed:
        yield Reason(
            "too few", "outside", "Ask for more specimens",
            f"{_specimen_count(facts.needed)} still to be tested, {facts.untested} untested here. The client sends "
            "more, or a lead agrees another way with them.", ("counter", "lead"), blocks=facts.testable == 0,
        )  # fmt: skip


def _conditioned(facts: LineFacts) -> Iterator[Reason]:
    if facts.here == 0 or facts.untested == 0 or facts.needed == 0:
        return
    state = facts.conditioning
    if state is None:
        if facts.conditioning_s > 0:
            yield Reason(
                "not conditioned", "hand",
                f"Put {_specimen_count(min(facts.needed, facts.untested))} into conditioning",
                f"{hours_text(facts.conditioning_s)} in band are needed before the trial{_way(facts)}, "
                "none is on record.",
                ("technician", "counter", "lead"),
            )  # fmt: skip
    elif not state.ready:
        yield _not_ready(facts.at, state)
    elif state.use_by is not None and state.taken_out_at is not None and not state.inside:
        yield from _window(facts.at, state.use_by, state.taken_out_at, state.use_within_enforced)


def _way(facts: LineFacts) -> str:
    return f", {mid_sentence(facts.way)}" if facts.way else ""


def _not_ready(at: datetime, state: ConditioningFact) -> Reason:
    so_far = f"{hours_text(state.counted_s)} of {hours_text(state.needed_s)}"
    lost = f"{hours_text(state.not_counted_s)} did not count. " if state.not_counted_s >= 60 else ""
    people = ("technician", "counter", "lead")
    if state.moves_on:
        return Reason("next stage", "hand", "Put into the next atmosphere", state.sentence, people)
    if not state.inside:
        out = "" if state.taken_out_at is None else f" on {moment_text(state.taken_out_at)}"
        return Reason(
            "out too early", "hand", "Put back into conditioning",
            f"Taken out{out} after {so_far} in band. {lost}The hours begin anew with the next stay.", people,
        )  # fmt: skip
    where = f" for {state.chamber}" if state.chamber else ""
    if state.expected_at is None:
        return Reason("wrong atmosphere", "hand", "Change the atmosphere", state.sentence, people)
    if state.expected_at <= at:
        return Reason(
            "no climate record", "hand", "Attach the climate record",
            f"{so_far} in band are on record. {lost}Attach the recorder’s file{where}; hours count as far as it "
            "shows them.", people,
        )  # fmt: skip
    return Reason(
        "conditioning", "time", f"Conditioning, {so_far}",
        f"{lost}Ready about {moment_text(state.expected_at)}.", (), until=state.expected_at,
    )  # fmt: skip


def _window(at: datetime, use_by: datetime, out_at: datetime, enforced: bool) -> Iterator[Reason]:
    allowed = hours_text((use_by - out_at).total_seconds())
    since = f"Out of conditioning since {moment_text(out_at)}"
    if at > use_by:
        over = f"{since}: {hours_text((at - use_by).total_seconds())} over the {allowed} allowed"
        if enforced:
            yield Reason("window passed", "hand", "Condition again",
                         f"{over}. Put the specimens back into the chamber.",
                         ("technician", "counter", "lead"))  # fmt: skip
        else:
            yield Reason("window passed", "hand", "Test soon", f"{over}, reported only.", ("technician",),
                         blocks=False)  # fmt: skip
    elif enforced:
        left = hours_text((use_by - at).total_seconds())
        yield Reason("window", "hand", f"Test by {use_by:%H:%M}", f"{since}: {left} of {allowed} left.",
                     ("technician",), blocks=False, until=use_by)  # fmt: skip


def _technician(facts: LineFacts) -> Iterator[Reason]:
    if not facts.technicians:
        yield Reason(
            "no technician", "hand", "Authorise a technician",
            f"No technician is authorised to perform trials by {facts.method} today. A lead or the quality keeper "
            "grants it on the page of authorisations.", ("lead", "quality"),
        )  # fmt: skip
    elif facts.job is not None and not facts.job.authorised:
        yield Reason(
            "technician lapsed", "hand", "Hand out to somebody else",
            f"{facts.job.technician} is not authorised to perform trials by {facts.method} today. "
            f"{_names(facts.technicians)} would do.", ("lead",),
        )  # fmt: skip


def _rig(facts: LineFacts) -> Iterator[Reason]:
    ready = [rig.code for rig in facts.rigs if rig.ready]
    blocked = [rig for rig in facts.rigs if not rig.ready]
    mine = next((rig for rig in blocked if facts.job is not None and rig.code == facts.job.rig), None)
    if not facts.rigs:
        yield Reason(
            "no rig", "hand", "Register a rig",
            f"No rig of the kind “{facts.rig_kind}” is in use here. The quality keeper or a lead registers it with its "
            "instruments.", ("quality", "lead"),
        )  # fmt: skip
    elif not ready:
        each = " ".join(f"{rig.code} is blocked: {rig.why_not}." for rig in blocked)
        yield Reason("rigs blocked", "hand", "Get a rig ready", each, ("quality", "lead"))
    elif mine is not None:
        yield Reason(
            "rig blocked", "hand", "Move to another rig",
            f"{mine.code} is blocked: {mine.why_not}. {_names(tuple(ready))} would do.", ("lead",),
        )  # fmt: skip
    elif facts.job is not None and all(rig.code != facts.job.rig for rig in facts.rigs):
        yield Reason(
            "rig gone", "hand", "Move to another rig",
            f"{facts.job.rig} is no longer in use. {_names(tuple(ready))} would do.", ("lead",),
        )  # fmt: skip


def hours_text(seconds: float) -> str:
    """Return a length of time in hours and whole minutes, rounded down: “36 h 25 min”, “24 h”, “40 min”."""
    whole, minutes = divmod(int(seconds) // 60, 60)
    rest = f" {minutes:02d} min" if minutes else ""
    return f"{whole} h{rest}" if whole else f"{minutes} min"


def moment_text(at: datetime) -> str:
    """Return a moment as people at the laboratory read it: Mon 23 Nov 09:12."""
    return f"{at:%a} {at.day} {at:%b %H:%M}"


def _specimen_count(number: int) -> str:
    return "1 specimen" if number == 1 else f"{number} specimens"


def _names(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"

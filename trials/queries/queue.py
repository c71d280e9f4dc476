"""The queue: every order line in work with what it needs, grouped by who or what it waits for."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from textwrap import shorten

from django.conf import settings
from django.db.models import QuerySet
from django.urls import reverse
from django.utils.module_loading import import_string

from labsite.ledger.models import User
from labsite.ledger.queries import laboratory_day
from labsite.ledger.wording import mid_sentence
from specimens.models import OrderLine
from specimens.queries.orders import lines_in_work
from trials.domain.blocking import Reason, moment_text
from trials.queries.authorisations import CHECK, authorised_people
from trials.queries.crew import CrewMember, RigState, crew, rig_states
from trials.queries.jobs import WorkLine, work_lines
from trials.queries.results import trials_open_now
from trials.queries.search import next_words

GROUPS = (
    ("hand", "need a hand now", "needs a hand now", "What is promised first stands first"),
    ("check", "to be checked", "to be checked", "By somebody authorised who performed none of the trials"),
    ("start", "can start", "can start", "Specimens ready, rig in calibration, somebody authorised"),
    ("run", "under way", "under way", "A trial is open at a rig"),
    ("time", "wait for time", "waits for time", "Nothing to do until the moment shown"),
    ("outside", "wait for someone outside", "waits for someone outside", "The client sends what is missing"),
    ("certificate", "ready for a certificate", "ready for a certificate", "Checked; a signatory issues"),
)
NUMBERS = (
    "No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten", "Eleven", "Twelve",
)  # fmt: skip
SHAPES = {"hand": "hand", "check": "hand", "start": "ready", "run": "run", "time": "wait", "outside": "other"}


@dataclass(frozen=True, slots=True)
class QueueRow:
    """One line as it stands in the queue."""

    group: str
    shape: str
    act: str
    why: str
    address: str
    work: WorkLine
    when: str
    when_small: str
    who: str
    where: str
    urgent_at: datetime | None

    @property
    def is_hand(self) -> bool:
        """Whether somebody here has to do something now."""
        return self.group in ("hand", "check")


@dataclass(frozen=True, slots=True)
class QueueGroup:
    """Rows that wait for the same, with the heading: count, words, and what it means."""

    key: str
    words: str
    note: str
    rows: tuple[QueueRow, ...]


@dataclass(frozen=True, slots=True)
class Queue:
    """The whole page; `rows` in the order of the groups."""

    rows: tuple[QueueRow, ...]
    groups: tuple[QueueGroup, ...]
    people: tuple[CrewMember, ...]
    rigs: tuple[RigState, ...]

    def count(self, key: str) -> int:
        """How many rows a group has."""
        return sum(row.group == key for row in self.rows)

    @property
    def answer(self) -> str:
        """What needs somebody, as the page's first sentence."""
        hand, check, start = self.count("hand"), self.count("check"), self.count("start")
        jobs = "job" if hand == 1 else "jobs"
        first = f"{_number(hand)} {jobs} {_verb(hand, 'need')} a hand now" if hand else "No job needs a hand now"
        checks = mid_sentence(f"{_number(check)} {_verb(check, 'wait')} for a check") if check else ""
        starts = f"{mid_sentence(_number(start))} can start" if start else "none can start"
        return f"{first}; {checks}, {starts}." if checks else f"{first}; {starts}."

    @property
    def rest(self) -> str:
        """The other groups, as the second sentence."""
        words = {"run": "under way", "certificate": "ready for a certificate"}
        parts = [f"{_number(self.count(key))} {'is' if self.count(key) == 1 else 'are'} {what}" for key, what in
                 words.items() if self.count(key)]  # fmt: skip
        time, outside = self.count("time"), self.count("outside")
        if time:
            parts.append(f"{_number(time)} {_verb(time, 'wait')} for time")
        if outside:
            parts.append(f"{_number(outside)} {_verb(outside, 'wait')} for someone outside")
        return "; ".join([parts[0], *(mid_sentence(part) for part in parts[1:])]) + "." if parts else ""


def queue(at: datetime, person: object) -> Queue:
    """The queue at `at` as `person` sees it; a constant number of queries whatever the number of rows."""
    rows = queue_rows(at, person)
    groups = []
    for key, many, one, note in GROUPS:
        own = tuple(row for row in rows if row.group == key)
        if own:
            groups.append(QueueGroup(key, f"{len(own)} {one if len(own) == 1 else many}", note, own))
    running = trials_open_now()
    return Queue(tuple(rows), tuple(groups), tuple(crew(running, at)), tuple(rig_states(running, at)))


def queue_rows(at: datetime, person: object) -> list[QueueRow]:
    """The rows of the queue, those that get worse first on top of each group."""
    work = work_lines(list(uncertified_lines()), at)
    checkers = authorised_people({one.line.method_key for one in work}, CHECK, at)
    today = laboratory_day(at)
    rows = [_row(one, checkers[one.line.method_key], person, today) for one in work]
    order = [key for key, *_ in GROUPS]
    return sorted(rows, key=lambda row: (order.index(row.group), *_urgency(row)))


def uncertified_lines() -> QuerySet[OrderLine]:
    """Lines in work that stand on no issued certificate; what is issued is known to a higher app, named in settings."""
    certified: Iterable[int] = import_string(settings.CERTIFIED_LINES)()
    return lines_in_work().exclude(pk__in=certified)


def _urgency(row: QueueRow) -> tuple[bool, datetime | date, date, int, int]:
    promised = row.work.line.order.promised_on or date.max
    moment = row.urgent_at.date() if row.urgent_at is not None else promised
    return (False, min(moment, promised), promised, row.work.line.order_id, row.work.line.position)


def _row(work: WorkLine, checkers: Sequence[User], person: object, today: date) -> QueueRow:
    group, act, why, until = _need(work)
    line = work.line
    check_page = group == "check" or (group == "hand" and work.standing.result.state == "hold")
    if group == "certificate":
        address = reverse("reports:issue", args=[line.order.number])
    else:
        address = reverse("trials:check" if check_page else "trials:job", args=[line.pk])
    who, where = _who_where(work, group, checkers, person)
    when, small = _when(line.order.promised_on, today, until)
    return QueueRow(
        group=group,
        shape=SHAPES.get(group, "done"),
        act=act,
        why=why,
        address=address,
        work=work,
        when=when,
        when_small=small,
        who=who,
        where=where,
        urgent_at=until,
    )


def _need(work: WorkLine) -> tuple[str, str, str, datetime | None]:
    """The group of a line, what to do, why, and the moment that matters."""
    standing = work.standing
    if standing.state == "checked":
        return "certificate", "Issue the certificate", _result(work), None
    if standing.state == "returned" and standing.check is not None:
        words = _short(standing.check.remarks)
        return "hand", "Answer the checker", f"{standing.check.by} returned the trials: {words}", None
    if standing.state == "signed":
        return _signed(work)
    if standing.open_trials:
        return _running(work)
    blocking = work.blocking
    for kind in ("hand", "outside", "time"):
        first = next((reason for reason in blocking if reason.waits == kind), None)
        if first is not None:
            return _blocked(first, blocking)
    return _startable(work)


def _signed(work: WorkLine) -> tuple[str, str, str, datetime | None]:
    standing = work.standing
    if standing.result.state == "hold":
        return "hand", "Decide as a lead", standing.result.sentence, None
    last = standing.trials[-1].signed
    signed = "" if last is None else f"Signed by {last.signed_by} {_moment(last.signed_at, work)}. "
    if standing.stale:
        return "check", "Check again", f"{signed}Corrected since the last check.", None
    return "check", "Check the trials", f"{signed}{_result(work)}", None


def _running(work: WorkLine) -> tuple[str, str, str, datetime | None]:
    standing = work.standing
    first = standing.open_trials[0]
    nth, of = len(standing.trials), max(work.line.specimens_ordered, len(standing.trials))
    since = _moment(first.trial.opened_at, work)
    return "run", f"At the rig, specimen {nth} of {of}", f"{first.trial.opened_by} opened it {since}.", None


def _blocked(first: Reason, blocking: Sequence[Reason]) -> tuple[str, str, str, datetime | None]:
    others = len(blocking) - 1
    more = f" {_number(others)} more {'reason' if others == 1 else 'reasons'}." if others else ""
    return first.waits, first.act, f"{_short(first.sentence)}{more}", first.until


def _startable(work: WorkLine) -> tuple[str, str, str, datetime | None]:
    urgent = next((reason for reason in work.remarks if reason.until is not None), None)
    said = " ".join(reason.sentence for reason in work.remarks)
    following, ready = next_words(work.standing), _ready_words(work)
    if urgent is not None:
        return "hand", urgent.act, _joined(said, following), urgent.until
    if work.job is None:
        names = " or ".join(str(one) for one in work.technicians[:2])
        others = f" or {len(work.technicians) - 2} more" if len(work.technicians) > 2 else ""
        return "start", "Hand out", _joined(following, ready, f"{names}{others} may do it.", said), None
    handed = f"Handed out {_moment(work.job.handed_at, work)}."
    tested = following or (work.standing.result.sentence if work.standing.trials else handed)
    return "start", "Start at the bench", _joined(tested, ready, said), None


def _joined(*sentences: str) -> str:
    return " ".join(sentence for sentence in sentences if sentence)


def _ready_words(work: WorkLine) -> str:
    number = min(work.facts.needed, work.facts.untested)
    return f"{number} {'specimen is' if number == 1 else 'specimens are'} ready."


def _who_where(work: WorkLine, group: str, checkers: Sequence[User], person: object) -> tuple[str, str]:
    if group == "check":
        free = [one for one in checkers if one.pk not in work.standing.performers]
        if isinstance(person, User) and any(one.pk == person.pk for one in free):
            return "nobody yet", "you may check"
        return "nobody yet", f"{_either(free)} may check" if free else "nobody may check"
    if group == "certificate":
        return "a signatory", ""
    rigs = " or ".join(choice.rig.code for choice in work.ready_rigs[:2])
    first = next((one for one in work.blocking if one.waits == group), None)
    if work.job is not None:
        blocked = all(choice.rig.pk != work.job.rig_id for choice in work.ready_rigs)
        return str(work.job.technician), f"{work.job.rig.code}, blocked" if blocked else work.job.rig.code
    if first is not None and first.who:
        return " or ".join(first.who), rigs
    inside = work.facts.conditioning.chamber if work.facts.conditioning is not None else ""
    return "nobody yet", inside if group == "time" else rigs or "no rig ready"


def _either(people: Sequence[User]) -> str:
    names = [str(person) for person in people]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"


def _when(promised: date | None, today: date, until: datetime | None) -> tuple[str, str]:
    if promised is None:
        return "no date", "nothing promised"
    days = (promised - today).days
    when = "today" if days == 0 else f"{promised:%a} {promised.day} {promised:%b}"
    if until is not None:
        return when, moment_text(until)
    if days < 0:
        return when, f"{-days} {'day' if days == -1 else 'days'} late"
    return when, {0: "promised today", 1: "tomorrow"}.get(days, f"in {days} days")


def _number(count: int) -> str:
    return NUMBERS[count] if count < len(NUMBERS) else str(count)


def _verb(count: int, verb: str) -> str:
    return f"{verb}s" if count == 1 else verb


def _result(work: WorkLine) -> str:
    """The line's result; that of its only trial where there is one, which names no specimen."""
    trials = work.standing.trials
    only = trials[0].signed if len(trials) == 1 else None
    return _short(work.standing.result.sentence if only is None else only.sentence)


def _short(words: str) -> str:
    return shorten(words, 110, placeholder=" …")


def _moment(at: datetime, work: WorkLine) -> str:
    """A moment in the laboratory's zone, which the line's facts carry."""
    return moment_text(at.astimezone(work.facts.at.tzinfo))

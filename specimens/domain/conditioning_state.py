"""Whether a specimen is conditioned for its method at a moment, with the figures and the sentence."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from specimens.domain.atmospheres import Atmosphere, Band
from specimens.domain.conditioning import InBand, use_by
from specimens.domain.conditioning_words import atmosphere_text, duration_text, moment_text


@dataclass(frozen=True, slots=True)
class Need:
    """What a method asks for: hours under an atmosphere (None: no conditioning), and the time it holds afterwards.

    `plan` and `title` name one way of several; `earlier` is the stage that comes before, for instance an oven, which
    may have a longest time too, `most_hours`.
    """

    atmosphere: Atmosphere | None
    hours: Decimal
    use_within_hours: Decimal | None = None
    use_within_enforced: bool = False
    plan: str = ""
    title: str = ""
    earlier: "Need | None" = None
    most_hours: Decimal | None = None

    @property
    def words(self) -> str:
        """What is asked for, stage by stage: “24 h at 15 to 35 °C and 45 to 75 % RH”; empty for nothing."""
        if self.atmosphere is None or not self.hours:
            return ""
        hours = duration_text(self.needed_s)
        if self.most_hours is not None:
            hours = f"{hours.removesuffix(' h')} to {duration_text(float(self.most_hours * 3600))}"
        last = f"{hours} at {atmosphere_text(self.atmosphere)}"
        return f"{self.earlier.words}, then {last}" if self.earlier is not None else last

    @property
    def needed_s(self) -> float:
        """The hours in seconds; nothing where no atmosphere is asked for."""
        return float(self.hours * 3600) if self.atmosphere is not None else 0.0

    def too_long(self, counted_s: float) -> bool:
        """Whether so many seconds are more than are allowed."""
        return self.most_hours is not None and counted_s > float(self.most_hours * 3600)


@dataclass(frozen=True, slots=True)
class StayFacts:
    """One stay of one specimen as known at the moment asked about; `out_at` None while it is inside."""

    chamber_code: str
    atmosphere: Atmosphere
    in_at: datetime
    out_at: datetime | None


@dataclass(frozen=True, slots=True)
class ConditioningState:
    """The answer for one specimen or for the least conditioned one of a line.

    `not_counted_s` is time that was recorded as gap, excursion or fault; `awaiting_record_s` is the time after the
    last reading, of which nothing is known yet. `expected_at` holds if the atmosphere was in band since the last
    reading and stays so. `ready` turns False again after `use_by` where the method enforces it.
    `plan` names the way it is conditioned where the method knows several. Where an earlier stage comes before,
    `earlier_s` of `earlier_needed_s` count of it; `in_earlier` says that the present stay, of which `expected_at`,
    `not_counted_s` and `awaiting_record_s` speak, is that stage, and `stage_ready_at` when its hours were complete.
    `stay_counts` is False where no hour of the present stay can count: another atmosphere, or the stage before it
    is not complete.
    """

    needed_s: float
    counted_s: float
    not_counted_s: float
    ready: bool
    ready_at: datetime | None
    expected_at: datetime | None
    inside: bool
    taken_out_at: datetime | None
    use_by: datetime | None
    chamber_code: str
    sentence: str
    in_at: datetime | None = None
    awaiting_record_s: float = 0.0
    plan: str = ""
    earlier_needed_s: float = 0.0
    earlier_s: float = 0.0
    in_earlier: bool = False
    stage_ready_at: datetime | None = None
    stay_counts: bool = True

    @property
    def stage_needed_s(self) -> float:
        """What the stage of the present stay asks for."""
        return self.earlier_needed_s if self.in_earlier else self.needed_s

    @property
    def stage_counted_s(self) -> float:
        """What counts of the stage of the present stay."""
        return self.earlier_s if self.in_earlier else self.counted_s


def lies_inside(inner: Atmosphere, outer: Atmosphere) -> bool:
    """Whether `inner` is `outer` or stricter: both its bands lie wholly inside (an open humidity is inside nothing)."""
    if not _inside(inner.temperature_c, outer.temperature_c):
        return False
    if outer.humidity_percent is None:
        return True
    return inner.humidity_percent is not None and _inside(inner.humidity_percent, outer.humidity_percent)


def _inside(inner: Band, outer: Band) -> bool:
    return outer.low <= inner.low and inner.high <= outer.high


def without_stay(*needs: Need, received: bool = True) -> ConditioningState:
    """The state of a specimen that has not been in a chamber yet, or of a line nothing has come in for.

    `needs` are the ways of conditioning the method knows, one at least.
    """
    nothing_needed = not needs[0].words
    if not received:
        words = "Nothing has come in yet."
    elif nothing_needed:
        words = "No conditioning is asked for."
    else:
        words = f"Not in a chamber yet; {', or '.join(need.words for need in needs)} are needed."
    ready = nothing_needed and received
    return ConditioningState(needs[0].needed_s, 0.0, 0.0, ready, None, None, False, None, None, "", words)


def conditioning_state(
    need: Need, stay: StayFacts, judged: InBand, *, record_until: datetime | None, at: datetime, zone: ZoneInfo
) -> ConditioningState:
    """The state at `at` after the last `stay`, whose time up to `at` is divided in `judged`.

    `record_until` is the last reading known then, None without any. All moments are aware.
    """
    fits = need.atmosphere is None or lies_inside(stay.atmosphere, need.atmosphere)
    known_until = max(stay.in_at, min(record_until, judged.until_at)) if record_until else stay.in_at
    awaiting_s = (judged.until_at - known_until).total_seconds()
    counted_s = judged.counted_s if fits else 0.0
    missing = timedelta(seconds=max(0.0, need.needed_s - counted_s))
    ready_at = judged.ready_at(need.hours if need.needed_s else 0) if fits else None
    inside = stay.out_at is None
    expected_at = max(at, known_until + missing) if inside and fits and ready_at is None else None
    best_before = None
    if stay.out_at is not None and need.use_within_hours is not None and need.needed_s and ready_at is not None:
        best_before = use_by(stay.out_at, need.use_within_hours)
    late = best_before is not None and at > best_before
    return ConditioningState(
        needed_s=need.needed_s,
        counted_s=counted_s,
        not_counted_s=judged.not_counted_s - awaiting_s if fits else judged.counted_s + judged.not_counted_s,
        ready=ready_at is not None and not (late and need.use_within_enforced),
        ready_at=ready_at,
        expected_at=expected_at,
        inside=inside,
        taken_out_at=stay.out_at,
        use_by=best_before,
        chamber_code=stay.chamber_code,
        sentence=_sentence(need, stay, fits, counted_s, ready_at, expected_at, best_before, awaiting_s, at, zone),
        in_at=stay.in_at,
        awaiting_record_s=awaiting_s if fits else 0.0,
        stage_ready_at=ready_at,
        stay_counts=fits,
    )


def _sentence(
    need: Need,
    stay: StayFacts,
    fits: bool,
    counted_s: float,
    ready_at: datetime | None,
    expected_at: datetime | None,
    best_before: datetime | None,
    awaiting_s: float,
    at: datetime,
    zone: ZoneInfo,
) -> str:
    def when(moment: datetime) -> str:
        return moment_text(moment, zone, at)

    if not fits and need.atmosphere is not None:
        return (
            f"Its stay in {stay.chamber_code} was under {atmosphere_text(stay.atmosphere)}; the method asks for "
            f"{atmosphere_text(need.atmosphere)}, so no hour of it counts."
        )
    if not need.needed_s:
        return "No conditioning is asked for."
    have = f"{duration_text(counted_s)} of {duration_text(need.needed_s)} in {stay.chamber_code} count"
    if ready_at is None:
        if expected_at is None:
            gone = f"it left on {when(stay.out_at)}" if stay.out_at else ""
            missing = "; a record of the rest may still be brought in" if awaiting_s else ""
            return f"{have}; {gone}{missing}."
        if awaiting_s and expected_at <= at:
            return f"{have}; bring in the record of the last {duration_text(awaiting_s)}."
        return f"{have}; complete about {when(expected_at)}, if it stays in band."
    complete = f"Complete since {when(ready_at)}, in {stay.chamber_code}"
    if stay.out_at is None:
        return f"{complete}; it may come out."
    if best_before is None:
        return f"{complete}; out since {when(stay.out_at)}."
    if at > best_before:
        words = "it must be conditioned again" if need.use_within_enforced else "the method does not enforce it"
        return f"{complete}; to be tested by {when(best_before)}, which is over: {words}."
    return f"{complete}; out since {when(stay.out_at)}, to be tested by {when(best_before)}."

"""Which of a method's ways of conditioning a specimen follows, and its state where one stage comes before another."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from labsite.ledger.wording import mid_sentence
from specimens.domain.conditioning import InBand
from specimens.domain.conditioning_state import ConditioningState, Need, StayFacts, conditioning_state, lies_inside
from specimens.domain.conditioning_words import duration_text


@dataclass(frozen=True, slots=True)
class Way:
    """The way a specimen follows by its stays, oldest first: the last one is a stage of `need`.

    `in_earlier`: that stay is the stage which comes before; else `earlier` is the place of the stay that was, None
    where there was none or none is asked for.
    """

    need: Need
    in_earlier: bool = False
    earlier: int | None = None


@dataclass(frozen=True, slots=True)
class JudgedStay:
    """A stay, its time divided by the climate record, and the last reading known then, None without any."""

    stay: StayFacts
    judged: InBand
    record_until: datetime | None


def followed_way(needs: Sequence[Need], stays: Sequence[StayFacts]) -> Way:
    """Return the way whose atmosphere fits the last stay; the first one, without its name, where none does.

    Of several that fit, one whose earlier stage was gone through comes first, then one without such a stage, then
    one whose earlier stage the last stay is. `needs` and `stays` have one member at least.
    """
    ways = [_way(need, stays) for need in needs]
    return max(ways, key=lambda one: one[0])[1]


def _way(need: Need, stays: Sequence[StayFacts]) -> tuple[int, Way]:
    """How well a way fits, and as what."""
    last, before = stays[-1], range(len(stays) - 2, -1, -1)
    if _fits(last, need):
        if need.earlier is None:
            return 3, Way(need)
        stage = need.earlier
        earlier = next((place for place in before if _fits(stays[place], stage)), None)
        return (1 if earlier is None else 4), Way(need, earlier=earlier)
    if need.earlier is not None and _fits(last, need.earlier):
        return 2, Way(need, in_earlier=True)
    return 0, Way(replace(need, plan="", title="", earlier=None))


def _fits(stay: StayFacts, need: Need) -> bool:
    return need.atmosphere is None or lies_inside(stay.atmosphere, need.atmosphere)


def state_on_way(
    way: Way, last: JudgedStay, earlier: JudgedStay | None, *, at: datetime, zone: ZoneInfo
) -> ConditioningState:
    """Return the state of a specimen at `at` after its last stay; `earlier` is the stay that `way.earlier` names.

    Hours of the last stage count only once the earlier one is complete. The sentence names the way where it has a
    title. All moments are aware.
    """
    need, before = way.need, way.need.earlier
    if before is None:
        state = _judged(need, last, at, zone)
    elif way.in_earlier:
        state = _in_earlier(need, before, _judged(before, last, at, zone))
    else:
        first = None if earlier is None else _judged(before, earlier, at, zone)
        state = _after_earlier(need, before, _judged(need, last, at, zone), first, at)
    sentence = state.sentence
    if need.title:
        sentence = f"{need.title}: {mid_sentence(sentence)}"
    return replace(state, plan=need.plan, sentence=sentence)


def _judged(need: Need, one: JudgedStay, at: datetime, zone: ZoneInfo) -> ConditioningState:
    return conditioning_state(need, one.stay, one.judged, record_until=one.record_until, at=at, zone=zone)


def _in_earlier(need: Need, before: Need, state: ConditioningState) -> ConditioningState:
    """The state in, or after, the stage that comes before: nothing of the last one counts yet."""
    told = replace(
        state,
        needed_s=need.needed_s,
        counted_s=0.0,
        ready=False,
        ready_at=None,
        earlier_needed_s=before.needed_s,
        earlier_s=state.counted_s,
        in_earlier=True,
        sentence=f"{state.sentence[:-1]}; then {replace(need, earlier=None).words}.",
    )
    return _too_long(before, told) if before.too_long(state.counted_s) else told


def _after_earlier(
    need: Need, before: Need, state: ConditioningState, first: ConditioningState | None, at: datetime
) -> ConditioningState:
    """The state in, or after, the last stage; none of it counts while the earlier one is not shown to be complete."""
    have_s = 0.0 if first is None else first.counted_s
    told = replace(state, earlier_needed_s=before.needed_s, earlier_s=have_s)
    if before.too_long(have_s):
        return _too_long(before, told)
    if first is not None and first.ready_at is not None:
        return told
    may_come = first is not None and have_s + first.awaiting_record_s >= before.needed_s
    have = f"{duration_text(have_s)} of it count" if have_s else "none of it is on record"
    rest = "; bring in its record" if may_come else ""
    return replace(
        _none_counts(told),
        expected_at=at if may_come and state.inside else None,
        sentence=f"No hour in {state.chamber_code} counts yet: {before.words} come first, {have}{rest}.",
    )


def _too_long(before: Need, state: ConditioningState) -> ConditioningState:
    """The state after more of the earlier stage than is allowed."""
    had = f"It had {duration_text(state.earlier_s)} where {before.words} are asked for"
    return replace(_none_counts(state), sentence=f"{had}: too long; take another specimen.")


def _none_counts(state: ConditioningState) -> ConditioningState:
    return replace(
        state,
        counted_s=0.0,
        not_counted_s=state.not_counted_s + state.counted_s,
        ready=False,
        ready_at=None,
        expected_at=None,
        use_by=None,
        stage_ready_at=None,
        stay_counts=False,
    )

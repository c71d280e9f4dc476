"""The life of one specimen, from the counter to the check, each stage with its moment, people and instruments."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import pairwise
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from labsite.ledger.queries import laboratory_zone
from specimens.domain.atmospheres import ATMOSPHERES
from specimens.domain.conditioning import InBand
from specimens.models import Custody, Specimen, StaySpecimen
from specimens.queries.climate import climates
from trials.domain.blocking import hours_text
from trials.models import Check, InstrumentUse, Observation
from trials.queries.records import TAKEN_BACK_KIND
from trials.queries.results import LineStanding, TrialStanding, line_standing


@dataclass(frozen=True, slots=True)
class Stage:
    """One knot of the thread; `at` is None while it is still to come.

    `with_words` are the place and instruments, `before` what is written on the line that leads here, `busy` says that
    the line is a stay in a chamber, `gaps` are the parts of it (0 to 1) that did not count.
    """

    title: str
    at: datetime | None = None
    who: str = ""
    with_words: str = ""
    before: tuple[str, ...] = ()
    busy: bool = False
    gaps: tuple[tuple[float, float], ...] = ()


def specimens_with_life() -> QuerySet[Specimen]:
    """Specimens with all that their life needs."""
    return Specimen.objects.select_related("item__receipt__received_by", "order_line__order__client")


def specimen_life(specimen: Specimen, at: datetime, trial: TrialStanding | None = None) -> tuple[Stage, ...]:
    """The stages of a specimen's life up to `at`, six of them; those to come have no moment.

    Without `trial` the last trial in which the specimen was touched is shown, else the last that was opened.
    """
    zone = laboratory_zone()
    standing = line_standing(specimen.order_line)
    shown = trial or _last_trial(standing, specimen)
    stages = [
        _received(specimen),
        *_conditioned(specimen, at),
        _tested(shown),
        _signed(shown),
        _checked(standing, shown),
    ]
    stages[1] = _with_shelf(stages[1], specimen)
    return tuple(_in_zone(_with_duration(stages, position), zone) for position in range(len(stages)))


def _received(specimen: Specimen) -> Stage:
    receipt = specimen.item.receipt
    return Stage("Received", receipt.came_at, str(receipt.received_by), specimen.item.condition)


def _with_shelf(stage: Stage, specimen: Specimen) -> Stage:
    first = Custody.objects.filter(specimen=specimen).select_related("place", "person").order_by("at", "pk").first()
    if first is None or stage.at is None:
        return stage
    where = f"in {first.place.code}" if first.place is not None else f"with {first.person}"
    return replace(stage, before=(where,))


def _conditioned(specimen: Specimen, at: datetime) -> tuple[Stage, Stage]:
    """Into the chamber and out of it: the first going in, the last coming out, the hours that counted between."""
    stays = list(
        StaySpecimen.objects.filter(specimen=specimen, in_at__lte=at)
        .select_related("stay__chamber", "stay__recorder", "in_by", "out_by")
        .order_by("in_at", "pk")
    )
    if not stays:
        return Stage("Conditioned"), Stage("Taken out")
    first, last = stays[0], stays[-1]
    where = f"{first.stay.chamber.code}, {first.stay.recorder.code}"
    went_in = Stage("Conditioned", first.in_at, str(first.in_by), where)
    ended = last.out_at is not None and last.out_at <= at
    parts = [_judged(stay, at) for stay in stays]
    words, gaps = _hours(parts, first.in_at, last.out_at if ended and last.out_at is not None else at)
    if not ended or last.out_at is None:
        return went_in, Stage("Taken out", before=words, busy=True)
    several = f"{len(stays)} stays" if len(stays) > 1 else f"from {last.stay.chamber.code}"
    return went_in, Stage("Taken out", last.out_at, str(last.out_by), several, words, True, gaps)


def _judged(member: StaySpecimen, at: datetime) -> InBand:
    stay = member.stay
    until = member.out_at if member.out_at is not None and member.out_at <= at else at
    source = (stay.chamber_id, stay.recorder_id)
    climate = climates([source], from_at=member.in_at, until_at=until, at=at)[source]
    return climate.judged(ATMOSPHERES[stay.atmosphere_key], member.in_at, until)


def _hours(
    parts: Sequence[InBand], start: datetime, end: datetime
) -> tuple[tuple[str, ...], tuple[tuple[float, float], ...]]:
    """What is written on the line through the chamber, and which parts of it did not count."""
    counted_s = sum(part.counted_s for part in parts)
    whole = (end - start).total_seconds() or 1.0
    missed = [(stretch.from_at, stretch.until_at) for part in parts for stretch in part.not_counted]
    missed += [(one.until_at, two.from_at) for one, two in pairwise(parts) if two.from_at > one.until_at]
    gaps = tuple(sorted(((a - start).total_seconds() / whole, (b - start).total_seconds() / whole) for a, b in missed))
    lost_s = sum((b - a).total_seconds() for a, b in missed)
    words = (f"{hours_text(counted_s)} counted",)
    return (words if lost_s < 60 else (*words, f"{hours_text(lost_s)} not counted")), gaps


def _last_trial(standing: LineStanding, specimen: Specimen) -> TrialStanding | None:
    own = [one for one in standing.trials if one.trial.specimen_id == specimen.pk]
    judged = [one for one in own if one.verdict is not None and one.verdict.outcome in ("pass", "fail")]
    shown = judged or own
    return shown[-1] if shown else None


def _tested(shown: TrialStanding | None) -> Stage:
    if shown is None:
        return Stage("Tested")
    taken_back = Observation.objects.filter(kind=TAKEN_BACK_KIND).values("replaces")
    rows = Observation.objects.filter(trial=shown.trial, kind="contact").exclude(pk__in=taken_back).order_by("pk")
    contact = rows.first()
    at = None if contact is None else (contact.device_at or contact.received_at)
    used = InstrumentUse.objects.filter(trial=shown.trial).select_related("instrument").order_by("pk")
    codes = [shown.trial.rig.code, *dict.fromkeys(use.instrument.code for use in used)]
    return Stage("Tested", at, str(shown.trial.opened_by), ", ".join(codes))


def _signed(shown: TrialStanding | None) -> Stage:
    if shown is None or shown.signed is None:
        return Stage("Signed")
    again = f", signed {shown.signings} times" if shown.signings > 1 else ""
    signed = shown.signed
    return Stage("Signed", signed.signed_at, str(signed.signed_by), f"rule version {signed.rule_version}{again}")


def _checked(standing: LineStanding, shown: TrialStanding | None) -> Stage:
    check = standing.check
    if check is None or standing.stale or shown is None or shown.signed is None:
        return Stage("Checked")
    if check.finding != Check.Finding.SOUND:
        return Stage("Checked", with_words=f"returned by {check.by}")
    return Stage("Checked", check.at, str(check.by), "sound")


def _with_duration(stages: Sequence[Stage], position: int) -> Stage:
    """The stage with the time since the one before it written on the line, unless the hours in band stand there."""
    stage = stages[position]
    before = stages[position - 1] if position else None
    if before is None or before.at is None or stage.at is None or stage.busy or stage.at < before.at:
        return stage
    words = (hours_text((stage.at - before.at).total_seconds()), *stage.before)
    return replace(stage, before=words)


def _in_zone(stage: Stage, zone: ZoneInfo) -> Stage:
    at = None if stage.at is None else stage.at.astimezone(zone)
    return replace(stage, at=at)

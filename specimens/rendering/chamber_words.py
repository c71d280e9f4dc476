"""A chamber's page and the overview of chambers: their answers as sentences, and the drawings."""

from collections.abc import Sequence

from django.utils.safestring import SafeString, mark_safe

from labsite.ledger.queries import laboratory_zone
from specimens.domain.atmospheres import ATMOSPHERES
from specimens.domain.conditioning import Stretch
from specimens.domain.conditioning_words import duration_text, moment_text, stretches_text
from specimens.domain.counter_words import counted, number_word, sentence
from specimens.models import ClimateRecord
from specimens.queries.chamber_list import ChamberList
from specimens.queries.chambers import ChamberPage, SetInside, inside_words
from specimens.queries.climate import decoded_series
from specimens.queries.conditioning import members_at
from specimens.rendering.climate import climate_drawing
from specimens.rendering.climate_stays import StayBar, stays_drawing


def chamber_answer(page: ChamberPage) -> dict[str, str]:
    """`answer`: is it in band, and what did not count; `rest`: who is inside and what may come out."""
    return {"answer": _climate_answer(page), "rest": _sets_answer(page)}


def _climate_answer(page: ChamberPage) -> str:
    code, last = page.chamber.code, page.last
    if last is None:
        if not page.records:
            return f"{code} has no climate record yet."
        until = _whole(moment_text(page.records[0].last_at, page.zone, page.at))
        return f"{code} has no record of these days; the last one ends on {until}."
    when = "now" if last.present else f"at its last reading, {_whole(moment_text(last.at, page.zone, page.at))}"
    verb = "is" if last.present else "was"
    stands = f"{code} {verb} out of band {when}: {last.trouble}" if last.trouble else f"{code} {verb} in band {when}"
    if page.judged is None:
        return f"{stands}."
    lost = page.judged.not_counted
    return f"{stands}; {stretches_text(len(lost), page.judged.not_counted_s)}."


def _whole(words: str) -> str:
    """Words that are not parted at the end of a line."""
    return words.replace(" ", "\u00a0")


def _sets_answer(page: ChamberPage) -> str:
    inside, complete = page.inside, page.complete
    if not inside:
        return "No set is inside."
    parts = [f"{counted(len(inside), 'set')} {'is' if len(inside) == 1 else 'are'} inside"]
    if complete:
        have = "has its hours" if len(complete) == 1 else "have their hours"
        parts.append(f"{_listed(complete)} {have} and may come out")
    waiting = len(inside) - len(complete)
    if waiting:
        who = "it waits" if len(inside) == 1 else f"{number_word(waiting)} {'waits' if waiting == 1 else 'wait'}"
        until = inside_words(page)
        parts.append(f"{who} until {until} if it stays in band" if until else who)
    return sentence("; ".join(parts))


def _listed(sets: Sequence[SetInside]) -> str:
    words = [each.words for each in sets]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def list_answer(found: ChamberList) -> dict[str, str]:
    """The overview's answer: `h1` what may come out, `rest` what is inside and what waits to go in."""
    complete = len(found.complete)
    if not found.rows:
        return {"h1": "There is no conditioning chamber yet.", "rest": ""}
    h1 = (
        f"{counted(complete, 'set')} {'has its' if complete == 1 else 'have their'} hours and may come out"
        if complete
        else "no set may come out yet"
        if found.inside_count
        else "the chambers are empty"
    )
    parts = [f"{counted(found.inside_count, 'set')} {'is' if found.inside_count == 1 else 'are'} inside"]
    if found.waiting:
        waiting = len(found.waiting)
        parts.append(f"{counted(waiting, 'set')} {'waits' if waiting == 1 else 'wait'} to go in")
    return {"h1": sentence(h1), "rest": sentence("; ".join(parts))}


def chamber_drawings(page: ChamberPage) -> dict[str, SafeString | str]:
    """`record`: the climate drawing; `bars`: who was inside; empty where there is nothing to draw."""
    if page.last is None:
        record = SafeString("")
    else:
        record = mark_safe(  # noqa: S308  (every text in it was escaped when it was drawn)
            climate_drawing(
                page.climate.series,
                page.atmosphere,
                page.from_at,
                page.until_at,
                page.zone,
                counting=page.climate.counting,
                now=page.at,
            )
        )
    bars = [
        StayBar(
            words=each.words,
            in_at=each.in_at,
            out_at=each.out_at,
            not_counted=_shown_stretches(page, each) if each.state.stay_counts else None,
            ready_at=each.state.stage_ready_at,
            needed_s=each.state.stage_needed_s,
        )
        for each in page.sets
    ]
    drawn = stays_drawing(bars, page.from_at, page.until_at, page.zone, now=page.at) if bars else ""
    return {"record": record, "bars": mark_safe(drawn), "record_words": _record_words(page)}  # noqa: S308  (as above)


def _shown_stretches(page: ChamberPage, found: SetInside) -> list[Stretch]:
    """What did not count; time since a last reading that still speaks for now is not missing yet."""
    longest = page.climate.longest_gap
    return [
        each for each in found.judged.not_counted if each.kind != "no record" or each.until_at - each.from_at > longest
    ]


def record_drawing(record: ClimateRecord) -> SafeString:
    """One record alone from its first to its last reading, against the atmosphere the chamber was last used for."""
    zone, last = laboratory_zone(), members_at(record.last_at).filter(stay__chamber=record.chamber).last()
    atmosphere = ATMOSPHERES[last.stay.atmosphere_key] if last else next(iter(ATMOSPHERES.values()))
    series = decoded_series([record])[record.series_sha256]
    drawn = climate_drawing(series, atmosphere, record.first_at, record.last_at, zone)
    return mark_safe(drawn)  # noqa: S308  (every text in it was escaped when it was drawn)


def _record_words(page: ChamberPage) -> str:
    """How often was read and how much: “one reading a minute, 3 840 readings”."""
    shown = [record for record in page.records if record.last_at >= page.from_at and record.first_at <= page.until_at]
    if not shown:
        return ""
    interval = shown[0].interval_s
    step = "" if not interval else f"one reading in {duration_text(interval)}, "
    if interval == 60:
        step = "one reading a minute, "
    files = f"file {shown[0].file.name} as received" if len(shown) == 1 else f"{len(shown)} files as received"
    readings = f"{sum(record.rows for record in shown):,}".replace(",", "\u00a0")
    corrected = "; ".join(page.climate.corrected_by)
    return f"{step}{readings} readings, {files}{f', corrected: {corrected}' if corrected else ''}"

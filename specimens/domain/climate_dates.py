"""One order of day and month for the whole file: stated, proved, confirmed by a person - or asked."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from specimens.domain.climate_answers import DATE_ORDERS, ClimateRefused, Option, Question
from specimens.domain.climate_stamps import DateText, calendar_date, read_date

_ISO_DATE = re.compile(r"\b(\d{4})-(\d{2})-(\d{2})\b")
_CTIME_DATE = re.compile(r"\b([A-Za-z]{3,9})\.?\s+(\d{1,2})\b(?:,|[\d:\s]|\b[A-Z]{2,5}\b)*?\b(\d{4})\b")
_NAMED_DATE = re.compile(r"\b\d{1,2}[.\s-]\s?[^\W\d_]{3,9}[.\s-]\s?\d{4}\b")
_PATTERN = re.compile(r"(?<![a-z])([dmytja]{1,4})[-/.\s]([dm]{1,2}|mmm|[dm]{1,2})[-/.\s]([dmytja]{1,4})(?![a-z])")


@dataclass(frozen=True, slots=True)
class DateOrder:
    """The order (a key of DATE_ORDERS; None while it has to be asked) and why; the question when it is open."""

    order: str | None
    why: str
    question: Question | None = None


def resolved(text: DateText, order: str) -> date | None:
    """The date under one order; None when the calendar has no such day."""
    if text.fixed is not None or text.figures is None:
        return text.fixed
    first, second, third = text.figures
    if order == "day-first":
        return calendar_date(third, second, first)
    if order == "month-first":
        return calendar_date(third, first, second)
    return None if text.long_year else calendar_date(first, second, third)


def stated_order(headings: Sequence[str]) -> str | None:
    """The order that a heading or a unit row spells out, such as "Date (dd/mm/yyyy)" or "TT.MM.JJJJ"."""
    for heading in headings:
        match = _PATTERN.search(heading.casefold())
        if match is None:
            continue
        parts = "".join(part[0] for part in match.groups())
        parts = parts.replace("t", "d").replace("a", "y")
        # "j" is jour beside "a", otherwise Jahr
        parts = parts.replace("j", "d") if "y" in parts else parts.replace("j", "y")
        found = {"dmy": "day-first", "mdy": "month-first", "ymd": "year-first"}.get(parts)
        if found:
            return found
    return None


def dates_named(preamble: Sequence[str]) -> frozenset[date]:
    """Dates in the preamble that can be read one way only: ISO dates and dates with the month's name."""
    found: set[date] = set()
    for line in preamble:
        for year, month, day in _ISO_DATE.findall(line):
            iso = calendar_date(int(year), int(month), int(day))
            if iso:
                found.add(iso)
        texts = [match.group(0) for match in _NAMED_DATE.finditer(line)]
        texts += [f"{day} {month} {year}" for month, day, year in _CTIME_DATE.findall(line)]
        for text in texts:
            named = read_date(text)
            if named is not None and named.fixed is not None:
                found.add(named.fixed)
    return frozenset(found)


def date_order(
    dates: Sequence[tuple[str, int, DateText]],
    *,
    answer: str | None,
    headings: Sequence[str],
    preamble: Sequence[str],
) -> DateOrder:
    """Decide the order for all `dates` (text, line of first appearance, what was read), in order of appearance.

    Proof is a statement in the heading, a figure above 12, or a date in the preamble that fits one order only.
    Raises ClimateRefused when an answer or a statement contradicts a date, or when no order fits all of them.
    """
    open_dates = [each for each in dates if each[2].fixed is None]
    if not open_dates:
        if all(re.match(r"\d{4}", text) for text, _, _ in dates):
            return DateOrder("year-first", "every date is written year first")
        return DateOrder("month-named", "every date is written year first or with the month's name")
    told = answer or stated_order(headings)
    if told:
        for text, line, read in open_dates:
            if resolved(read, told) is None:
                raise ClimateRefused(f"Line {line}: “{text}” is no date when read {DATE_ORDERS[told]}.")
        return DateOrder(told, "confirmed by a person" if answer else "the heading says so")
    left = _possible(open_dates)
    if not left:
        text, line, _ = open_dates[0]
        raise ClimateRefused(
            f"No single order of day and month fits all dates of the file (the first is “{text}” in line {line})."
        )
    if len(left) == 1:
        return DateOrder(left[0], _proof(open_dates, left[0]))
    named = dates_named(preamble)
    ends = (open_dates[0][2], open_dates[-1][2])
    fitting = [order for order in left if any(resolved(end, order) in named for end in ends)]
    if len(fitting) == 1:
        return DateOrder(fitting[0], "the preamble names the date of the first or last reading")
    return DateOrder(None, "no date in the file settles it", _order_question(open_dates[0], left))


def _possible(dates: Sequence[tuple[str, int, DateText]]) -> list[str]:
    left = [order for order in DATE_ORDERS if all(resolved(read, order) is not None for _, _, read in dates)]
    common = [order for order in left if order != "year-first"]
    if "year-first" not in left or not common:
        return left
    # Two figures for the year and the year first: usual with dashes; elsewhere only if the other orders leap by years.
    if any(read.mark == "-" for _, _, read in dates) or all(_leaps(dates, order) for order in common):
        smooth = [order for order in left if not _leaps(dates, order)]
        return smooth or left
    return common


def _leaps(dates: Sequence[tuple[str, int, DateText]], order: str) -> bool:
    days = [day for day in (resolved(read, order) for _, _, read in dates) if day is not None]
    return any(abs((later - sooner).days) >= 300 for sooner, later in pairwise(days))


def _proof(dates: Sequence[tuple[str, int, DateText]], order: str) -> str:
    other = "month-first" if order == "day-first" else "day-first"
    for text, line, read in dates:
        if resolved(read, other) is None:
            return f"“{text}” in line {line} is a date only when read {DATE_ORDERS[order]}"
    return "only this order gives dates that follow one another"


def _order_question(first: tuple[str, int, DateText], left: Sequence[str]) -> Question:
    text, line, read = first
    options = tuple(
        Option(order, f"{DATE_ORDERS[order]}: {day.day} {day:%B %Y}")
        for order, day in ((order, resolved(read, order)) for order in left)
        if day is not None
    )
    meanings = " or ".join(option.label.split(": ")[1] for option in options)
    return Question("date_order", f"Is “{text}” in line {line} {meanings}?", options)

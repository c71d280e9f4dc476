"""The drawing of a climate record: what is drawn, what is not, and where labels stand."""

import itertools
import re
import xml.etree.ElementTree as ET
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from specimens.domain.atmospheres import ATMOSPHERES
from specimens.domain.climate_arrays import TimeArray
from specimens.domain.climate_series import Series
from specimens.rendering.climate import climate_drawing
from specimens.rendering.climate_axis import LabelRows, WallAxis
from specimens.rendering.climate_ink import LABEL_PERCENT
from specimens.rendering.climate_stays import StayBar, stays_drawing
from specimens.rendering.climate_trace import thinned_runs

BERLIN = ZoneInfo("Europe/Berlin")
CLASS_2 = ATMOSPHERES["23/50 class 2"]
FROM = datetime(2026, 11, 22, 17, 0, tzinfo=UTC)
UNTIL = FROM + timedelta(hours=64, minutes=40)
GAP = (FROM + timedelta(hours=32), FROM + timedelta(hours=32, minutes=40))
DAMP = (FROM + timedelta(hours=52), FROM + timedelta(hours=52, minutes=55))


def instants(begin: datetime, end: datetime, step: timedelta) -> TimeArray:
    """Instants from `begin` on, `end` left out."""
    first = np.datetime64(begin.replace(tzinfo=None), "us")
    return first + np.arange((end - begin) // step) * np.timedelta64(step)


def record(*, gap=GAP, damp=DAMP) -> Series:
    """One reading a minute at 23 °C and 50 % RH, a gap of 40 min, an excursion to 64.8 % RH."""
    times = instants(FROM, UNTIL + timedelta(minutes=1), timedelta(minutes=1))
    humidity = np.full(times.shape, 50.0)
    if damp:
        begin, end = (np.datetime64(at.replace(tzinfo=None), "us") for at in damp)
        humidity[(times > begin) & (times < end)] = 62.0
        humidity[times == begin + np.timedelta64(27, "m")] = 64.8
    keep = np.ones(times.shape, dtype=bool)
    if gap:
        begin, end = (np.datetime64(at.replace(tzinfo=None), "us") for at in gap)
        keep = ~((times > begin) & (times < end))
    return Series(times[keep], np.full(int(keep.sum()), 23.0), humidity[keep])


def texts(drawing: str) -> list[str]:
    """The labels of a drawing."""
    return re.findall(r"<text[^>]*>([^<]*)</text>", drawing)


def rects(drawing: str, css: str) -> list[tuple[float, float]]:
    """(left, width) in percent of the rectangles of one kind."""
    found = re.findall(rf'<rect class="{css}" x="([\d.]+)%" width="([\d.]+)%"', drawing)
    return [(float(left), float(width)) for left, width in found]


def test_a_gap_is_an_empty_hatched_slot_with_its_length():
    drawing = climate_drawing(record(damp=None), CLASS_2, FROM, UNTIL, BERLIN)
    place = [(round(32 * 60 / 3880 * 100, 2), round(40 / 3880 * 100, 2))]
    assert rects(drawing, "paper") == place
    assert rects(drawing, "hatched") == place
    assert [words for words in texts(drawing) if "record" in words] == ["no record 40 min"]


def test_an_excursion_is_hatched_with_its_furthest_value_and_moment():
    drawing = climate_drawing(record(gap=None), CLASS_2, FROM, UNTIL, BERLIN)
    assert len(rects(drawing, "hatched")) == 1
    assert rects(drawing, "paper") == []
    assert "64.8 % RH at Tue 22:27" in texts(drawing)


def test_nothing_is_drawn_across_a_gap():
    drawing = climate_drawing(record(damp=None), CLASS_2, FROM, UNTIL, BERLIN)
    paths = re.findall(r'<path class="trace" d="([^"]*)"', drawing)
    assert [path.count("M") for path in paths] == [2, 2]


def test_the_last_reading_is_present_only_while_it_is_fresh():
    fresh = climate_drawing(record(), CLASS_2, FROM, UNTIL, BERLIN, now=UNTIL + timedelta(minutes=5))
    stale = climate_drawing(record(), CLASS_2, FROM, UNTIL, BERLIN, now=UNTIL + timedelta(minutes=6))
    assert [words for words in texts(fresh) if "23.0" in words] == ["now 23.0 °C"]
    assert [words for words in texts(stale) if "23.0" in words] == ["last 23.0 °C"]


def test_the_result_is_said_in_words():
    drawing = climate_drawing(record(), CLASS_2, FROM, UNTIL, BERLIN)
    label = re.search(r'aria-label="([^"]*)"', drawing)
    # not counted: the gap, and from the last reading in band before the excursion to the next one, 55 min
    assert label
    assert label[1] == (
        "Climate record from Sun 22 Nov 18:00 to Wed 25 Nov 10:40 against 21 to 25 °C and 40 to 60 % RH: "
        "63 h 05 min in band, 1 h 35 min did not count"
    )


def test_the_print_carries_its_own_paint():
    drawing = climate_drawing(record(), CLASS_2, FROM, UNTIL, BERLIN, for_print=True)
    root = ET.fromstring(drawing)  # noqa: S314  (our own text)
    assert (root.get("viewBox"), root.get("width")) == (f"0 0 510 {float(root.get('height', '')[:-2])}", "510pt")
    names = [element.tag.rpartition("}")[2] for element in root.iter()]
    assert names[1] == "title"
    assert [element for element in root.iter() if element.get("class") or element.get("style")] == []
    unpainted = [
        name
        for name, element in zip(names, root.iter(), strict=True)
        if name in ("rect", "line", "path", "text", "circle") and not (element.get("fill") or element.get("stroke"))
    ]
    assert unpainted == []


def test_words_from_outside_are_escaped():
    bar = StayBar("<b>&", FROM, None, [], None, 86400)
    assert "<text" in stays_drawing([bar], FROM, UNTIL, BERLIN, now=UNTIL)
    assert "<b>" not in stays_drawing([bar], FROM, UNTIL, BERLIN, now=UNTIL)


@pytest.mark.parametrize(
    ("from_day", "hours"),
    [(datetime(2026, 3, 28, 12, tzinfo=UTC), [24, 23, 24]), (datetime(2026, 10, 24, 12, tzinfo=UTC), [24, 25, 24])],
)
def test_a_day_with_a_clock_change_is_an_hour_shorter_or_longer(from_day, hours):
    # clock changes in the EU in 2026: 29 March and 25 October, 01:00 UTC (Directive 2000/84/EC)
    axis = WallAxis(from_day - timedelta(days=1), from_day + timedelta(days=2, hours=12), BERLIN)
    midnights = list(axis.midnights())
    lengths = [(after - before) / timedelta(hours=1) for before, after in itertools.pairwise(midnights)]
    assert lengths == hours
    whole = axis.days * 24
    widths = [axis.x(after) - axis.x(before) for before, after in itertools.pairwise(midnights)]
    assert widths == pytest.approx([length / whole * 100 for length in hours])


def test_an_hour_the_clock_skips_gets_no_tick():
    axis = WallAxis(datetime(2026, 3, 28, 23, tzinfo=UTC), datetime(2026, 3, 29, 5, tzinfo=UTC), BERLIN)
    assert [at.astimezone(BERLIN).hour for at in axis.hours(1)] == [1, 3, 4, 5, 6]


@pytest.mark.parametrize("days", [0.2, 1, 3, 4, 10, 40, 400])
def test_labels_never_touch(days):
    """Every pair of labels on one line stays apart at the narrowest width: 6.2 px a character in 760 px."""
    until = FROM + timedelta(days=days)
    times = instants(FROM, until, timedelta(minutes=10))
    values = np.where(np.arange(times.size) % 97 < 3, 27.5, 23.0)
    drawing = climate_drawing(Series(times, values, np.full(times.size, 50.0)), CLASS_2, FROM, until, BERLIN, now=until)
    rows: dict[str, list[tuple[float, float, str]]] = {}
    for x, y, css, words in re.findall(r'<text x="([\d.]+)%" y="([\d.]+)" class="([^"]*)"[^>]*>([^<]*)<', drawing):
        if "halo" in css and float(x) == 0 and "tiny" in css:
            continue  # limits stand inside the field
        width = len(words) * LABEL_PERCENT * (11 / 12 if "tiny" in css else 1)
        left = float(x) - (width if "end" in css else width / 2 if "mid" in css else 0)
        rows.setdefault(y, []).append((left, left + width, words))
    for row in rows.values():
        ordered = sorted(row)
        assert [pair for pair in itertools.pairwise(ordered) if pair[0][1] > pair[1][0]] == []


def test_a_label_takes_the_other_side_or_the_other_row_when_there_is_no_room():
    rows = LabelRows()
    assert rows.place("no record 40 min", 50, 51, (28.0, 12.0)) == (49.3, 28.0, "end")
    assert rows.place("no record 40 min", 52, 53, (28.0, 12.0)) == (53.7, 28.0, "")
    assert rows.place("no record 40 min", 52.5, 53.5, (28.0, 12.0)) == (51.8, 12.0, "end")
    assert rows.place("no record 40 min" * 8, 50, 51, (28.0, 12.0)) is None


def test_thinning_keeps_the_extremes_and_the_edges():
    count = 200_000
    stamps = np.arange(count, dtype=np.int64) * 60_000_000
    values = np.sin(np.arange(count) / 900) + 23
    values[123_456], values[77_777] = 64.8, -3.5
    (run,) = thinned_runs(stamps, values, timedelta(minutes=5))
    assert len(run) <= 1500
    assert (max(value for _, value in run), min(value for _, value in run)) == (64.8, -3.5)
    assert (run[0][0], run[-1][0]) == (0, int(stamps[-1]))
    assert [at for at, _ in run] == sorted(at for at, _ in run)


def test_few_readings_are_drawn_one_by_one():
    stamps = np.arange(1500, dtype=np.int64) * 60_000_000
    values = np.arange(1500, dtype=np.float64)
    assert thinned_runs(stamps, values, timedelta(minutes=5)) == [
        list(zip(stamps.tolist(), values.tolist(), strict=True))
    ]


def test_a_missing_value_breaks_the_line():
    stamps = np.arange(5, dtype=np.int64) * 60_000_000
    runs = thinned_runs(stamps, np.array([1.0, 2.0, np.nan, 3.0, 4.0]), timedelta(minutes=5))
    assert [[value for _, value in run] for run in runs] == [[1.0, 2.0], [3.0, 4.0]]


def test_bars_show_the_hours_that_count_and_the_moment_they_were_enough():
    lost = climate_lost()
    bar = StayBar("26-0414-003 to -012", FROM, None, lost, FROM + timedelta(hours=49), 48 * 3600)
    drawing = stays_drawing([bar], FROM, UNTIL, BERLIN, now=UNTIL)
    assert rects(drawing, "solid") == [(0, 100)]
    assert len(rects(drawing, "hatched")) == 2
    assert texts(drawing) == ["26-0414-003 to -012", "48 h in band"]


def climate_lost():
    """The two stretches of the record that do not count."""
    from specimens.domain.conditioning import hours_in_band

    series = record()
    return hours_in_band(
        series.times_utc,
        series.temperature_c,
        series.humidity_percent,
        atmosphere=CLASS_2,
        from_at=FROM,
        until_at=UNTIL,
        longest_gap=timedelta(minutes=5),
    ).not_counted

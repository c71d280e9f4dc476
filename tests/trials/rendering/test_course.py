"""The drawing of a trial: what was recorded and nothing else, with labels that never run into each other."""

import re
from decimal import Decimal

import pytest

from labsite.ledger.svg import CHARACTER_WIDTH_PX
from trials.domain.course import course_of
from trials.domain.methods.registry import method_edition
from trials.domain.records import Observation
from trials.rendering.course import NARROW_PX, course_svg

LABEL = re.compile(r'<text x="([\d.]+)%" y="([\d.]+)" class="([^"]*)"(?: dx="(-?[\d.]+)")?>([^<]*)</text>')


def seen(*rows):
    return course_of(
        method_edition("glow-wire-end-product@2021"),
        [
            Observation(str(n), kind, Decimal(t), Decimal(value) if kind == "flame_height" else value)
            for n, (kind, t, value) in enumerate(rows)
        ],
    )


def drawn(timeline, latest="60.2"):
    return course_svg(timeline, Decimal(latest), severity="850 °C", layer="200 mm", label="what happened")


def boxes(svg):
    """Left, right, baseline and words of every label, in px on the narrowest page."""
    found = []
    for x, y, css, dx, words in LABEL.findall(svg):
        at, length = float(x) / 100 * NARROW_PX + float(dx or 0), len(words) * CHARACTER_WIDTH_PX
        left = at - length if "end" in css else at - length / 2 if "mid" in css else at
        found.append((left, left + length, float(y), words))
    return found


LAYER_CATCHES = (
    ("contact", "0.0", None), ("ignites", "6.5", None), ("flame_height", "10.0", "35"), ("drip", "18.0", None),
    ("drip", "22.0", None), ("layer_catches", "22.4", None), ("flame_height", "22.0", "55"), ("drip", "27.5", None),
    ("withdrawn", "30.2", None), ("layer_out", "31.0", None), ("flame_out", "43.5", None), ("watch_ends", "62.0", None),
)  # fmt: skip
CROWDED = (
    ("contact", "0.0", None), ("ignites", "29.8", None), ("flame_out", "29.9", None), ("ignites", "30.0", "colourless"),
    ("withdrawn", "30.0", None), ("flame_out", "30.1", "colourless"), ("glow_starts", "30.1", None),
    ("glow_ends", "30.4", None), ("drip", "29.9", None), ("layer_catches", "30.0", None), ("put_out", "30.5", None),
    ("carried_off", "30.2", None), ("watch_ends", "62.0", None),
)  # fmt: skip
LONG = (
    ("contact", "0.0", None), ("ignites", "2.0", None), ("withdrawn", "30.0", None), ("flame_out", "640.5", None),
    *[("drip", str(40 + n), None) for n in range(30)], ("watch_ends", "650.0", None),
)  # fmt: skip


@pytest.mark.parametrize("rows", [LAYER_CATCHES, CROWDED, LONG], ids=["layer catches", "crowded", "long"])
def test_no_label_runs_into_another_or_off_the_page(rows):
    placed = boxes(drawn(seen(*rows)))
    assert placed
    for number, (left, right, y, words) in enumerate(placed):
        assert left >= -1, words
        assert right <= NARROW_PX + 1, words
        for other_left, other_right, other_y, other in placed[number + 1 :]:
            apart = abs(y - other_y) >= 12 or right <= other_left or left >= other_right
            assert apart, f"“{words}” runs into “{other}”"


def test_every_recorded_moment_stands_at_its_event():
    words = [words for *_, words in boxes(drawn(seen(*LAYER_CATCHES)))]
    assert [one for one in words if "s" in one and any(sign.isdigit() for sign in one) and "." in one] == [
        "latest 60.2 s",
        "ignites 6.5 s",
        "flame out 43.5 s",
        "withdrawn 30.2 s",
        "drips 18.0 s, 22.0 s, 27.5 s",
        "layer caught 22.4 s, out 31.0 s",
    ]


def test_without_contact_there_is_nothing_to_draw():
    assert drawn(seen(("ignites", "3.0", None))) == ""


def test_an_end_nobody_recorded_is_said_and_not_drawn():
    svg = drawn(seen(("contact", "0", None), ("ignites", "5.0", None), ("withdrawn", "30.0", None)))
    assert "flame: end not recorded" in svg
    assert "flame out" not in svg


def test_without_heights_a_flame_is_a_bar_and_no_shape():
    flat = drawn(
        seen(("contact", "0", None), ("ignites", "5.0", None), ("flame_out", "9.0", None), ("withdrawn", "30", None))
    )
    assert "<polygon" not in flat
    assert 'class="flame"' in flat
    assert drawn(seen(*LAYER_CATCHES)).count("<polygon") == 1


def test_words_are_escaped():
    svg = course_svg(seen(*LAYER_CATCHES), None, severity='<b>"', layer="<i>", label='"><script>')
    assert "<b>" not in svg
    assert "<i>" not in svg
    assert "<script>" not in svg


def test_the_course_in_words_for_who_does_not_see_it():
    assert seen(*LAYER_CATCHES).words == (
        "Trial along time. Contact 0.0 s, withdrawn 30.2 s. Flame from 6.5 s to 43.5 s. Drips at 18.0, 22.0, 27.5 s. "
        "The layer caught at 22.4 s."
    )

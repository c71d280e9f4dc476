"""The drawing of a search: one mark for each specimen, the next level marked, no label off the page."""

import re

from labsite.ledger.svg import CHARACTER_WIDTH_PX
from reports.rendering.print_ladder import ladder_drawing
from tests.trials.domain.test_ladder import search
from tests.trials.rendering.test_course import LABEL
from trials.domain.ladder import Ladder, ladder
from trials.rendering.ladder import NARROW_PX, ladder_svg

LONG = (
    (650, "passed", "ppp"), (700, "passed", "ppp"), (750, "passed", "ppp"), (800, "passed", "ppp"),
    (900, "failed", "pf"), (850, "failed", "f"), (825, "open", "pi"),
)  # fmt: skip


def test_every_specimen_has_its_mark_and_the_next_level_its_loop() -> None:
    drawn = ladder_svg(search(*LONG, following=825))
    assert len(re.findall(r'<circle class="dot"', drawn)) == 14
    assert len(re.findall(r'<path class="cross"', drawn)) == 2
    assert len(re.findall(r'<circle class="ring"', drawn)) == 1
    assert len(re.findall(r'<path class="h-line"', drawn)) == 1
    assert "next: 3 more" in drawn


def test_the_field_before_a_step_is_where_the_answer_could_lie() -> None:
    drawn = ladder_svg(search((650, "passed", "ppp"), (850, "failed", "f"), following=750))
    fields = re.findall(r'<rect class="(h-field|field)"[^>]* height="([\d.]+)"', drawn)
    heights = [float(height) for _, height in fields]
    assert [css for css, _ in fields] == ["field", "field", "field", "h-field"]
    assert heights == sorted(heights, reverse=True)
    assert heights[2] == heights[3]


def test_no_label_leaves_the_page() -> None:
    for found in (search(*LONG, following=825), search(following=650), search((500, "failed", "f"))):
        for x, _, css, dx, words in LABEL.findall(ladder_svg(found)):
            at, length = float(x) / 100 * NARROW_PX + float(dx or 0), len(words) * CHARACTER_WIDTH_PX
            left = at - length if "end" in css else at - length / 2 if "mid" in css else at
            assert left >= -8, words
            assert left + length <= NARROW_PX + 8, words


def test_the_answer_stands_where_the_search_has_ended() -> None:
    found = search(*LONG[:4])
    ended = Ladder(found.grid, found.rungs, found.low, found.high, None, 0, "GWFI: 800/3.0")
    assert "GWFI: 800/3.0" in ladder_svg(ended)
    assert "h-field" not in ladder_svg(ended)
    assert "GWFI: 800/3.0" in ladder_drawing(ended)


def test_on_paper_colours_stand_on_the_shapes() -> None:
    drawn = ladder_drawing(search(*LONG))
    assert "class=" not in drawn.replace('class="drawing"', "")
    assert drawn.count("<title>") == 1


def test_a_search_without_a_trial_is_not_printed_and_a_grid_of_one_level_not_drawn() -> None:
    assert ladder_drawing(search(following=650)) == ""
    assert ladder_svg(ladder((), None, [(search().grid[0])], {})) == ""

"""Corrections and undone rows: what stands in the end."""

from itertools import permutations

import pytest

from tests.trials.domain.glow_wire_trial import row
from trials.domain.observations import standing
from trials.domain.records import Observation, RecordError

LATE = row("flame_out", "45.5", row="late")
SEEN = row("flame_out", "43.5", row="seen", replaces="late", reason="pressed late")
UNDO_SEEN = row("flame_out", row="undo", takes_back="seen")
REDO = row("flame_out", row="redo", takes_back="undo")


def names(*rows: Observation) -> list[str]:
    return [r.row for r in standing(rows)]


def test_a_corrected_row_gives_way_to_its_correction() -> None:
    assert names(LATE, SEEN) == ["seen"]


def test_a_chain_of_corrections_leaves_the_last() -> None:
    assert names(LATE, SEEN, row("flame_out", "43.0", row="again", replaces="seen")) == ["again"]


def test_a_row_taken_back_falls() -> None:
    assert names(LATE, row("flame_out", row="undo", takes_back="late")) == []


def test_taking_back_a_correction_brings_back_what_it_corrected() -> None:
    assert names(LATE, SEEN, UNDO_SEEN) == ["late"]


def test_taking_back_an_undo_brings_back_the_correction() -> None:
    assert names(LATE, SEEN, UNDO_SEEN, REDO) == ["seen"]


def test_order_of_the_rows_does_not_matter() -> None:
    assert {tuple(names(*order)) for order in permutations((LATE, SEEN, UNDO_SEEN, REDO))} == {("seen",)}


def test_rows_come_in_order_of_time_and_findings_last() -> None:
    rows = (row("consumed", row="d", value=False), row("withdrawn", "30.2", row="c"), row("contact", "0.0", row="a"))
    assert names(*rows) == ["a", "c", "d"]


@pytest.mark.parametrize(
    ("rows", "sentence"),
    [
        ((LATE, LATE), "Two observation rows are called late."),
        ((SEEN,), "Row seen names row late, which does not exist."),
        (
            (LATE, SEEN, row("flame_out", "44", row="other", replaces="late")),
            "Row late is corrected twice, by other and by seen; take one back.",
        ),
        (
            (LATE, SEEN, row("flame_out", row="undo", takes_back="late")),
            "Row seen corrects row late, which was taken back.",
        ),
        (
            (row("drip", "1", row="a", replaces="b"), row("drip", "1", row="b", replaces="a")),
            "Row a leads back to itself through the rows it names.",
        ),
        (
            (LATE, row("drip", "1", row="both", replaces="late", takes_back="late")),
            "Row both both corrects and takes back a row; it can do one of them.",
        ),
    ],
)
def test_rows_that_cannot_be_sorted_out_are_refused(rows: tuple[Observation, ...], sentence: str) -> None:
    with pytest.raises(RecordError) as refusal:
        standing(rows)
    assert str(refusal.value) == sentence
